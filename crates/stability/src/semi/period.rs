//! One tooth period as a row of steps: the motion of each mode over a step, and the mean of the
//! directional matrix over it.

use crate::cut::{Cut, Matrix2};
use crate::limit::LimitError;
use crate::response::{Axis, Mode, Structure};
use num_complex::Complex64;

/// The structure as modes.
#[derive(Debug, Clone, PartialEq)]
pub struct Modal {
    modes: Vec<(usize, Mode)>,
    /// Give of each axis without mass, mm/N.
    rest_mm_n: [f64; 2],
}

impl Modal {
    /// The modes of a structure.
    ///
    /// # Errors
    /// An axis is a measured response, or nothing gives way.
    pub fn new(structure: &Structure) -> Result<Self, LimitError> {
        let mut modes = Vec::new();
        for (index, (axis, name)) in structure.axes().into_iter().zip(["x", "y"]).enumerate() {
            let of_axis = axis.modes().ok_or(LimitError::NeedsModes { axis: name })?;
            modes.extend(of_axis.iter().map(|mode| (index, *mode)));
        }
        let rest_mm_n = structure.axes().map(Axis::rest_mm_n);
        if modes.is_empty() { Err(LimitError::Rigid) } else { Ok(Self { modes, rest_mm_n }) }
    }

    /// Axis (0: x, 1: y) and mode.
    pub(crate) fn modes(&self) -> &[(usize, Mode)] {
        &self.modes
    }

    /// Highest natural frequency, rad/s.
    pub(crate) fn highest_rad_s(&self) -> f64 {
        self.modes.iter().map(|(_, m)| m.omega_rad_s()).fold(0.0, f64::max)
    }

    /// A bound on |displacement over force| at any frequency, mm/N.
    pub(crate) fn most_mm_n(&self) -> f64 {
        let of_axis = |axis: usize| -> f64 {
            self.modes.iter().filter(|(a, _)| *a == axis).map(|(_, m)| m.peak_mm_n()).sum()
        };
        let [x, y] = self.rest_mm_n.map(f64::abs);
        (of_axis(0) + x).max(of_axis(1) + y)
    }

    /// Displacement over force of both axes, mm/N.
    pub(crate) fn response(&self, omega_rad_s: f64) -> [Complex64; 2] {
        let mut give = self.rest_mm_n.map(Complex64::from);
        for (axis, mode) in &self.modes {
            give[*axis] += mode.response(omega_rad_s);
        }
        give
    }
}

/// Motion of a mode over a time with a steady force. The state is (displacement in mm, speed over ω in
/// mm), so that both are of one size.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Swing {
    /// Axis of the mode.
    pub(crate) axis: usize,
    /// Free motion.
    pub(crate) free: Matrix2,
    /// What a force of 1 N adds, mm/N.
    pub(crate) forced: [f64; 2],
}

impl Swing {
    fn new(axis: usize, mode: &Mode, time_s: f64) -> Self {
        let (omega, zeta) = (mode.omega_rad_s(), mode.damping);
        let root = (1.0 - zeta * zeta).sqrt();
        let (sin, cos) = (omega * root * time_s).sin_cos();
        let decay = (-zeta * omega * time_s).exp();
        let (s, c) = (decay * sin / root, decay * cos);
        let free = [[c + zeta * s, s], [-s, c - zeta * s]];
        let k = mode.stiffness_n_mm;
        Self { axis, free, forced: [(1.0 - free[0][0]) / k, -free[1][0] / k] }
    }
}

/// A step: how long, and how the cut acts in it.
#[derive(Debug, Clone)]
pub(crate) struct Step {
    /// ½ Kt times the mean of A over the step, N/mm²; `None` where no tooth cuts.
    pub(crate) gain_n_mm2: Option<Matrix2>,
    /// Which row of [`Period::swings`].
    pub(crate) length: usize,
}

/// One tooth period.
#[derive(Debug, Clone)]
pub(crate) struct Period {
    /// Its length, s.
    pub(crate) time_s: f64,
    /// Its steps in order.
    pub(crate) steps: Vec<Step>,
    /// For each length of a step: its time, s, and the motion of each mode over it.
    pub(crate) swings: Vec<(f64, Vec<Swing>)>,
    /// For each length: mean displacement of each axis over a steady force in the step itself, mm/N.
    pub(crate) give: Vec<[f64; 2]>,
    /// Steps in which a tooth cuts.
    pub(crate) cutting: usize,
}

impl Period {
    /// Divides the tooth period; the longest piece in cut gets `steps` times `finer` steps, the others
    /// `finer` times as many as make steps of about that length. So `finer` alone scales every step.
    pub(crate) fn new(
        modal: &Modal,
        cut: &Cut,
        speed_rpm: f64,
        steps: usize,
        finer: usize,
    ) -> Self {
        let time_s = cut.tooth_period_s(speed_rpm);
        let pieces = pieces(cut);
        let longest = pieces.iter().filter(|p| p.2).map(|p| p.1 - p.0).fold(0.0, f64::max);
        let mut period =
            Self { time_s, steps: Vec::new(), swings: Vec::new(), give: Vec::new(), cutting: 0 };
        for (from, to, cuts) in pieces {
            let share = steps as f64 * (to - from) / longest;
            let count = if cuts { finer * ((share - 1e-9).ceil() as usize).max(4) } else { 1 };
            let width = (to - from) / count as f64;
            let step_s = width / cut.pitch_rad() * time_s;
            let swing = |(axis, mode): &(usize, Mode)| Swing::new(*axis, mode, step_s);
            let swings: Vec<Swing> = modal.modes().iter().map(swing).collect();
            let mut give = modal.rest_mm_n;
            for swing in &swings {
                give[swing.axis] += 0.5 * swing.forced[0];
            }
            for i in 0..count {
                let start = from + width * i as f64;
                let gain = cuts.then(|| gain(cut, start, start + width));
                period.steps.push(Step { gain_n_mm2: gain, length: period.swings.len() });
            }
            period.cutting += if cuts { count } else { 0 };
            period.swings.push((step_s, swings));
            period.give.push(give);
        }
        period
    }

    /// Bound on the norm of the feedback per depth, N/mm².
    pub(crate) fn most_gain_n_mm2(&self) -> f64 {
        let norm = |m: &Matrix2| m.iter().flatten().map(|v| v * v).sum::<f64>().sqrt();
        self.steps.iter().filter_map(|s| s.gain_n_mm2.as_ref()).map(norm).fold(0.0, f64::max)
    }
}

fn gain(cut: &Cut, from_rad: f64, to_rad: f64) -> Matrix2 {
    let half = 0.5 * cut.kt_n_mm2;
    cut.mean_between(from_rad, to_rad).map(|row| row.map(|v| half * v))
}

/// From, to (first tooth, rad) and whether a tooth cuts there, over one pitch from the first change.
fn pieces(cut: &Cut) -> Vec<(f64, f64, bool)> {
    let changes = cut.changes_rad();
    let first = changes.first().copied().unwrap_or(0.0);
    let mut ends: Vec<f64> = changes.iter().skip(1).copied().collect();
    ends.push(first + cut.pitch_rad());
    let mut from = first;
    let mut pieces = Vec::with_capacity(ends.len());
    for to in ends {
        pieces.push((from, to, cuts(cut, 0.5 * (from + to))));
        from = to;
    }
    pieces
}

/// Whether any tooth is in cut when the first stands at an angle.
fn cuts(cut: &Cut, first_rad: f64) -> bool {
    (0..=cut.teeth).any(|tooth| {
        let turned = f64::from(tooth) * cut.pitch_rad();
        let angle = (first_rad + turned).rem_euclid(std::f64::consts::TAU);
        angle > cut.immersion.entry_rad && angle < cut.immersion.exit_rad
    })
}
