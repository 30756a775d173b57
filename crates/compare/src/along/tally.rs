//! Sums along a program: time in the cut and in air, engagement, chip, force.

use crate::scene::Scene;
use machine::track::{Feed, Move};
use material::{Conditions, ForceLaw};
use mechanics::chip::{self, Runout};
use mechanics::engagement::Slice;
use mechanics::force::{Cut, Revolution};
use nc::audit::{MeanPeak, ToolAlong};
use study::StudyCutter;

/// A mean by time, and the largest.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    weighted: f64,
    time_s: f64,
    peak: f64,
}

impl Sum {
    fn add(&mut self, value: f64, time_s: f64) {
        self.weighted += value * time_s;
        self.time_s += time_s;
        self.peak = self.peak.max(value);
    }

    fn found(&self) -> Option<MeanPeak> {
        (self.time_s > 0.0).then(|| MeanPeak { mean: self.weighted / self.time_s, peak: self.peak })
    }
}

/// How a tool moves where it is looked at.
pub(super) struct Motion {
    /// The time that the place stands for, s.
    pub(super) time_s: f64,
    /// Speed of what is in the cut across the axis, mm/s.
    pub(super) across_mm_s: f64,
    /// Along the axis towards the spindle, mm/s.
    pub(super) along_mm_s: f64,
    /// Speed of the spindle, 1/min.
    pub(super) rpm: f64,
}

/// What one tool comes to.
#[derive(Debug, Clone, Default)]
pub(super) struct Tally {
    pub(super) number: u32,
    pub(super) volume_mm3: f64,
    air_s: f64,
    in_cut_s: f64,
    engagement_deg: Sum,
    chip_um: Sum,
    force_n: Sum,
    missing: Option<String>,
}

impl Tally {
    pub(super) fn new(number: u32) -> Self {
        Self { number, ..Self::default() }
    }

    /// A place of a tool, which stands for some time at a feed and a speed.
    pub(super) fn look(
        &mut self,
        cutter: &StudyCutter,
        slices: &[Slice],
        law: &Result<ForceLaw, String>,
        motion: &Motion,
    ) {
        let time_s = motion.time_s;
        if slices.is_empty() {
            self.air_s += time_s;
            return;
        }
        self.in_cut_s += time_s;
        let widest = slices.iter().map(|s| s.exit_rad - s.entry_rad).fold(0.0, f64::max);
        self.engagement_deg.add(widest.to_degrees(), time_s);
        let teeth = cutter.teeth.max(1);
        if motion.rpm <= 0.0 {
            self.missing = Some("the spindle stands".to_owned());
            return;
        }
        let per_tooth = |mm_s: f64| mm_s * 60.0 / (motion.rpm * f64::from(teeth));
        let (feed_per_tooth_mm, axial_feed_mm) =
            (per_tooth(motion.across_mm_s), per_tooth(motion.along_mm_s));
        if let Some(found) = chip::over_sloping(slices, feed_per_tooth_mm, axial_feed_mm) {
            self.chip_um.weighted += 1e3 * found.mean_mm * time_s;
            self.chip_um.time_s += time_s;
            self.chip_um.peak = self.chip_um.peak.max(1e3 * found.max_mm);
        }
        match law {
            Ok(law) => {
                let cut = Cut {
                    slices,
                    teeth: teeth as usize,
                    feed_per_tooth_mm,
                    axial_feed_mm,
                    law: law.law,
                    runout: Runout { offset_mm: cutter.runout_mm.unwrap_or(0.0), angle_rad: 0.0 },
                    breaker: None,
                };
                let peaks = Revolution::new(&cut).peaks();
                self.force_n.weighted += peaks.mean_across_n * time_s;
                self.force_n.time_s += time_s;
                self.force_n.peak = self.force_n.peak.max(peaks.across_n);
            }
            Err(why) => self.missing = Some(why.clone()),
        }
    }

    /// Puts the sums on a tool's line.
    pub(super) fn finish(&self, tool: &mut ToolAlong) {
        if tool.cutter.is_none() {
            return;
        }
        tool.air_s = Some(self.air_s);
        tool.in_cut_s = Some(self.in_cut_s);
        tool.volume_cm3 = Some(1e-3 * self.volume_mm3);
        tool.engagement_deg = self.engagement_deg.found();
        tool.chip_thickness_um = self.chip_um.found();
        tool.force_n = self.force_n.found();
        tool.missing.clone_from(&self.missing);
    }
}

/// The force law of a cutter at the speed and the fastest feed of its moves.
pub(super) fn law(
    scene: &Scene<'_>,
    cutter: &StudyCutter,
    rpm: f64,
    moves: &[Move],
) -> Result<ForceLaw, String> {
    let feed = |step: &Move| match step.feed {
        Feed::Speed(mm_s) => mm_s,
        _ => 0.0,
    };
    let fastest = moves.iter().map(feed).fold(0.0, f64::max);
    let teeth_s = f64::from(cutter.teeth.max(1)) * rpm / 60.0;
    let speed = units::convert::cutting_speed_m_min(cutter.spec.diameter_mm, rpm);
    let conditions = Conditions {
        chip_mm: None,
        speed_m_min: (rpm > 0.0).then_some(speed),
        feed_per_tooth_mm: (teeth_s > 0.0 && fastest > 0.0).then(|| fastest / teeth_s),
        depth_mm: None,
        width_mm: None,
        width_over_diameter: None,
    };
    scene.study.part.material.force_law(&conditions).map_err(|missing| missing.to_string())
}
