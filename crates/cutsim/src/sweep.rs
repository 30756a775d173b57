//! A toolpath as moves that the cutter sweeps: straight for the tip, great circles for the axis.

use geom::{Vec3, tolerance};
use toolpath::{RunKind, Toolpath};

/// Moves that turn the axis by more than this are cut up first, so that the cutter's signed
/// distance stays convex along a move in practice and the series for the axis is exact.
pub(crate) const TURN_MAX_RAD: f64 = 0.01;

/// Sine and cosine to the last bit of an angle of at most [`TURN_MAX_RAD`].
#[inline(always)]
pub(crate) fn small_turn(psi: f64) -> (f64, f64) {
    let p2 = psi * psi;
    let sin = psi * (1.0 - p2 * (1.0 / 6.0 - p2 * (1.0 / 120.0)));
    (sin, 1.0 - p2 * (0.5 - p2 * (1.0 / 24.0)))
}

/// One move. With x in [−1, 1] the tip is `mid + x half` and the axis
/// `cos(x θ) axis + sin(x θ) turn`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Move {
    /// Middle of the tip's way, mm.
    pub mid: Vec3,
    /// Half of the tip's way, mm.
    pub half: Vec3,
    /// Unit axis in the middle.
    pub axis: Vec3,
    /// Unit vector at right angles to the axis, towards which it turns.
    pub turn: Vec3,
    /// Half of the angle by which the axis turns, rad.
    pub half_turn_rad: f64,
    /// Run of the toolpath that the move is part of.
    pub run: u32,
    /// Pose of that run at which the programmed move begins.
    pub pose: u32,
    /// Where on the programmed move this one begins and ends, 0 to 1.
    pub from: f64,
    /// See `from`.
    pub to: f64,
}

/// Which moves of a toolpath to take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// Moves at feed: they cut what they sweep.
    AtFeed,
    /// Rapid moves: they must not touch.
    Rapid,
}

impl Move {
    /// The move between two poses; a turn of the axis by more than [`TURN_MAX_RAD`] is the
    /// caller's to cut up.
    pub fn between(tips: [Vec3; 2], axes: [Vec3; 2]) -> Self {
        let sum = axes[0] + axes[1];
        let difference = axes[1] - axes[0];
        let axis = if sum.length() > 0.0 { sum.normalize() } else { axes[0] };
        let sine = 0.5 * difference.length();
        let half_turn_rad = sine.min(1.0).asin();
        let turn = if half_turn_rad > tolerance::PARALLEL_RAD * 1e-3 {
            (difference - axis * difference.dot(axis)).normalize()
        } else {
            Vec3::ZERO
        };
        Self {
            mid: (tips[0] + tips[1]) * 0.5,
            half: (tips[1] - tips[0]) * 0.5,
            axis,
            turn,
            half_turn_rad: if turn == Vec3::ZERO { 0.0 } else { half_turn_rad },
            run: 0,
            pose: 0,
            from: 0.0,
            to: 1.0,
        }
    }

    /// Tip at x in [−1, 1].
    pub fn tip_at(&self, x: f64) -> Vec3 {
        self.mid + self.half * x
    }

    /// Where on the move the tip is abreast of a point, −1 to 1.
    #[inline(always)]
    pub(crate) fn abreast(&self, point: Vec3) -> f64 {
        let along = self.half.length_squared();
        let x = (point - self.mid).dot(self.half) / along.max(f64::MIN_POSITIVE);
        x.clamp(-1.0, 1.0)
    }

    /// Axis at x in [−1, 1].
    pub fn axis_at(&self, x: f64) -> Vec3 {
        let (s, c) = (x * self.half_turn_rad).sin_cos();
        self.axis * c + self.turn * s
    }

    /// Fraction of the programmed move at x in [−1, 1].
    pub fn fraction(&self, x: f64) -> f64 {
        self.from + 0.5 * (x + 1.0) * (self.to - self.from)
    }
}

/// Great-circle interpolation between two unit vectors.
fn on_circle(a: Vec3, b: Vec3, f: f64) -> Vec3 {
    let angle = a.cross(b).length().atan2(a.dot(b));
    let across = b - a * a.dot(b);
    if across.length() <= f64::EPSILON {
        return a;
    }
    let (s, c) = (f * angle).sin_cos();
    a * c + across.normalize() * s
}

/// All moves of one kind, in path order. Poses that are not finite are left out: a caller that
/// cares checks the path first.
pub fn moves(path: &Toolpath, which: Which) -> Vec<Move> {
    let mut out = Vec::with_capacity(path.moves());
    for (r, run) in path.runs.iter().enumerate() {
        for (i, pair) in run.poses.windows(2).enumerate() {
            let feed = run.tip_feed_mm_s.get(i).copied().unwrap_or(0.0);
            let rapid = run.kind == RunKind::Rapid || feed.is_infinite();
            if rapid != (which == Which::Rapid) {
                continue;
            }
            cut_up(pair, r as u32, i as u32, &mut out);
        }
    }
    out
}

fn cut_up(pair: &[toolpath::Pose], run: u32, pose: u32, out: &mut Vec<Move>) {
    let (p, q) = (pair[0], pair[1]);
    if !(p.tip.is_finite() && q.tip.is_finite() && p.axis.is_finite() && q.axis.is_finite()) {
        return;
    }
    let (a, b) = (p.axis.normalize_or_zero(), q.axis.normalize_or_zero());
    let angle = a.cross(b).length().atan2(a.dot(b));
    let n = (angle / TURN_MAX_RAD).ceil().max(1.0) as usize;
    for k in 0..n {
        let (from, to) = (k as f64 / n as f64, (k + 1) as f64 / n as f64);
        let tips = [p.tip.lerp(q.tip, from), p.tip.lerp(q.tip, to)];
        let axes = [on_circle(a, b, from), on_circle(a, b, to)];
        out.push(Move { run, pose, from, to, ..Move::between(tips, axes) });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use toolpath::{Pose, Run};

    #[test]
    fn a_large_turn_is_cut_up_and_stays_on_the_great_circle() {
        let axes = [Vec3::Z, Vec3::new(40f64.to_radians().sin(), 0.0, 40f64.to_radians().cos())];
        let poses =
            vec![Pose { tip: Vec3::ZERO, axis: axes[0] }, Pose { tip: Vec3::X, axis: axes[1] }];
        let run =
            Run { kind: RunKind::Cut, pass: 0, poses, contacts: vec![], tip_feed_mm_s: vec![10.0] };
        let path = Toolpath { runs: vec![run] };
        let all = moves(&path, Which::AtFeed);
        assert!(all.len() > 60 && moves(&path, Which::Rapid).is_empty());
        let quarter = all.iter().find(|m| m.from <= 0.25 && m.to >= 0.25).expect("covered");
        let x = 2.0 * (0.25 - quarter.from) / (quarter.to - quarter.from) - 1.0;
        let axis = quarter.axis_at(x);
        // equal steps of the parameter are equal angles: 10° at a quarter of 40°
        assert!((axis.x.atan2(axis.z).to_degrees() - 10.0).abs() < 1e-9);
        assert!((quarter.tip_at(x) - Vec3::X * 0.25).length() < 1e-12);
    }
}
