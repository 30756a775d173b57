//! Where on the cutter metal is cut, from the stock just before the cutter passes.
//!
//! A point of the cutter cuts where its normal looks along the feed, where the stock is full, and
//! where the moves just before have not been. Those are not cut out of the columns at once but
//! tested exactly: beside the cutter the freshly cut wall touches it, and columns alone could not
//! tell the two apart.

use crate::columns::Columns;
use crate::error::StockError;
use crate::line::Sweep;
use cutter::{Cutter, Element};
use geom::Vec3;
use mechanics::engagement::{Slice, lag_rad};
use rayon::prelude::*;
use std::collections::VecDeque;
use std::f64::consts::{PI, TAU};

/// Samples of the angle round the cutter.
const ANGLES: usize = 180;
/// Halvings that refine an end.
const HALVINGS: usize = 24;
/// A point this deep in what an earlier move swept is gone, mm.
pub(crate) const SWEPT_MM: f64 = geom::tolerance::COINCIDENT_MM;
/// Share of the feed along its normal below which a place of the cutter only slides along.
pub(crate) const GRAZES: f64 = 1e-9;

/// A thin ring of the cutter's profile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ring {
    /// Height of its middle over the tip, mm.
    pub(crate) z_mm: f64,
    /// Radius there, mm.
    pub(crate) radius_mm: f64,
    /// Angle between normal and axis (downwards), rad.
    pub(crate) kappa_rad: f64,
    /// Length along the profile, mm.
    pub(crate) width_mm: f64,
}

impl Ring {
    /// Rings of the profile no longer than `width_mm`, each in so many parts, from the tip. A flat bottom
    /// is in the cut only where the feed runs along the axis as well.
    fn parted(cutter: &Cutter, width_mm: f64, parts: usize) -> Vec<Ring> {
        let mut out = Vec::new();
        for e in cutter.profile().elements() {
            let length = match e {
                Element::Arc(a) => a.length_mm(),
                Element::Line(l) => l.length_mm(),
            };
            if length <= 0.0 {
                continue;
            }
            let (lo, hi) = e.kappa_range();
            let n = parts * (length / width_mm - 1e-9).ceil().max(1.0) as usize;
            for i in 0..n {
                let f = (i as f64 + 0.5) / n as f64;
                let kappa_rad = lo + f * (hi - lo);
                let (radius_mm, z_mm) = match e {
                    Element::Arc(a) => a.point(kappa_rad),
                    Element::Line(l) => {
                        let mix = |a: f64, b: f64| a + f * (b - a);
                        (mix(l.from_mm.0, l.to_mm.0), mix(l.from_mm.1, l.to_mm.1))
                    }
                };
                out.push(Ring { z_mm, radius_mm, kappa_rad, width_mm: length / n as f64 });
            }
        }
        out
    }
}

/// The rings of a profile, and finer ones for where the cut ends between two of them.
#[derive(Debug, Clone)]
pub(crate) struct Rings {
    coarse: Vec<Ring>,
    /// [`PARTS`] for each coarse one.
    fine: Vec<Ring>,
    helix_rad: f64,
}

/// Finer rings of a ring.
const PARTS: usize = 6;
/// The angle in the cut changes from ring to ring by more than this where it is looked at more finely, rad.
const CHANGE_RAD: f64 = 0.1;

/// A ring and where it is in the cut.
type Found = (Ring, Vec<(f64, f64)>);

impl Rings {
    pub(crate) fn of(cutter: &Cutter, width_mm: f64) -> Self {
        let helix_rad = cutter.spec().helix_rad.unwrap_or(0.0);
        Self {
            coarse: Ring::parted(cutter, width_mm, 1),
            fine: Ring::parted(cutter, width_mm, PARTS),
            helix_rad,
        }
    }

    /// Where the rings are in the cut: `cuts` says it of an angle of a ring.
    pub(crate) fn slices(&self, cuts: impl Fn(&Ring, f64) -> bool + Sync) -> Vec<Slice> {
        let look = |ring: &Ring| (*ring, arcs(&|angle| cuts(ring, angle)));
        let coarse: Vec<Found> = self.coarse.par_iter().map(look).collect();
        let angle = |i: usize| coarse[i].1.iter().map(|(a, b)| b - a).sum::<f64>();
        let angles: Vec<f64> = (0..coarse.len()).map(angle).collect();
        let changes = |i: usize, j: usize| (angles[i] - angles[j]).abs() > CHANGE_RAD;
        let ends_here =
            |i: usize| (i > 0 && changes(i, i - 1)) || (i + 1 < angles.len() && changes(i, i + 1));
        let found: Vec<Vec<Found>> = coarse
            .par_iter()
            .enumerate()
            .map(|(i, found)| {
                let fine = &self.fine[i * PARTS..(i + 1) * PARTS];
                if ends_here(i) { fine.iter().map(look).collect() } else { vec![found.clone()] }
            })
            .collect();
        let mut lag = 0.0;
        let mut out = Vec::new();
        for (ring, arcs) in found.into_iter().flatten() {
            let rise = ring.width_mm * ring.kappa_rad.sin().abs();
            // near the axis an edge runs straight out: no lag to speak of
            let radius = ring.radius_mm.max(ring.width_mm);
            let span = lag_rad(rise, self.helix_rad, radius).min(PI / 8.0);
            out.extend(arcs.into_iter().map(|(entry_rad, exit_rad)| Slice {
                // each slice is one band of heights, its angles those of its middle
                entry_span_rad: 0.0,
                exit_span_rad: 0.0,
                z_mm: ring.z_mm,
                radius_mm: ring.radius_mm,
                kappa_rad: ring.kappa_rad,
                width_mm: ring.width_mm,
                lag_rad: lag + 0.5 * span,
                lag_span_rad: span,
                entry_rad,
                exit_rad,
            }));
            lag += span;
        }
        out
    }
}

/// An upright cutter on its way through a stock.
#[derive(Debug)]
pub struct Cutting<'a> {
    stock: &'a mut Columns,
    cutter: &'a Cutter,
    rings: Rings,
    at: Vec3,
    recent: VecDeque<(Vec3, Vec3)>,
    lag_mm: f64,
}

impl<'a> Cutting<'a> {
    /// A cutter that stands at `at`, its profile in rings no longer than `width_mm`.
    pub fn new(stock: &'a mut Columns, cutter: &'a Cutter, at: Vec3, width_mm: f64) -> Self {
        // over this length the border of a disc leaves its tangent by one and a half cells
        let r = cutter.profile().largest_radius_mm();
        let lag_mm = (3.0 * r * stock.grid().spacing_mm).sqrt();
        let rings = Rings::of(cutter, width_mm);
        Self { stock, cutter, rings, at, recent: VecDeque::new(), lag_mm }
    }

    /// Moves on to `to` in a straight line and returns where the cutter is in the cut there, in the
    /// angles of [`Slice`], x along the level part of the feed (x of the part on a plunge). The
    /// material of the last stretch is taken out later, or by [`Cutting::finish`].
    ///
    /// # Errors
    /// A position that is not finite.
    pub fn advance(&mut self, to: Vec3) -> Result<Vec<Slice>, StockError> {
        self.pass(to)?;
        Ok(self.look())
    }

    /// Moves on to `to` in a straight line, as [`Cutting::advance`], without a look.
    ///
    /// # Errors
    /// A position that is not finite.
    pub fn pass(&mut self, to: Vec3) -> Result<(), StockError> {
        if !to.is_finite() {
            return Err(StockError::NotFinite { index: 0 });
        }
        let feed = to - self.at;
        if feed.length() <= geom::tolerance::COINCIDENT_MM {
            return Ok(());
        }
        self.recent.push_back((self.at, to));
        self.at = to;
        let mut behind: f64 = self.recent.iter().map(|m| m.0.distance(m.1)).sum();
        while let Some(&(from, end)) = self.recent.front() {
            behind -= from.distance(end);
            if behind < self.lag_mm {
                break;
            }
            self.recent.pop_front();
            self.stock.cut_upright(self.cutter.profile(), &[from, end])?;
        }
        Ok(())
    }

    /// Where the cutter is in the cut at the end of the last move.
    pub fn look(&self) -> Vec<Slice> {
        self.recent.back().map_or_else(Vec::new, |(from, to)| self.slices(*to - *from))
    }

    /// Takes out what the last moves cut.
    ///
    /// # Errors
    /// None that [`Cutting::advance`] has not refused.
    pub fn finish(mut self) -> Result<(), StockError> {
        while let Some((from, to)) = self.recent.pop_front() {
            self.stock.cut_upright(self.cutter.profile(), &[from, to])?;
        }
        Ok(())
    }

    fn slices(&self, feed: Vec3) -> Vec<Slice> {
        let level = Vec3::new(feed.x, feed.y, 0.0);
        let along = level.try_normalize().unwrap_or(Vec3::X);
        let left = Vec3::Z.cross(along);
        let feed = feed.normalize();
        self.rings.slices(|ring, angle| self.cuts(ring, angle, (along, left), feed))
    }

    fn cuts(&self, ring: &Ring, angle: f64, (along, left): (Vec3, Vec3), feed: Vec3) -> bool {
        let (sin, cos) = angle.sin_cos();
        let e = left * cos + along * sin;
        let (s, c) = ring.kappa_rad.sin_cos();
        if (e * s - Vec3::Z * c).dot(feed) <= GRAZES {
            return false;
        }
        let p = self.at + e * ring.radius_mm + Vec3::Z * ring.z_mm;
        if self.stock.fill(p) <= 0.5 {
            return false;
        }
        let body = self.cutter.profile().kernel();
        !self
            .recent
            .iter()
            .any(|&(from, to)| Sweep { body, from, to, axis: Vec3::Z }.distance(p).0 < -SWEPT_MM)
    }
}

/// Intervals of the angle where a condition holds; one that passes over 0 is cut there.
fn arcs(cuts: &dyn Fn(f64) -> bool) -> Vec<(f64, f64)> {
    let step = TAU / ANGLES as f64;
    let mut out = Vec::new();
    let mut open = cuts(0.0).then_some(0.0);
    for i in 1..=ANGLES {
        let angle = step * i as f64;
        match (open, cuts(angle)) {
            (None, true) if i < ANGLES => open = Some(border(cuts, angle, angle - step)),
            (Some(entry), false) => {
                out.push((entry, border(cuts, angle - step, angle)));
                open = None;
            }
            _ => {}
        }
    }
    out.extend(open.map(|entry| (entry, TAU)));
    out.retain(|(a, b)| b - a > 1e-6);
    out
}

fn border(cuts: &dyn Fn(f64) -> bool, mut within: f64, mut without: f64) -> f64 {
    for _ in 0..HALVINGS {
        let middle = 0.5 * (within + without);
        if cuts(middle) { within = middle } else { without = middle }
    }
    within
}
