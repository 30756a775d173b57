//! Level moves of an upright cutter that follow on each other at one height.
//!
//! A move sweeps a stadium: a rectangle and two half discs, convex, so that a row of columns meets it
//! in one interval. Short moves overlap, and what a row meets of a chain is the union of the moves'
//! intervals ([`crate::outline`], for a flat cutter); for other forms each cell needs the distance to
//! the nearest move ([`crate::strip`]).

use geom::{Vec2, Vec3};

/// Places this near a straight move are taken to lie on it, in cells.
const NEAR: f64 = 0.02;

/// A level move.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Level {
    pub(crate) from: (f64, f64),
    pub(crate) to: (f64, f64),
    /// Unit vector along it; x where it stands still.
    pub(crate) u: (f64, f64),
    pub(crate) length: f64,
}

/// Moves at one height, each beginning where the one before it ends.
#[derive(Debug, Clone)]
pub(crate) struct Chain {
    pub(crate) z: f64,
    pub(crate) moves: Vec<Level>,
}

/// A piece of a path.
#[derive(Debug, Clone)]
pub(crate) enum Piece {
    Chain(Chain),
    /// A move that rises or falls.
    Slope(Vec3, Vec3),
}

impl Level {
    fn new(from: Vec3, to: Vec3) -> Self {
        let (dx, dy) = (to.x - from.x, to.y - from.y);
        let length = dx.hypot(dy);
        let u = if length > 1e-9 { (dx / length, dy / length) } else { (1.0, 0.0) };
        let length = if length > 1e-9 { length } else { 0.0 };
        Self { from: (from.x, from.y), to: (to.x, to.y), u, length }
    }

    /// Least and greatest v of what a cutter of a radius sweeps.
    pub(crate) fn v_ends(&self, radius: f64) -> (f64, f64) {
        (self.from.1.min(self.to.1) - radius, self.from.1.max(self.to.1) + radius)
    }
}

/// The path in chains and slopes.
pub(crate) fn pieces(tips: &[Vec3], spacing: f64) -> Vec<Piece> {
    let Some(&first) = tips.first() else { return Vec::new() };
    let mut out: Vec<Piece> = Vec::new();
    let mut at = 0;
    if tips.len() == 1 {
        let moves = vec![Level::new(first, first)];
        return vec![Piece::Chain(Chain { z: first.z, moves })];
    }
    while at + 1 < tips.len() {
        let z = tips[at].z;
        let level = tips[at..].iter().take_while(|t| t.z == z).count();
        if level > 1 {
            let moves = straightened(&tips[at..at + level], NEAR * spacing);
            out.push(Piece::Chain(Chain { z, moves }));
            at += level - 1;
        } else {
            out.push(Piece::Slope(tips[at], tips[at + 1]));
            at += 1;
        }
    }
    out
}

/// Moves through places at one height; those that lie within `near` of a straight move, in order, are
/// left out.
fn straightened(tips: &[Vec3], near: f64) -> Vec<Level> {
    let mut out = Vec::new();
    let mut from = tips[0];
    // directions from there that pass all places left out, as turns from that to the first
    let mut sleeve: Option<(Vec2, f64, f64)> = None;
    let mut end = from;
    for &tip in &tips[1..] {
        let way = (tip - from).truncate();
        let fits = match sleeve {
            None => true,
            Some((first, least, most)) => {
                let turn = first.angle_to(way);
                let on = (tip - end).truncate().dot(way) >= 0.0;
                on && first.dot(way) > 0.0 && least <= turn && turn <= most
            }
        };
        if !fits {
            out.push(Level::new(from, end));
            (from, sleeve) = (end, None);
        }
        end = tip;
        let way = (tip - from).truncate();
        let long = way.length();
        if long <= near {
            continue;
        }
        let half = (near / long).asin();
        sleeve = Some(match sleeve {
            None => (way, -half, half),
            Some((first, least, most)) => {
                let turn = first.angle_to(way);
                (first, least.max(turn - half), most.min(turn + half))
            }
        });
    }
    out.push(Level::new(from, end));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_left_out_lie_near() {
        // a spiral, a turn back and a stand-still
        let at = |k: i32| {
            let (s, c) = (0.02 * f64::from(k)).sin_cos();
            Vec3::new((5.0 + 0.01 * f64::from(k)) * c, 5.0 * s, 1.0)
        };
        let mut tips: Vec<Vec3> = (0..500).map(at).collect();
        tips.extend((0..20).map(|k| at(499) - Vec3::X * 0.1 * f64::from(k % 10)));
        let near = 5e-3;
        let moves = straightened(&tips, near);
        assert!(moves.len() < 300, "{}", moves.len());
        assert!(moves.windows(2).all(|w| w[0].to == w[1].from));
        assert_eq!(moves[moves.len() - 1].to, (tips[519].x, tips[519].y));
        let off = |p: &Vec3| {
            let to = |m: &Level| {
                let (x, y) = (p.x - m.from.0, p.y - m.from.1);
                let t = (x * m.u.0 + y * m.u.1).clamp(0.0, m.length);
                (x - t * m.u.0).hypot(y - t * m.u.1)
            };
            moves.iter().map(to).fold(f64::INFINITY, f64::min)
        };
        assert!(tips.iter().all(|p| off(p) <= near * 1.000_001));
    }
}
