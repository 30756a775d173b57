//! Lengths of path by what holds the arc of contact.

use crate::job::{Hold, Kind, Run, Shares};

/// A steered arc counts as held within this of the target, rad.
const WITHIN_RAD: f64 = 5.0 * std::f64::consts::PI / 180.0;

/// Adds up a path.
pub(crate) fn of(runs: &[Run], target_rad: f64) -> Shares {
    let mut out = Shares::default();
    for run in runs {
        match run.kind {
            Kind::Lift => out.lifts += 1,
            Kind::Link => {
                out.links += 1;
                out.air_mm += run.length_mm();
            }
            _ => cutting(run, target_rad, &mut out),
        }
    }
    out
}

fn cutting(run: &Run, target: f64, out: &mut Shares) {
    for i in 1..run.points.len() {
        let (a, b) = (run.points[i - 1], run.points[i]);
        let length = (b[0] - a[0]).hypot(b[1] - a[1]);
        let arc = run.arc_of_contact_rad[i];
        let share = match run.hold[i] {
            Hold::Air => &mut out.air_mm,
            Hold::Steered => &mut out.steered_mm,
            Hold::Entering => &mut out.entering_mm,
            Hold::Leaving => &mut out.leaving_mm,
            Hold::Wall => &mut out.wall_mm,
            Hold::Remnant => &mut out.remnant_mm,
            Hold::Neck => &mut out.neck_mm,
            Hold::Entry => &mut out.entry_mm,
            Hold::Slot => &mut out.slot_mm,
        };
        *share += length;
        if run.hold[i] != Hold::Air {
            out.cutting_mm += length;
        }
        if run.hold[i] == Hold::Steered && (arc - target).abs() <= WITHIN_RAD {
            out.steered_within_mm += length;
        }
        if !matches!(run.hold[i], Hold::Entry | Hold::Slot) {
            out.peak_rad = out.peak_rad.max(arc);
        }
    }
}
