//! From a piece of a line to poses: as few as keep every straight move within the chord tolerance.

use geom::{Site, Vec3};

use cutter::contact::kappa_between;
use cutter::tip_at;

use crate::chart::Chart;
use crate::error::PatternError;
use crate::family::Family;
use crate::stance::{Stance, Standing};
use crate::trim::Piece;

/// Longest straight move, mm.
const LONGEST_MM: f64 = 5.0;
/// Shortest move that subdivision makes, mm; beyond it a crease is taken as it is.
const SHORTEST_MM: f64 = 1e-3;
/// Share of the tolerance that steps aim at.
const AIM: f64 = 0.85;
/// Largest growth of a step over the one before.
const GROWTH: f64 = 1.6;

/// What a move may miss by.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Tolerance {
    /// Along the normal, mm.
    pub(crate) normal_mm: f64,
    /// Across the feed in the surface, mm.
    pub(crate) lateral_mm: f64,
}

/// One pose of a traced piece.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Posed {
    pub(crate) t: f64,
    pub(crate) standing: Standing,
}

/// Everything that turns a parameter of a piece into a pose.
pub(crate) struct Tracer<'a> {
    pub(crate) chart: &'a dyn Chart,
    pub(crate) family: &'a Family<'a>,
    pub(crate) stance: &'a Stance<'a>,
    pub(crate) tolerance: Tolerance,
}

impl Tracer<'_> {
    /// The cutter at a parameter; `against` where the pass runs down the parameter.
    pub(crate) fn pose(&self, piece: &Piece, t: f64, against: bool) -> Result<Posed, PatternError> {
        let (site, forward) = self.site(piece, t)?;
        Ok(Posed { t, standing: self.stance.stand(&site, forward, against)? })
    }

    /// The surface and the pattern's forward direction at a parameter.
    pub(crate) fn site(&self, piece: &Piece, t: f64) -> Result<(Site, Vec3), PatternError> {
        let spot = piece.spot(self.chart, self.family, t).ok_or(PatternError::NoPass)?;
        let (_, dq) = piece.curve.at(t);
        Ok((spot.site, spot.tangent(dq).normalize()))
    }

    /// Misses of the straight move from `a` to `b`, seen at its middle `m`: height over the surface
    /// along the normal, below it negative, and distance across the feed, mm.
    fn miss(&self, a: &Standing, m: &Standing, b: &Standing) -> (f64, f64) {
        let tip = 0.5 * (a.tip + b.tip);
        let axis = (a.axis + b.axis).normalize();
        let n = m.site.normal;
        let kappa = kappa_between(n, axis);
        let Ok(contact) = self.stance.touch(kappa) else {
            return (f64::INFINITY, 0.0);
        };
        let lowest = tip - (tip_at(&m.site, axis, &contact) - m.site.point);
        let off = lowest - m.site.point;
        let height = off.dot(n);
        let flat = off - n * height;
        let rise = 0.5 * flat.length_squared() * curvature_along(m, flat);
        (height - rise, flat.dot(n.cross(m.feed)).abs())
    }

    /// Poses along a piece in the order of its parameter. Where straight moves would dig, their ends
    /// stand over the surface by half of what they sag, so that a move leaves the contact line by the
    /// same amount to both sides.
    pub(crate) fn trace(&self, piece: &Piece, against: bool) -> Result<Vec<Posed>, PatternError> {
        self.traced(piece, |t| self.pose(piece, t, against))
    }

    /// The same with the cutter standing as `pose` says.
    pub(crate) fn traced(
        &self,
        piece: &Piece,
        pose: impl Fn(f64) -> Result<Posed, PatternError>,
    ) -> Result<Vec<Posed>, PatternError> {
        let (from, to) = (piece.from, piece.to);
        let mut here = pose(from)?;
        let (mut out, mut sags) = (vec![here], Vec::new());
        let (_, dq) = piece.curve.at(0.5 * (from + to));
        let middle = piece.spot(self.chart, self.family, 0.5 * (from + to));
        let per_unit = middle.map_or(1.0, |s| s.tangent(dq).length()).max(1e-12);
        let (longest, shortest) = (LONGEST_MM / per_unit, SHORTEST_MM / per_unit);
        let mut step = (0.5 * longest).min(to - from);
        while here.t < to {
            let left = to - here.t;
            // two even steps at the end instead of a full one and a splinter
            let taken = if left <= step { left } else { step.min(0.5 * left).max(step * 0.5) };
            let middle = pose(here.t + 0.5 * taken)?;
            let next = pose(here.t + taken)?;
            let (normal, lateral) = self.miss(&here.standing, &middle.standing, &next.standing);
            let used =
                (normal.abs() / self.tolerance.normal_mm).max(lateral / self.tolerance.lateral_mm);
            let fit = taken * (AIM / used.max(1e-6)).sqrt();
            if used > 1.0 && taken > shortest {
                step = fit.clamp(0.2 * taken, 0.9 * taken).max(shortest);
                continue;
            }
            here = Posed { t: if taken == left { to } else { next.t }, ..next };
            out.push(here);
            sags.push((-normal).max(0.0));
            step = fit.min(GROWTH * taken.max(step.min(taken * GROWTH))).clamp(shortest, longest);
        }
        balance(&mut out, &sags);
        Ok(out)
    }
}

/// Lifts every pose along the normal by half the mean sag of the moves that meet in it.
fn balance(poses: &mut [Posed], sags: &[f64]) {
    for (k, posed) in poses.iter_mut().enumerate() {
        let met = &sags[k.saturating_sub(1)..(k + 1).min(sags.len())];
        let mean = met.iter().sum::<f64>() / met.len().max(1) as f64;
        posed.standing.tip += posed.standing.site.normal * (0.5 * mean);
    }
}

fn curvature_along(s: &Standing, v: Vec3) -> f64 {
    if v.length() > 0.0 { s.site.curvature.along(v.normalize()) } else { 0.0 }
}
