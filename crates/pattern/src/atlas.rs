//! The plan of a feature and the lines on its walls side by side on one sheet, so that passes are
//! driven on both alike: each line of the walls is a row of its own beside the plan.

use geom::{Vec2, Vec3};

use crate::chart::{Chart, Spot};
use crate::curve::Curve;
use crate::slice::Slice;
use crate::trim::Piece;

/// Distance of the first row from the plan, and of the rows from each other, chart units.
const APART: f64 = 10.0;

/// A row: stretches of a line at constant height that are cut in one go.
#[derive(Debug, Clone)]
pub(crate) struct Row<'a> {
    pub(crate) slice: Slice<'a>,
    /// Parameter ranges of the line, in order.
    pub(crate) spans: Vec<(f64, f64)>,
    /// How far it goes on past its first and last place, mm.
    pub(crate) beyond_mm: (f64, f64),
    pub(crate) level: usize,
}

impl Row<'_> {
    /// Length of its parameter.
    pub(crate) fn length_mm(&self) -> f64 {
        self.spans.iter().map(|(a, b)| b - a).sum()
    }

    /// The line's parameter at a length along the row.
    fn along(&self, mut t: f64) -> f64 {
        for (from, to) in &self.spans {
            if t <= to - from {
                return from + t;
            }
            t -= to - from;
        }
        self.spans.last().map_or(0.0, |s| s.1)
    }

    /// The place at a length along the row.
    pub(crate) fn spot(&self, q: Vec2) -> Option<Spot> {
        Some(self.slice.at(self.along(q.x))?.spot(q))
    }
}

/// Plan and rows.
pub(crate) struct Atlas<'a> {
    plan: Option<&'a dyn Chart>,
    rows: Vec<Row<'a>>,
    first: f64,
}

impl<'a> Atlas<'a> {
    pub(crate) fn new(plan: Option<&'a dyn Chart>, rows: Vec<Row<'a>>) -> Self {
        let first = plan.map_or(0.0, |p| p.bounds().1.y) + APART;
        Self { plan, rows, first }
    }

    /// The rows as pieces of lines.
    pub(crate) fn pieces(&self) -> Vec<Piece> {
        self.rows
            .iter()
            .enumerate()
            .map(|(k, row)| {
                let length = row.length_mm();
                let from = Vec2::new(0.0, self.first + APART * k as f64);
                let curve = Curve::Straight { from, towards: Vec2::X, length };
                let (from, to) = (-row.beyond_mm.0, length + row.beyond_mm.1);
                Piece { level: row.level, curve, from, to, half: (0.0, 0.0) }
            })
            .collect()
    }

    fn row(&self, q: Vec2) -> Option<&Row<'a>> {
        let k = ((q.y - self.first) / APART).round();
        (k >= 0.0).then(|| self.rows.get(k as usize)).flatten()
    }

    fn on_plan(&self, q: Vec2) -> Option<&'a dyn Chart> {
        self.plan.filter(|_| q.y < self.first - 0.5 * APART)
    }
}

impl Chart for Atlas<'_> {
    fn bounds(&self) -> (Vec2, Vec2) {
        self.plan.map_or((Vec2::ZERO, Vec2::ZERO), Chart::bounds)
    }

    fn covers(&self, q: Vec2) -> bool {
        match self.on_plan(q) {
            Some(plan) => plan.covers(q),
            None => self.row(q).is_some_and(|r| q.x >= 0.0 && q.x <= r.length_mm()),
        }
    }

    fn at(&self, q: Vec2) -> Option<Spot> {
        match self.on_plan(q) {
            Some(plan) => plan.at(q),
            None => self.row(q).filter(|_| self.covers(q))?.spot(q),
        }
    }

    fn corners(&self) -> Vec<Vec2> {
        self.plan.map_or_else(Vec::new, Chart::corners)
    }

    fn area_mm2(&self) -> f64 {
        self.plan.map_or(0.0, Chart::area_mm2)
    }

    fn beyond(&self, near: &Spot, q: Vec2) -> Option<Spot> {
        match self.on_plan(q) {
            Some(plan) => plan.beyond(near, q),
            None => Some(near.continued(q)),
        }
    }
}

/// Lines as rows of points in space, to measure distances to them.
pub(crate) fn polyline(chart: &dyn Chart, piece: &Piece, step_mm: f64) -> Vec<Vec3> {
    let at = |t: f64| chart.at(piece.curve.at(t).0).map(|s| s.site.point);
    let (_, dq) = piece.curve.at(0.5 * (piece.from + piece.to));
    let middle = chart.at(piece.curve.at(0.5 * (piece.from + piece.to)).0);
    let per_unit = middle.map_or(1.0, |s| s.tangent(dq).length()).max(1e-9);
    let n = ((piece.to - piece.from) * per_unit / step_mm).ceil().clamp(4.0, 20_000.0);
    (0..=n as usize)
        .filter_map(|k| at(piece.from + (piece.to - piece.from) * k as f64 / n))
        .collect()
}
