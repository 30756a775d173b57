//! Lines where there is nothing steep: flat tops and saddles are gone round from their own border
//! inwards, and slivers farther than half a step from every line get one along their middle.

use geom::{Site, Vec2, Vec3};
use rayon::prelude::*;

use crate::atlas::polyline;
use crate::chart::{Chart, Spot};
use crate::cover::Lines;
use crate::error::PatternError;
use crate::family::{Family, SLIGHT_STIFFNESS, STIFFNESS, smooth_curve};
use crate::lattice::Lattice;
use crate::lay::spiralled;
use crate::spiral;
use crate::stance::Stance;
use crate::steep::Steep;
use crate::thin::Mask;
use crate::trim::{Piece, pieces};

/// Distance over half a step from which a place counts as left over.
const LEFT: f64 = 1.004;
/// Cells to a step of the grid that looks for them; and most of them over the longer side.
const CELLS_PER_STEP: f64 = 12.0;
const MOST_CELLS: usize = 640;
/// Depth in steps from which what is flat is gone round.
const WIDE: f64 = 0.62;
/// Rounds of slivers.
const ROUNDS: usize = 3;
/// Shortest chain of nodes that is a sliver, and how far its line goes on, cells.
const SHORTEST: usize = 2;
const BEYOND: f64 = 2.0;
/// Nodes round the region.
const MARGIN: usize = 4;

/// Where lines are looked for.
pub(crate) struct Gaps<'a> {
    pub(crate) chart: &'a dyn Chart,
    pub(crate) stance: &'a Stance<'a>,
    /// Whether the cutter can stand at a place.
    pub(crate) stands: &'a (dyn Fn(&Site, Vec3) -> bool + Sync),
    pub(crate) up: Vec3,
    /// What has lines at constant height.
    pub(crate) steep: &'a Steep,
}

/// The places that are not steep, as a chart of their own.
struct Flat<'a> {
    base: &'a dyn Chart,
    steep: &'a Steep,
    bounds: (Vec2, Vec2),
    corners: Vec<Vec2>,
    area_mm2: f64,
}

impl Chart for Flat<'_> {
    fn bounds(&self) -> (Vec2, Vec2) {
        self.bounds
    }
    fn covers(&self, q: Vec2) -> bool {
        self.at(q).is_some()
    }
    fn at(&self, q: Vec2) -> Option<Spot> {
        self.base.at(q).filter(|s| !self.steep.holds(&s.site))
    }
    fn corners(&self) -> Vec<Vec2> {
        self.corners.clone()
    }
    fn area_mm2(&self) -> f64 {
        self.area_mm2
    }
    fn beyond(&self, near: &Spot, q: Vec2) -> Option<Spot> {
        self.base.at(q).or_else(|| self.base.beyond(near, q))
    }
}

impl Gaps<'_> {
    /// Lines besides those at hand, as pieces of the level `level`.
    pub(crate) fn filled(
        &self,
        lines: &mut Vec<Vec<Vec3>>,
        level: usize,
    ) -> Result<Vec<Piece>, PatternError> {
        let step_mm = self.step_mm();
        let longer = Lattice::longer_side_mm(self.chart);
        let cells = (CELLS_PER_STEP * longer / step_mm).clamp(40.0, MOST_CELLS as f64);
        let lattice = Lattice::over(self.chart, cells as usize, MARGIN);
        let standing: Vec<bool> = lattice
            .spots
            .par_iter()
            .zip(&lattice.inside)
            .map(|(spot, inside)| {
                let stands = |s: &Spot| (self.stands)(&s.site, self.forward(s));
                *inside && spot.as_ref().is_some_and(stands)
            })
            .collect();
        let mut out = self.gone_round(&lattice, &standing, lines, level)?;
        for _ in 0..ROUNDS {
            let ratio = self.ratio(&lattice, &standing, lines, step_mm);
            let slivers = self.slivers(&lattice, ratio, level);
            if slivers.is_empty() {
                break;
            }
            self.drawn(&slivers, step_mm, lines);
            out.extend(slivers);
        }
        Ok(out)
    }

    fn drawn(&self, pieces: &[Piece], step_mm: f64, lines: &mut Vec<Vec<Vec3>>) {
        lines.extend(pieces.iter().map(|p| polyline(self.chart, p, 0.25 * step_mm)));
    }

    fn forward(&self, spot: &Spot) -> Vec3 {
        self.up.cross(spot.site.normal).try_normalize().unwrap_or_else(|| spot.da.normalize())
    }

    /// The smallest step allowed at some places.
    fn step_mm(&self) -> f64 {
        let few = Lattice::over(self.chart, 24, 1);
        few.feature()
            .filter_map(|(_, s)| self.stance.allowed_mm(&s.site, self.forward(s)).ok())
            .fold(f64::INFINITY, f64::min)
    }

    /// Distance from the nearest line over half a step; nothing where the cutter does not stand.
    fn ratio(
        &self,
        lattice: &Lattice,
        standing: &[bool],
        lines: &[Vec<Vec3>],
        step_mm: f64,
    ) -> Vec<f64> {
        let near = Lines::new(lines, 1.2 * step_mm);
        (0..lattice.spots.len())
            .into_par_iter()
            .map(|k| {
                let Some(spot) = lattice.spots[k].as_ref().filter(|_| standing[k]) else {
                    return 0.0;
                };
                let nearest = near.nearest(spot.site.point);
                let normal = spot.site.normal;
                let along = nearest
                    .and_then(|n| (n.along - normal * n.along.dot(normal)).try_normalize())
                    .unwrap_or_else(|| self.forward(spot));
                let Ok(allowed) = self.stance.allowed_mm(&spot.site, along) else { return 0.0 };
                2.0 * nearest.map_or(1.2 * step_mm, |n| n.distance_mm) / allowed
            })
            .collect()
    }

    /// Turns from the border of what is flat inwards, where it is wide.
    fn gone_round(
        &self,
        lattice: &Lattice,
        standing: &[bool],
        lines: &mut Vec<Vec<Vec3>>,
        level: usize,
    ) -> Result<Vec<Piece>, PatternError> {
        let step_mm = self.step_mm();
        if !step_mm.is_finite() {
            return Ok(Vec::new());
        }
        let Some(flat) = self.flat(lattice, standing) else { return Ok(Vec::new()) };
        let longer = Lattice::longer_side_mm(&flat);
        let cells = (CELLS_PER_STEP * longer / step_mm).clamp(24.0, 480.0);
        let grid = Lattice::over(&flat, cells as usize, 12);
        let depth = spiral::depth(&flat, &grid, self.stance)?;
        if depth.iter().copied().fold(0.0, f64::max) < WIDE {
            return Ok(Vec::new());
        }
        let family =
            Family::Field { lattice: &grid, values: depth.clone(), stiffness: SLIGHT_STIFFNESS };
        let laid = match spiralled(&flat, &grid, &family, &depth, self.stance) {
            Ok(laid) => laid,
            Err(PatternError::NoPass) => return Ok(Vec::new()),
            Err(e) => return Err(e),
        };
        let mut pieces = laid.pieces;
        pieces.iter_mut().for_each(|p| p.level = level);
        self.drawn(&pieces, step_mm, lines);
        Ok(pieces)
    }

    fn flat<'l>(&'l self, lattice: &'l Lattice, standing: &[bool]) -> Option<Flat<'l>> {
        let flat = |k: usize, s: &Spot| standing[k] && !self.steep.holds(&s.site);
        let nodes = || lattice.feature().filter(|(k, s)| flat(*k, s));
        let corners: Vec<Vec2> = nodes().map(|(k, _)| lattice.place(k)).collect();
        let lo = corners.iter().copied().reduce(Vec2::min)? - lattice.cell;
        let hi = corners.iter().copied().reduce(Vec2::max)? + lattice.cell;
        let area_mm2 = nodes().map(|(_, s)| lattice.node_area_mm2(s)).sum();
        Some(Flat { base: self.chart, steep: self.steep, bounds: (lo, hi), corners, area_mm2 })
    }

    /// Lines along the middle of what is left over.
    fn slivers(&self, lattice: &Lattice, ratio: Vec<f64>, level: usize) -> Vec<Piece> {
        let mut mask = Mask { size: lattice.size, on: ratio.iter().map(|r| *r > LEFT).collect() };
        mask.thin();
        let family = Family::Straight { along: Vec2::X };
        mask.chains()
            .into_iter()
            .filter(|chain| chain.len() > SHORTEST)
            .map(|chain| lengthened(lattice, &chain))
            .filter_map(|line| smooth_curve(lattice, line, STIFFNESS))
            .flat_map(|c| pieces(self.chart, &family, level, &c, (0.0, 0.0), lattice.line_step(&c)))
            .collect()
    }
}

/// A chain of nodes that goes on a little past its ends.
fn lengthened(lattice: &Lattice, chain: &[usize]) -> Vec<Vec2> {
    let mut points: Vec<Vec2> = chain.iter().map(|k| lattice.place(*k)).collect();
    if chain[0] == chain[chain.len() - 1] {
        return points;
    }
    let n = points.len();
    let on = |from: Vec2, to: Vec2| {
        let way = (to - from) / lattice.cell;
        to + way.normalize_or_zero() * lattice.cell * BEYOND
    };
    let (first, last) = (on(points[1], points[0]), on(points[n - 2], points[n - 1]));
    points.insert(0, first);
    points.push(last);
    points
}
