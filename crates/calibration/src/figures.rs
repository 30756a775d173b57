//! The figures of a machine that a fit may move, and the shapes of control that it tries.

use crate::stretch::{Action, Stretch};
use machine::track::Feed;
use machine::{AxisSpec, Corner, Machine, MachineError, MachineSpec, Ramp, Setting};

/// A shape of control: which effects it has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// At corners.
    pub corner: Corner,
    /// At changes of speed.
    pub ramp: Ramp,
    /// Acceleration across the path has a limit of its own.
    pub radial: bool,
    /// Acceleration along the path has a limit of its own.
    pub path: bool,
    /// The axes settle at stops.
    pub settles: bool,
    /// Rapid and feed meet at a stop.
    pub rapid_stops: bool,
    /// Corners at which no axis changes its speed by more than a step pass unslowed.
    pub step_passes: bool,
    /// Corners that turn by more are exact stops, deg; `None`: only those that turn back.
    pub stop_angle_deg: Option<f64>,
    /// Rapids have an acceleration of their own.
    pub rapid_accel: bool,
    /// The curve that a polyline stands for slows it, not its corners alone.
    pub facets: bool,
    /// The path seen ahead in a time bounds the speed.
    pub sight: bool,
    /// Blocks are read while the axes move.
    pub reads_ahead: bool,
    /// Every axis has a step of its own that it takes at corners.
    pub own_steps: bool,
    /// Every linear axis has a filter or lag of its own.
    pub own_filters: bool,
    /// Along arcs acceleration and jerk are less.
    pub arc_accel: bool,
    /// Bends may take a share of the axes' acceleration.
    pub bends: bool,
    /// Blocks that the control sees ahead.
    pub look_ahead: Option<u32>,
}

/// A figure of the machine file that a fit moves, always above 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Dotted key of the machine file, in whose unit the value is.
    pub key: String,
    /// Where the fit starts, and what is held likeliest beforehand.
    pub start: f64,
    /// Standard deviation of the logarithm beforehand: about the relative error of the start.
    pub spread: f64,
}

/// Acceleration and jerk of an axis that a data sheet states (standard deviation of the logarithm),
/// and those that are assumed; other figures alike. Common practice, no source.
const STATED: f64 = 0.2;
const ASSUMED: f64 = 0.6;
const JERK_STATED: f64 = 0.4;
const SETTING: f64 = 0.8;
/// Start of what a machine file hardly ever states: the wait at stops, s.
const SETTLING_S: f64 = 0.02;
/// Acceleration across the path over that of the slowest axis, where a search begins.
const RADIAL_SHARE: f64 = 0.6;
/// Share of the acceleration by which the curve of a polyline slows nothing.
const UNHEEDED: f64 = 1e4;
/// Step of speed that passes a corner, mm/min.
const STEP_MM_MIN: f64 = 50.0;
/// How far the steps of the axes differ beforehand (standard deviation of the logarithm): common practice,
/// no source.
const OWN_STEP: f64 = 0.2;
/// The spindle's ramp to full speed, s.
const SPINDLE_S: f64 = 2.5;

impl Figure {
    /// The value that is `z` of its spreads away from the start.
    pub(crate) fn at(&self, z: f64) -> f64 {
        self.start * (self.spread * z).exp()
    }
}

/// Whether the figure of that key tells of rotary axes alone.
pub fn is_of_turns(key: &str) -> bool {
    let settings = [Setting::TurnTolerance, Setting::StepTurn, Setting::StepSecond];
    let setting = key.strip_prefix("control.").and_then(Setting::named);
    let rotary = ["axis.A.", "axis.B.", "axis.C."];
    setting.is_some_and(|s| settings.contains(&s)) || rotary.iter().any(|a| key.starts_with(a))
}

/// `value` to so many significant digits.
pub(crate) fn rounded(value: f64, digits: i32) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let place = digits - 1 - value.abs().log10().floor() as i32;
    // by way of a power that is exact, so that 0.0219 does not come out as 0.021900000000000003
    if place >= 0 {
        let power = 10f64.powi(place);
        (value * power).round() / power
    } else {
        let power = 10f64.powi(-place);
        (value / power).round() * power
    }
}

impl Shape {
    /// The shapes that are tried first: every corner that keeps the path with every ramp.
    pub fn plain() -> impl Iterator<Item = Self> {
        let corners = [Corner::SpeedStep, Corner::Spread, Corner::Average, Corner::FeedShare];
        let each = |corner| Ramp::ALL.map(|ramp| Self { ramp, ..Self::plain_of(corner) });
        let is_one = |s: &Self| match s.corner {
            Corner::FeedShare => s.ramp != Ramp::Jerk,
            Corner::Spread | Corner::Average => s.ramp != Ramp::Lag,
            _ => true,
        };
        corners.into_iter().flat_map(each).filter(is_one)
    }

    /// A shape without further effects, its jerk limited.
    pub(crate) fn plain_of(corner: Corner) -> Self {
        Self {
            corner,
            ramp: Ramp::Jerk,
            radial: false,
            path: false,
            settles: false,
            rapid_stops: corner == Corner::FeedShare,
            step_passes: false,
            stop_angle_deg: (corner == Corner::FeedShare).then_some(180.0),
            rapid_accel: false,
            facets: true,
            sight: false,
            reads_ahead: true,
            own_steps: false,
            own_filters: false,
            arc_accel: false,
            bends: false,
            look_ahead: None,
        }
    }

    /// What people read of it.
    pub fn words(self) -> String {
        let corner = match self.corner {
            Corner::Blend => "corners rounded within a tolerance",
            Corner::Arc => "corners at the speed of their rounding arc",
            Corner::SpeedStep => "corners by a step of speed",
            Corner::Spread => "corners at the speed of their rounding",
            Corner::Average => "the path averaged over a length",
            Corner::FeedShare => "a share of the feed at corners",
        };
        let ramp = match self.ramp {
            Ramp::Jerk => "limited jerk",
            Ramp::Filter => "filtered axes",
            Ramp::Lag => "lagging axes",
        };
        let mut words = format!("{corner}, {ramp}");
        let extras = [
            (self.radial, "acceleration across the path limited"),
            (self.path, "acceleration along the path limited"),
            (self.settles, "settling at stops"),
            (self.rapid_stops, "stops between rapid and feed"),
            (self.step_passes, "small steps of speed let pass"),
            (self.rapid_accel, "rapids at an acceleration of their own"),
            (!self.facets, "polylines slowed at their corners alone"),
            (self.sight, "speed bounded by a time seen ahead"),
            (self.reads_ahead, "blocks read ahead"),
            (self.own_steps, "every axis with a step of its own"),
            (self.own_filters, "every axis with a filter of its own"),
            (self.arc_accel, "less acceleration along bends"),
            (self.bends, "bends at a share of the acceleration"),
        ];
        for (_, extra) in extras.iter().filter(|(has, _)| *has) {
            words.push_str(", ");
            words.push_str(extra);
        }
        match self.stop_angle_deg {
            Some(180.0) => words.push_str(", no stop where the path turns back"),
            Some(angle) => words.push_str(&format!(", stops at corners above {angle} degrees")),
            None => {}
        }
        if let Some(blocks) = self.look_ahead {
            words.push_str(&format!(", {blocks} blocks seen ahead"));
        }
        words
    }

    /// `spec` with the control of this shape.
    pub(crate) fn on(self, spec: &MachineSpec) -> MachineSpec {
        let mut spec = spec.clone();
        spec.fit = machine::FitSpec::default();
        spec.control.corner = Some(self.corner.word().into());
        spec.control.ramp = Some(self.ramp.word().into());
        if !self.radial {
            spec.control.radial_accel_m_s2 = None;
        }
        if !self.path {
            spec.control.path_accel_m_s2 = None;
        }
        if self.corner != Corner::SpeedStep {
            spec.control.corner_step_mm_min =
                self.step_passes.then_some(spec.control.corner_step_mm_min.unwrap_or(STEP_MM_MIN));
        }
        spec.control.look_ahead_blocks = self.look_ahead;
        spec.control.reads_ahead = Some(self.reads_ahead);
        let own: Vec<Setting> = self.settings(false).map(|(s, ..)| s).collect();
        spec.control.settings.retain(|s, _| own.contains(s));
        if !self.facets {
            spec.control.settings.insert(Setting::Facet, UNHEEDED);
        }
        for (setting, start, _) in self.settings(spec.layout.len() > 3) {
            spec.control.settings.entry(setting).or_insert(start);
        }
        spec.control.stop_angle_deg = self.stop_angle_deg;
        spec.control.rapid_stops = Some(self.rapid_stops);
        if !self.settles {
            spec.in_position_s = Some(0.0);
        }
        spec
    }

    /// Its further settings: where each starts and its spread; `turns`: there are rotary axes.
    fn settings(self, turns: bool) -> impl Iterator<Item = (Setting, f64, f64)> {
        let (spread, step) = (self.corner == Corner::Spread, self.corner == Corner::SpeedStep);
        let share = self.corner == Corner::FeedShare;
        let average = self.corner == Corner::Average;
        let all = [
            (self.rapid_accel, Setting::RapidAccel, 1.0, 0.2),
            (spread && self.facets, Setting::Facet, 0.5, 0.5),
            (self.sight, Setting::Sight, 0.1, 1.0),
            ((spread || average) && turns, Setting::TurnTolerance, 0.05, 1.0),
            (step && turns, Setting::StepTurn, 90.0, SETTING),
            (step && self.own_steps, Setting::StepY, 1.0, OWN_STEP),
            (step && self.own_steps, Setting::StepZ, 1.0, OWN_STEP),
            (step && self.own_steps && turns, Setting::StepSecond, 1.0, OWN_STEP),
            (share, Setting::ShareFrom, 4.0, 0.5),
            (share, Setting::Share30, 0.6, 0.4),
            (share, Setting::Share90, 0.2, 0.6),
            (share, Setting::Share180, 0.15, 0.6),
            (share, Setting::Zone, 0.6, SETTING),
            (self.ramp == Ramp::Lag, Setting::Window, 0.008, 0.6),
            (self.arc_accel, Setting::ArcAccel, 0.7, 0.3),
            (self.bends, Setting::BendAccel, 0.8, 0.3),
            (average, Setting::AverageMost, 0.6, 0.8),
            (self.own_filters, Setting::FilterY, 1.0, 0.1),
            (self.own_filters, Setting::FilterZ, 1.0, 0.1),
        ];
        let given = all.into_iter().filter(|(has, ..)| *has);
        given.map(|(_, setting, start, spread)| (setting, start, spread))
    }

    /// Acceleration and jerk of the axes.
    fn of_axes(self, spec: &MachineSpec, machine: &Machine) -> Vec<Figure> {
        let mut figures = Vec::new();
        for axis in &machine.axes {
            let given = spec.axes.get(axis.name.letter());
            let rotary = axis.name.is_rotary();
            let key = |word: &str| format!("axis.{}.{word}", axis.name.letter());
            let stated = |pick: fn(&AxisSpec) -> Option<f64>| given.and_then(pick).is_some();
            let (accel, jerk) = if rotary {
                (stated(|a| a.accel_deg_s2), stated(|a| a.jerk_deg_s3))
            } else {
                (stated(|a| a.accel_m_s2), stated(|a| a.jerk_m_s3))
            };
            let words =
                if rotary { ["accel_deg_s2", "jerk_deg_s3"] } else { ["accel_m_s2", "jerk_m_s3"] };
            // behind a filter the acceleration of a sheet says little
            let hidden = self.ramp == Ramp::Filter || self.corner == Corner::FeedShare;
            let spread = if accel && !hidden { STATED } else { ASSUMED };
            figures.extend(of(machine, key(words[0]), spread));
            if self.ramp == Ramp::Jerk {
                let spread = if jerk { JERK_STATED } else { ASSUMED };
                figures.extend(of(machine, key(words[1]), spread));
            }
        }
        figures
    }

    /// The figures that it has on a machine.
    pub(crate) fn figures(self, spec: &MachineSpec) -> Result<Vec<Figure>, MachineError> {
        let spec = &self.on(spec);
        let machine = Machine::new(spec)?;
        let mut figures = self.of_axes(spec, &machine);
        figures.extend(of(&machine, "block_time_ms".into(), SETTING));
        match self.corner {
            Corner::Blend | Corner::Arc | Corner::Spread | Corner::Average => {
                figures.extend(of(&machine, "path_tolerance_mm".into(), SETTING));
                if self.step_passes {
                    figures.extend(of(
                        &machine,
                        "control.corner_step_mm_min".into(),
                        1.5 * SETTING,
                    ));
                }
            }
            Corner::SpeedStep => {
                figures.extend(of(&machine, "control.corner_step_mm_min".into(), SETTING));
            }
            Corner::FeedShare => {}
        }
        if self.ramp != Ramp::Jerk {
            figures.extend(of(&machine, "control.filter_ms".into(), SETTING));
        }
        for (setting, _, spread) in self.settings(machine.axes.len() > 3) {
            figures.extend(of(&machine, format!("control.{}", setting.word()), spread));
        }
        let linear = machine.axes[..3].iter().map(|a| a.accel.value / 1000.0).fold(0.0, f64::max);
        let mut own = |key: &str, start: f64, spread: f64| {
            figures.push(Figure { key: key.into(), start, spread });
        };
        if self.radial {
            // low enough to hold an arc down, or nothing tells its slope
            let least = machine.axes[..3].iter().map(|a| a.accel.value / 1000.0);
            let least = least.fold(f64::INFINITY, f64::min);
            own("control.radial_accel_m_s2", RADIAL_SHARE * least, ASSUMED);
        }
        if self.path {
            own("control.path_accel_m_s2", linear, ASSUMED);
        }
        if self.settles {
            let start = spec.in_position_s.filter(|s| *s > 0.0).unwrap_or(SETTLING_S);
            own("in_position_s", start, SETTING);
        }
        figures.push(of_word(spec, 8));
        figures.push(of_word(spec, 9));
        figures.extend(of(&machine, "tool_change_s".into(), SETTING));
        let start = spec.spindle_ramp_s.filter(|s| *s > 0.0).unwrap_or(SPINDLE_S);
        figures.push(Figure { key: "spindle_ramp_s".into(), start, spread: SETTING });
        Ok(figures)
    }
}

/// The time of an auxiliary word.
fn of_word(spec: &MachineSpec, number: u32) -> Figure {
    let key = format!("M{number}");
    let stated = spec.m_codes.get(&key).copied().filter(|s| *s > 0.0);
    Figure { key: format!("m_codes.{key}"), start: stated.unwrap_or(0.3), spread: 1.2 }
}

/// A figure that the machine model knows by its key; none where it is zero.
fn of(machine: &Machine, key: String, spread: f64) -> Option<Figure> {
    let (stated, scale) = machine.figure(&key)?;
    let start = stated.value / scale;
    (start > 0.0).then_some(Figure { key, start, spread })
}

/// Writes a value at its key into `spec`.
pub(crate) fn set(spec: &mut MachineSpec, key: &str, value: f64) {
    let control = &mut spec.control;
    match key {
        "block_time_ms" => spec.block_time_ms = Some(value),
        "path_tolerance_mm" => spec.path_tolerance_mm = Some(value),
        "tool_change_s" => spec.tool_change_s = Some(value),
        "spindle_ramp_s" => spec.spindle_ramp_s = Some(value),
        "in_position_s" => spec.in_position_s = Some(value),
        "control.corner_step_mm_min" => control.corner_step_mm_min = Some(value),
        "control.filter_ms" => control.filter_ms = Some(value),
        "control.radial_accel_m_s2" => control.radial_accel_m_s2 = Some(value),
        "control.path_accel_m_s2" => control.path_accel_m_s2 = Some(value),
        _ => {
            if let Some(setting) = key.strip_prefix("control.").and_then(Setting::named) {
                control.settings.insert(setting, value);
            } else if let Some(word) = key.strip_prefix("m_codes.") {
                spec.m_codes.insert(word.into(), value);
            } else if let Some((axis, word)) =
                key.strip_prefix("axis.").and_then(|k| k.split_once('.'))
            {
                let axis = spec.axes.entry(axis.into()).or_default();
                match word {
                    "accel_m_s2" => axis.accel_m_s2 = Some(value),
                    "jerk_m_s3" => axis.jerk_m_s3 = Some(value),
                    "accel_deg_s2" => axis.accel_deg_s2 = Some(value),
                    _ => axis.jerk_deg_s3 = Some(value),
                }
            }
        }
    }
}

const RAPID_ACCEL: &str = "control.rapid_accel_share";

fn has_rapids(stretch: &Stretch) -> bool {
    let rapid = |action: &Action| matches!(action, Action::Go(m) if m.feed == Feed::Rapid);
    stretch.actions.iter().any(rapid)
}

/// Whether a stretch of that name can say anything of a figure: those of an axis lean on the
/// stretches that move it, those of words and tool changes on their own.
pub(crate) fn leans(stretch: &Stretch, key: &str) -> bool {
    let own = match stretch.name.as_str() {
        "m-codes" => return key.starts_with("m_codes."),
        "tool-change" => return key == "tool_change_s",
        "spindle" => return key == "spindle_ramp_s",
        _ => !key.starts_with("m_codes.") && !["tool_change_s", "spindle_ramp_s"].contains(&key),
    };
    if stretch.turns() {
        // under tip control the linear axes follow, and every turn counts as a bend
        return own && (key != RAPID_ACCEL || has_rapids(stretch));
    }
    let straight = ["short", "long"].iter().any(|end| stretch.name.ends_with(end))
        || ["rapid-x", "rapid-y", "rapid-z", "stops"].contains(&&*stretch.name);
    let corners = [
        "control.corner_step",
        "control.facet",
        "control.spread",
        "control.average",
        "control.arc_accel",
        "control.bend_accel",
        "path_tolerance",
    ];
    if straight && corners.iter().any(|c| key.starts_with(c)) {
        return false;
    }
    if key == RAPID_ACCEL {
        return own && has_rapids(stretch);
    }
    let Some((axis, _)) = key.strip_prefix("axis.").and_then(|k| k.split_once('.')) else {
        return own;
    };
    let alone = match stretch.name.split_once('-') {
        Some((letter, "short" | "long") | ("rapid", letter)) if letter.len() == 1 => Some(letter),
        _ => None,
    };
    match alone {
        Some(letter) => letter.eq_ignore_ascii_case(axis),
        _ if stretch.name.starts_with("wave") => matches!(axis, "X" | "Y" | "Z"),
        _ => matches!(axis, "X" | "Y"),
    }
}
