//! Where on a cutter that leans metal is cut, from the stock just before the cutter passes, by height
//! along its own axis.
//!
//! As for an upright cutter a point cuts where its normal looks along its motion, where the stock is
//! full, and where the pieces of the way just before have not been; those are tested exactly. On every
//! piece the axis stands still, at the middle of its turn; a point moves with the tip and with the turn.

use crate::engagement::{GRAZES, Ring, Rings, SWEPT_MM};
use crate::error::StockError;
use crate::line::Sweep;
use crate::poses::Stance;
use crate::three::Three;
use cutter::Cutter;
use geom::Vec3;
use mechanics::engagement::Slice;
use std::collections::VecDeque;
use std::f64::consts::{FRAC_PI_2, TAU};

/// A straight piece of the way.
#[derive(Debug, Clone, Copy)]
struct Piece {
    from: Vec3,
    to: Vec3,
    /// Unit axis in the middle of the piece.
    axis: Vec3,
    /// Turn of the axis over the piece, as a vector, rad.
    turn: Vec3,
    /// How far any point of the cutter goes at most, mm.
    length_mm: f64,
}

/// Where the cutter is in the cut at the end of a piece.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Look {
    /// Angles by height, x along the motion across the axis.
    pub slices: Vec<Slice>,
    /// How far the places in the cut went across the axis on the piece, in the mean, mm.
    pub across_mm: f64,
    /// How far they went along the axis, towards the spindle, mm.
    pub along_mm: f64,
}

/// A cutter in any position on its way through a stock.
#[derive(Debug)]
pub struct Leaning<'a> {
    stock: &'a mut Three,
    cutter: &'a Cutter,
    rings: Rings,
    at: Stance,
    recent: VecDeque<Piece>,
    lag_mm: f64,
    taken_mm3: f64,
}

impl<'a> Leaning<'a> {
    /// A cutter that stands at `at`, its profile in rings no longer than `width_mm`.
    pub fn new(stock: &'a mut Three, cutter: &'a Cutter, at: Stance, width_mm: f64) -> Self {
        // over this length the border of a disc leaves its tangent by one and a half cells
        let r = cutter.profile().largest_radius_mm();
        let lag_mm = (3.0 * r * stock.spacing_mm()).sqrt();
        let rings = Rings::of(cutter, width_mm);
        Self { stock, cutter, rings, at, recent: VecDeque::new(), lag_mm, taken_mm3: 0.0 }
    }

    /// Moves on to `to` in a straight line. The material of the last stretch is taken out later, or by
    /// [`Leaning::finish`].
    ///
    /// # Errors
    /// A position that is not finite.
    pub fn pass(&mut self, to: Stance) -> Result<(), StockError> {
        if !(to.0.is_finite() && to.1.is_finite()) {
            return Err(StockError::NotFinite { index: 0 });
        }
        let (from, turn) = (self.at, self.at.1.cross(to.1));
        let lever_mm = Three::reach_mm(self.cutter.profile());
        let length_mm = from.0.distance(to.0) + lever_mm * turn.length();
        if length_mm <= geom::tolerance::COINCIDENT_MM {
            return Ok(());
        }
        let axis = (from.1 + to.1).normalize_or(to.1);
        self.recent.push_back(Piece { from: from.0, to: to.0, axis, turn, length_mm });
        self.at = to;
        let mut behind: f64 = self.recent.iter().map(|p| p.length_mm).sum();
        while let Some(first) = self.recent.front().copied() {
            behind -= first.length_mm;
            if behind < self.lag_mm {
                break;
            }
            self.recent.pop_front();
            self.take(&first);
        }
        Ok(())
    }

    /// Takes out what the last pieces cut; what all of the way took away, mm³.
    pub fn finish(mut self) -> f64 {
        while let Some(piece) = self.recent.pop_front() {
            self.take(&piece);
        }
        self.taken_mm3
    }

    fn take(&mut self, piece: &Piece) {
        let profile = self.cutter.profile();
        let taken = self.stock.cut(&piece.sweep(self.cutter), Three::reach_mm(profile));
        self.taken_mm3 += taken.volume_mm3;
    }

    /// Where the cutter is in the cut at the end of the last piece.
    pub fn look(&self) -> Look {
        let Some(last) = self.recent.back() else { return Look::default() };
        let (a, feed) = (last.axis, last.to - last.from);
        let across = feed - a * feed.dot(a);
        let enough = across.length() > GRAZES * last.length_mm;
        let along = if enough { across.normalize() } else { a.any_orthonormal_vector() };
        let left = a.cross(along);
        let place = |ring: &Ring, angle: f64| {
            let (sin, cos) = angle.sin_cos();
            let e = left * cos + along * sin;
            let arm = e * ring.radius_mm + a * ring.z_mm;
            (e, arm, feed + last.turn.cross(arm))
        };
        let mut found = self.rings.slices(|ring, angle| {
            let (e, arm, motion) = place(ring, angle);
            let (s, c) = ring.kappa_rad.sin_cos();
            let out = (e * s - a * c).dot(motion);
            out > GRAZES * motion.length() && self.is_fresh(last.to + arm)
        });
        let motion = if last.turn == Vec3::ZERO {
            feed
        } else {
            let (mut sum, mut weight) = (Vec3::ZERO, 0.0);
            for s in &found {
                let ring = Ring {
                    z_mm: s.z_mm,
                    radius_mm: s.radius_mm,
                    kappa_rad: s.kappa_rad,
                    width_mm: s.width_mm,
                };
                let share = s.width_mm * s.arc_rad() * s.radius_mm.max(s.width_mm);
                sum += place(&ring, 0.5 * (s.entry_rad + s.exit_rad)).2 * share;
                weight += share;
            }
            let motion = if weight > 0.0 { sum / weight } else { feed };
            turn_to((left, along), motion - a * motion.dot(a), &mut found);
            motion
        };
        let along_mm = motion.dot(a);
        Look { slices: found, across_mm: (motion - a * along_mm).length(), along_mm }
    }

    /// Whether there is material that no piece before the last one has swept.
    fn is_fresh(&self, p: Vec3) -> bool {
        let before = self.recent.len() - 1;
        self.stock.fill(p) > 0.5
            && !self
                .recent
                .iter()
                .take(before)
                .any(|piece| piece.sweep(self.cutter).distance(p).0 < -SWEPT_MM)
    }
}

impl Piece {
    fn sweep<'c>(&self, cutter: &'c Cutter) -> Sweep<'c> {
        let body = cutter.profile().kernel();
        Sweep { body, from: self.from, to: self.to, axis: self.axis }
    }
}

/// Counts the angles from another direction of the motion, `along` so far.
fn turn_to((left, along): (Vec3, Vec3), motion: Vec3, slices: &mut Vec<Slice>) {
    let off = motion.dot(along).atan2(motion.dot(left)) - FRAC_PI_2;
    if motion.length() <= geom::tolerance::COINCIDENT_MM * 1e-3 || off == 0.0 {
        return;
    }
    let mut out: Vec<Slice> = Vec::with_capacity(slices.len() + 1);
    let mut i = 0;
    while i < slices.len() {
        let same = slices[i..]
            .iter()
            .take_while(|s| s.z_mm == slices[i].z_mm && s.kappa_rad == slices[i].kappa_rad);
        let ring = &slices[i..i + same.count()];
        i += ring.len();
        let mut arcs: Vec<(f64, f64)> = ring.iter().map(|s| (s.entry_rad, s.exit_rad)).collect();
        if arcs.len() > 1 && arcs[0].0 == 0.0 && arcs[arcs.len() - 1].1 == TAU {
            // one arc that passes over 0
            let (first, last) = (arcs.remove(0), arcs.len() - 1);
            arcs[last].1 += first.1;
        }
        for (entry, exit) in arcs {
            let start = (entry - off).rem_euclid(TAU);
            let end = start + (exit - entry);
            let parts = [(start, end.min(TAU)), (0.0, end - TAU)];
            let parts = parts.into_iter().filter(|(a, b)| b - a > 1e-6);
            out.extend(parts.map(|(entry_rad, exit_rad)| Slice { entry_rad, exit_rad, ..ring[0] }));
        }
    }
    *slices = out;
}
