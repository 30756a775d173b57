//! Further settings of a control, one number each, by a key of `[control]` of their own; left out,
//! a setting does nothing.

use crate::MachineError;
use crate::assume::{SHEET_SETTING, Stated};
use std::collections::BTreeMap;

/// A setting of a control.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Setting {
    /// Acceleration of every axis at a rapid over that at a feed; 1 where it is left out.
    RapidAccel,
    /// A polyline stands for a curve: of the acceleration of the axes, the share that its curvature may
    /// take; large: corners alone slow it. 1 where it is left out. Where corners are spread, the share of
    /// the shorter block that a corner may take; a half where it is left out.
    Facet,
    /// Step of a rotary axis' speed at a corner, deg/min; left out, in proportion to its acceleration.
    StepTurn,
    /// How far the rotary axes may be rounded at a corner, deg; left out, the tolerance at a lever.
    TurnTolerance,
    /// Time that the control looks ahead, within whose path it must be able to stop, s.
    Sight,
    /// Up to this angle of a corner the feed is kept, deg; above 29 counts as 29.
    ShareFrom,
    /// Share of the feed that is left at a corner of 30 deg; above 1 counts as 1, here and at other angles.
    Share30,
    /// The same at 90 deg.
    Share90,
    /// The same where the path turns back.
    Share180,
    /// Length before and behind a corner on which the share holds, mm.
    Zone,
    /// What the axes may still lag behind where they count as standing, mm; rotary axes count at
    /// [`WINDOW_LEVER_MM`].
    Window,
    /// Filter or time constant of Y over that of X; 1 where it is left out.
    FilterY,
    /// The same of Z.
    FilterZ,
    /// Acceleration and jerk along a bend of the path over those along a straight line; 1 where it is left
    /// out or above 1. A move under tip control during which rotary axes turn counts as a bend.
    ArcAccel,
    /// Of the acceleration of every axis, the share that a bend of the path may take; 1 where it is left out.
    BendAccel,
    /// Longest length over which the path is averaged, mm.
    AverageMost,
}

/// Lever at which the window of a rotary axis is that of a linear one, mm.
pub(crate) const WINDOW_LEVER_MM: f64 = 100.0;

/// Values of all settings, those that are given.
pub(crate) type Settings = [Option<Stated>; Setting::ALL.len()];

impl Setting {
    /// All of them.
    pub const ALL: [Self; 16] = [
        Self::RapidAccel,
        Self::Facet,
        Self::StepTurn,
        Self::TurnTolerance,
        Self::Sight,
        Self::ShareFrom,
        Self::Share30,
        Self::Share90,
        Self::Share180,
        Self::Zone,
        Self::Window,
        Self::FilterY,
        Self::FilterZ,
        Self::ArcAccel,
        Self::BendAccel,
        Self::AverageMost,
    ];

    /// Its key in `[control]`.
    pub fn word(self) -> &'static str {
        match self {
            Self::RapidAccel => "rapid_accel_share",
            Self::Facet => "facet_share",
            Self::StepTurn => "corner_step_deg_min",
            Self::TurnTolerance => "path_tolerance_deg",
            Self::Sight => "look_ahead_s",
            Self::ShareFrom => "corner_from_deg",
            Self::Share30 => "corner_share_30",
            Self::Share90 => "corner_share_90",
            Self::Share180 => "corner_share_180",
            Self::Zone => "corner_zone_mm",
            Self::Window => "window_mm",
            Self::FilterY => "filter_share_y",
            Self::FilterZ => "filter_share_z",
            Self::ArcAccel => "arc_accel_share",
            Self::BendAccel => "bend_accel_share",
            Self::AverageMost => "average_most_mm",
        }
    }

    /// The setting of a key.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.word() == word)
    }
}

/// Checks the settings of a file.
pub(crate) fn settings(given: &BTreeMap<Setting, f64>) -> Result<Settings, MachineError> {
    let mut all = Settings::default();
    for (&setting, &value) in given {
        if !(value > 0.0 && value.is_finite()) {
            let key = format!("control.{}", setting.word());
            let remedy = "correct the figure, or leave the key out";
            return Err(MachineError::wrong(&key, value, "a number greater than 0", remedy));
        }
        all[setting as usize] = Some(Stated::sheet(value, SHEET_SETTING));
    }
    Ok(all)
}
