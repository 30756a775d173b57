//! Machines of every family with parameters drawn by a seed, and the data sheet that a shop would
//! have of each.
//!
//! Ranges: common practice, no source.

mod sheet;

use crate::draw::Draw;
use crate::{AxisHidden, Band, Family, Filtered, Hidden, Lagging, Rounded, Stopping};
use machine::{Kinematics, Machine, MachineError, MachineSpec, Mounting};
use std::collections::BTreeMap;

/// The families without their parameters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// [`Family::Filtered`].
    Filtered,
    /// [`Family::Rounded`].
    Rounded,
    /// [`Family::Lagging`].
    Lagging,
    /// [`Family::Band`].
    Band,
    /// [`Family::Stopping`].
    Stopping,
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 5] =
        [Self::Filtered, Self::Rounded, Self::Lagging, Self::Band, Self::Stopping];
}

/// The axes of a machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Chassis {
    /// `XYZ`.
    Three,
    /// `XYZ-AC`, two axes under the part that cross at program zero.
    Table,
    /// `XYZ+BC`, two axes in the head.
    Head,
}

impl Chassis {
    fn layout(self) -> &'static str {
        match self {
            Self::Three => "XYZ",
            Self::Table => "XYZ-AC",
            Self::Head => "XYZ+BC",
        }
    }

    fn rotary(self) -> &'static [&'static str] {
        match self {
            Self::Three => &[],
            Self::Table => &["C", "A"],
            Self::Head => &["C", "B"],
        }
    }
}

/// A machine as it is and as its sheet has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Specimen {
    /// What it really does.
    pub hidden: Hidden,
    /// What is known of it: speeds and kinematics right, the rest off or missing.
    pub sheet: MachineSpec,
}

/// The machine of that family, those axes and that seed: always the same.
///
/// # Errors
/// Where the drawn sheet is not a machine; the tests hold that none is drawn.
pub fn zoo(kind: Kind, chassis: Chassis, seed: u64) -> Result<Specimen, MachineError> {
    let stream = 16 * kind as u64 + chassis as u64;
    let mut draw = Draw::new(seed, stream);
    let axes = axes(&mut draw, chassis);
    let family = family(&mut draw, kind, &axes);
    let pivot_mm = if chassis == Chassis::Head { draw.between(120.0, 250.0) } else { 0.0 };
    let (block_time_s, queue_blocks) = reading(&mut draw, kind);
    let settles = matches!(kind, Kind::Lagging | Kind::Stopping);
    let words = [("M0", 0.0), ("M3", 0.1), ("M5", 0.1), ("M8", 0.6), ("M9", 0.3)];
    let mut words_s: BTreeMap<String, f64> = BTreeMap::new();
    for (word, about) in words {
        words_s.insert(word.to_owned(), about * draw.between(0.6, 1.5));
    }
    let frame = sheet::kinematic(chassis, &axes, pivot_mm);
    let kinematics = Kinematics::new(&Machine::new(&frame)?, &Mounting::default());
    let hidden = Hidden {
        family,
        kinematics,
        directions: [1.0; 2],
        axes,
        sample_s: 0.001,
        block_time_s,
        queue_blocks,
        rapid_stops: settles || draw.chance(0.5),
        window_mm: draw.between(0.003, 0.015),
        window_rad: draw.between(0.003, 0.01_f64).to_radians(),
        in_position_s: if settles { draw.between(0.0, 0.02) } else { draw.between(0.005, 0.06) },
        clock_factor: 1.0 + draw.between(-0.005, 0.005),
        tool_change_s: draw.between(3.0, 9.0),
        spindle_ramp_s: draw.between(0.8, 4.0),
        spindle_rpm: 1000.0 * draw.whole(8, 20) as f64,
        dwell_extra_s: draw.between(0.0, 0.02),
        words_s,
        other_word_s: draw.between(0.0, 0.05),
    };
    let sheet = sheet::sheet(&mut draw, kind, frame, &hidden);
    Ok(Specimen { hidden, sheet })
}

fn axes(draw: &mut Draw, chassis: Chassis) -> Vec<AxisHidden> {
    let speed = (draw.between(24.0, 60.0) / 2.0).round() * 2000.0 / 60.0;
    let (accel, jerk) = (draw.scale(2500.0, 9000.0), draw.scale(20_000.0, 150_000.0));
    let of = [1.0, draw.between(0.75, 1.05), draw.between(0.6, 1.1)];
    let rapid = draw.between(0.7, 1.2);
    let mut axes: Vec<AxisHidden> = of
        .iter()
        .enumerate()
        .map(|(i, of)| AxisHidden {
            speed: if i == 2 { speed * 0.75 } else { speed },
            accel: accel * of,
            rapid_accel: accel * of * rapid,
            jerk: jerk * of * draw.between(0.8, 1.2),
        })
        .collect();
    for _ in chassis.rotary() {
        let speed = (draw.between(60.0, 240.0) / 10.0).round() * 10.0_f64.to_radians();
        let accel = speed / draw.between(0.12, 0.4);
        let jerk = accel / draw.between(0.04, 0.15);
        axes.push(AxisHidden { speed, accel, rapid_accel: accel * rapid, jerk });
    }
    axes
}

/// Block time, s, and blocks ahead.
fn reading(draw: &mut Draw, kind: Kind) -> (f64, usize) {
    match kind {
        Kind::Filtered => (draw.scale(0.0005, 0.002), draw.whole(20, 200)),
        Kind::Rounded => (draw.scale(0.0003, 0.0015), draw.whole(50, 500)),
        Kind::Lagging => (draw.scale(0.001, 0.006), draw.whole(2, 30)),
        Kind::Band => (draw.scale(0.0003, 0.001), draw.whole(100, 1000)),
        Kind::Stopping => (draw.scale(0.003, 0.01), draw.whole(1, 5)),
    }
}

/// Five values: linear ones about `linear`, rotary ones about `rotary`, each within `spread` of it.
fn five(draw: &mut Draw, linear: f64, rotary: f64, spread: f64) -> [f64; 5] {
    std::array::from_fn(|i| {
        let about = if i < 3 { linear } else { rotary };
        about * draw.between(1.0 - spread, 1.0 + spread)
    })
}

/// A time of whole 2 ms, s: any clock that divides it gives the same filter.
fn even_ms(time_s: f64) -> f64 {
    (time_s * 500.0).round().max(1.0) / 500.0
}

fn family(draw: &mut Draw, kind: Kind, axes: &[AxisHidden]) -> Family {
    match kind {
        Kind::Filtered => {
            let first_s = even_ms(draw.between(0.012, 0.04));
            let second_s = even_ms(first_s * draw.between(0.2, 1.0)).min(first_s);
            let (step, turn) = (draw.scale(4.0, 25.0), draw.scale(0.5, 4.0).to_radians());
            Family::Filtered(Filtered { first_s, second_s, step: five(draw, step, turn, 0.2) })
        }
        Kind::Rounded => Family::Rounded(Rounded {
            tolerance_mm: draw.scale(0.004, 0.03),
            tolerance_rad: draw.scale(0.01, 0.05_f64).to_radians(),
            stop_angle_rad: draw.between(140.0, 175.0_f64).to_radians(),
            filter_s: even_ms(draw.between(0.004, 0.01)),
        }),
        Kind::Lagging => lagging(draw, axes),
        Kind::Band => Family::Band(Band {
            tolerance_mm: draw.scale(0.005, 0.04),
            tolerance_rad: draw.scale(0.01, 0.05_f64).to_radians(),
            window: draw.scale(0.2, 2.0),
            filter_s: even_ms(draw.between(0.004, 0.014)),
            horizon_s: draw.scale(0.04, 0.4),
        }),
        Kind::Stopping => {
            let (step, turn) = (draw.scale(4.0, 15.0), draw.scale(0.5, 2.0).to_radians());
            let lag = draw.between(0.015, 0.045);
            Family::Stopping(Stopping {
                stop_angle_rad: draw.between(15.0, 50.0_f64).to_radians(),
                step: five(draw, step, turn, 0.1),
                lag_s: five(draw, lag, lag, 0.05),
            })
        }
    }
}

fn lagging(draw: &mut Draw, axes: &[AxisHidden]) -> Family {
    let bell = draw.chance(0.5);
    let feed = draw.between(0.016, 0.05);
    let feed_tau_s = five(draw, feed, feed, 0.1);
    let mut rapid_tau_s = feed_tau_s;
    for (tau, axis) in rapid_tau_s.iter_mut().zip(axes) {
        *tau = axis.speed / axis.rapid_accel;
    }
    let whole = |tau: [f64; 5]| if bell { tau.map(|t| even_ms(0.5 * t) * 2.0) } else { tau };
    let (middle, sharp) = (draw.between(0.4, 0.8), draw.between(0.08, 0.3));
    let table = [[2.0, 1.0], [30.0, middle], [90.0, sharp], [180.0, 0.5 * sharp]];
    Family::Lagging(Lagging {
        feed_tau_s: whole(feed_tau_s),
        rapid_tau_s: whole(rapid_tau_s),
        bell,
        corner_share: table.map(|[deg, share]: [f64; 2]| [deg.to_radians(), share]).to_vec(),
        zone: draw.scale(0.2, 2.0),
        arc_accel: draw.scale(400.0, 2500.0),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_machine_can_be_built_from_its_sheet_and_is_the_same_again() {
        for kind in Kind::ALL {
            for chassis in [Chassis::Three, Chassis::Table, Chassis::Head] {
                for seed in 0..20 {
                    let one = zoo(kind, chassis, seed).unwrap();
                    let machine = Machine::new(&one.sheet).unwrap();
                    assert_eq!(machine.axes.len(), one.hidden.axes.len());
                    assert_eq!(one, zoo(kind, chassis, seed).unwrap());
                    assert_ne!(one.hidden, zoo(kind, chassis, seed + 1).unwrap().hidden);
                    for (axis, hidden) in machine.axes.iter().zip(&one.hidden.axes) {
                        assert!((axis.max_speed / hidden.speed - 1.0).abs() < 1e-9);
                    }
                }
            }
        }
    }

    #[test]
    fn a_sheet_is_wrong_within_its_bounds() {
        let mut jerk_missing = 0;
        for seed in 0..50 {
            let one = zoo(Kind::Rounded, Chassis::Three, seed).unwrap();
            let x = &one.sheet.axes["X"];
            let ratio = x.accel_m_s2.unwrap() * 1000.0 / one.hidden.axes[0].accel;
            assert!((0.75..=1.25).contains(&ratio), "{ratio}");
            jerk_missing += usize::from(x.jerk_m_s3.is_none());
        }
        assert!((20..45).contains(&jerk_missing), "{jerk_missing}");
    }
}
