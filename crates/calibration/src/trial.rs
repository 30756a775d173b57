//! The test program: which stretches a machine is asked to drive, and how often.

use crate::stretch::{self, Stretch};
use geom::Vec3;
use machine::track::Feed;
use machine::{Axis, Machine, MachineError, MachineSpec};
use thiserror::Error;

/// Time that a stretch is laid out for, s: some more than the 20 s that a stopwatch needs, for machines
/// that are a little quicker than their file. One that is much quicker takes less.
const STRETCH_S: f64 = 22.2;
/// Room that the program needs beside program zero: X and Y both ways, Z downwards, mm.
pub const ROOM_MM: [f64; 3] = [60.0, 60.0, 80.0];
/// Largest angle of the rotary axes, deg.
pub const SWING_DEG: [f64; 2] = [25.0, 90.0];
/// Fastest speed of a spindle where the machine file says nothing, rev/min.
const SPINDLE_RPM: f64 = 8000.0;
/// How far above the crossing of the rotary axes the stretches run, mm.
const ABOVE_MM: f64 = 200.0;
/// Tools that the changes go between.
pub const TOOLS: [u16; 2] = [1, 2];

/// A test program.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// Its stretches, in order.
    pub stretches: Vec<Stretch>,
    /// Time that each takes by the machine file, s.
    pub expected_s: Vec<f64>,
}

/// Why no test program can be made.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum TrialError {
    /// The machine file is not sound.
    #[error(transparent)]
    Machine(#[from] MachineError),
    /// An axis has too little travel.
    #[error("axis {axis} travels {travel:.0} {unit}; the test program needs {needed:.0} {unit}")]
    Travel {
        /// Which axis.
        axis: &'static str,
        /// Its travel.
        travel: f64,
        /// What is needed.
        needed: f64,
        /// mm or deg.
        unit: &'static str,
    },
    /// A stretch cannot be driven.
    #[error("stretch {name} cannot be driven on this machine")]
    Stretch {
        /// Which.
        name: String,
    },
}

impl Trial {
    /// The test program of a machine.
    ///
    /// # Errors
    /// The machine file is not sound, or an axis has too little travel.
    pub fn new(spec: &MachineSpec) -> Result<Self, TrialError> {
        let machine = Machine::new(spec)?;
        refuse_small(&machine)?;
        let mut stretches = linear(&machine);
        stretches.extend(rotary(&machine));
        stretches.push(stretch::words("m-codes", "auxiliary words: coolant on and off", &[8, 9]));
        stretches.push(stretch::tool_changes("tool-change", "tool changes, chip to chip", TOOLS));
        let rpm = (0.4 * machine.spindle.max_rpm.unwrap_or(SPINDLE_RPM)).round() as u32;
        stretches.push(stretch::spindle("spindle", "the spindle's ramp, up and down", rpm));
        let base = Vec3::Z * base_mm(&machine);
        stretches = stretches.into_iter().map(|s| s.moved(base)).collect();
        let mut expected_s = Vec::new();
        for s in &mut stretches {
            s.repeats = repeats(s, &machine).ok_or(TrialError::Stretch { name: s.name.clone() })?;
            let time = s.time_s(&machine).ok_or(TrialError::Stretch { name: s.name.clone() })?;
            expected_s.push(time);
        }
        Ok(Self { stretches, expected_s })
    }

    /// Time of all stretches that move, by the machine file, s.
    pub fn motion_s(&self) -> f64 {
        let moving =
            self.stretches.iter().zip(&self.expected_s).filter(|(s, _)| {
                s.actions.iter().any(|a| matches!(a, crate::stretch::Action::Go(_)))
            });
        moving.map(|(_, t)| t).sum()
    }
}

/// Height of the stretches above program zero, mm. Where rotary axes cross at program zero, the
/// spindle stays well above them.
pub fn base_mm(machine: &Machine) -> f64 {
    if machine.turns() { ABOVE_MM } else { 0.0 }
}

fn refuse_small(machine: &Machine) -> Result<(), TrialError> {
    for (k, axis) in machine.axes.iter().enumerate() {
        let Some([low, high]) = axis.travel else { continue };
        let rotary = axis.name.is_rotary();
        let (travel, needed, unit) = if rotary {
            ((high - low).to_degrees(), SWING_DEG[0], "deg")
        } else {
            let both = if k < 2 { 2.0 } else { 1.0 };
            (high - low, both * ROOM_MM[k], "mm")
        };
        if travel < needed {
            return Err(TrialError::Travel { axis: axis.name.letter(), travel, needed, unit });
        }
    }
    Ok(())
}

/// Loops of a stretch whose time the machine file does not tell.
const UNKNOWN: u32 = 10;

/// Loops that take about [`STRETCH_S`].
fn repeats(stretch: &Stretch, machine: &Machine) -> Option<u32> {
    let time = |repeats| Stretch { repeats, ..stretch.clone() }.time_s(machine);
    let one = 0.5 * (time(3)? - time(1)?);
    Some(if one > 0.0 { (STRETCH_S / one).ceil().clamp(1.0, 1e5) as u32 } else { UNKNOWN })
}

/// Feed of mm/min, no faster than the share of what the axis can do.
fn feed(mm_min: f64, axis: &Axis) -> Feed {
    Feed::Speed((mm_min / 60.0).min(0.8 * axis.max_speed))
}

fn linear(machine: &Machine) -> Vec<Stretch> {
    let mut all = Vec::new();
    for (k, letter) in ["x", "y", "z"].into_iter().enumerate() {
        let axis = &machine.axes[k];
        let way = [Vec3::X, Vec3::Y, Vec3::NEG_Z][k];
        let fast = Feed::Speed(0.8 * axis.max_speed);
        let about = "short strokes: jerk, filter, standing still at the turn";
        let short = [Vec3::ZERO, way * 1.5];
        all.push(stretch::strokes(&format!("{letter}-short"), about, short, fast));
        let about = "long strokes: acceleration and speed";
        let long = if k == 2 { [Vec3::ZERO, way * 75.0] } else { [way * -55.0, way * 55.0] };
        all.push(stretch::strokes(&format!("{letter}-long"), about, long, fast));
    }
    let x = &machine.axes[0];
    let at = |mm_min| feed(mm_min, x);
    for (letter, way) in [("x", Vec3::X), ("y", Vec3::Y), ("z", Vec3::NEG_Z)] {
        let (name, ends) = (format!("rapid-{letter}"), [Vec3::ZERO, way * 50.0]);
        all.push(stretch::strokes(&name, "rapids of one axis", ends, Feed::Rapid));
    }
    all.push(stretch::rapid_and_feed("rapid-feed", "rapid and feed in turn", 16.0, at(4000.0)));
    let about = "exact stops: standing still until the axes have settled";
    all.push(stretch::stops("stops", about, Vec3::X * 30.0, 6, at(4000.0)));
    all.extend(corners(x));
    let about = "arcs: acceleration towards the centre";
    all.push(stretch::circles("arc-small", about, 0.8, at(6000.0)));
    all.push(stretch::circles("arc-large", about, 8.0, at(16_000.0)));
    let about = "quarter arcs that meet in corners: speeding up along a curve";
    all.push(stretch::scallops("scallops", about, (4.0, 5), at(6000.0)));
    let block_s = machine.block_time_s.value.clamp(3e-4, 4e-3);
    // so short that they are waited for even where the file has their time six times too long
    let length = (0.15 * block_s * 100.0).clamp(0.005, 0.1);
    let about = "a straight line in short blocks: block time, look-ahead";
    let way = Vec3::X * (120.0 * length);
    all.push(stretch::blocks("blocks", about, (way, length), at(6000.0)));
    let about = "a gently curved face in blocks of 0.15 mm";
    all.push(stretch::face("face", about, 0.15, at(7000.0)));
    all.push(stretch::wave("wave", "a wavy line in blocks of 0.4 mm", 0.4, at(5000.0)));
    let about = "the same in blocks of 0.05 mm: reading and look-ahead on a curve";
    all.push(stretch::wave("wave-fine", about, 0.05, at(6000.0)));
    all.push(stretch::wave("wave-fast", "the same faster", 0.8, at(12_000.0)));
    all
}

fn corners(x: &Axis) -> Vec<Stretch> {
    let about = |deg: u32| format!("corners of {deg} degrees");
    let corner = |name: &str, deg: u32, sides: (u32, f64, f64), mm_min: f64| {
        stretch::polygon(name, &about(deg), sides, feed(mm_min, x))
    };
    vec![
        corner("corner-90", 90, (4, 6.0, 0.0), 3000.0),
        corner("corner-90-fast", 90, (4, 20.0, 0.0), 12_000.0),
        corner("corner-30", 30, (12, 4.0, 0.1), 6000.0),
        corner("corner-10", 10, (36, 2.0, 0.03), 10_000.0),
        stretch::polygon(
            "round",
            "a circle of short lines at an even speed",
            (200, 0.6, 0.1),
            feed(6000.0, x),
        ),
        stretch::bow("bow", "a bow of short lines: gentle corners", (30.0, 0.4), feed(12_000.0, x)),
        stretch::zigzag("spikes", "corners of 38 to 170 degrees", 4.0, feed(4000.0, x)),
    ]
}

fn rotary(machine: &Machine) -> Vec<Stretch> {
    let mut all = Vec::new();
    for (k, axis) in machine.axes.iter().skip(3).enumerate() {
        let letter = axis.name.letter().to_lowercase();
        let fast = Feed::Rapid;
        let swing = |deg: f64| (k, deg.to_radians());
        let (k, short) = swing(2.0);
        let about = "short turns: jerk of the rotary axis";
        all.push(stretch::turns(&format!("{letter}-short"), about, k, short, fast));
        let (k, long) = swing(SWING_DEG[if axis.travel.is_some() { 0 } else { 1 }]);
        let about = "long turns: acceleration and speed of the rotary axis";
        all.push(stretch::turns(&format!("{letter}-long"), about, k, long, fast));
    }
    if let [_, _, _, first, second] = &machine.axes[..] {
        let slower = first.max_speed.min(second.max_speed).to_degrees();
        let about = |deg: u32| format!("corners of {deg} degrees of both rotary axes alone");
        let corner = |deg: u32, side_deg: f64, deg_s: f64| {
            let feed = Feed::Speed(deg_s.min(0.5 * slower));
            let sides = (360 / deg, side_deg.to_radians());
            stretch::turned_polygon(&format!("turn-corner-{deg}"), &about(deg), sides, feed)
        };
        all.extend([corner(90, 4.0, 25.0), corner(20, 1.0, 50.0)]);
    }
    if !all.is_empty() {
        let feed = feed(5000.0, &machine.axes[0]);
        let about = "rotary axes swing while the tip goes straight, in blocks of 0.5 mm";
        let both = |block: f64, [first, second]: [f64; 2]| {
            (block, [first, if machine.axes.len() > 4 { second } else { 0.0 }])
        };
        all.push(stretch::swinging("swing", about, both(0.5, [0.3, 0.5]), feed));
        let about = "the same with a small swing";
        all.push(stretch::swinging("swing-small", about, both(0.5, [0.05, 0.08]), feed));
        let about = "the same in blocks of 2.5 mm: how far rotary axes are rounded at corners";
        all.push(stretch::swinging("swing-coarse", about, both(2.5, [0.1, 0.16]), feed));
    }
    all
}
