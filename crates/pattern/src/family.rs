//! Families of lines: the levels of a function on the chart.

use geom::{Vec2, Vec3};

use crate::chart::{Chart, Spot};
use crate::contour;
use crate::curve::Curve;
use crate::lattice::Lattice;
use crate::spline::{Spline, resampled, smoothed};

/// Stiffness of the smoothing that takes the grid's jitter out of contours, and out of those whose
/// corners are to stay.
pub(crate) const STIFFNESS: f64 = 4.0;
pub(crate) const SLIGHT_STIFFNESS: f64 = 0.5;
/// Fewest points of a line: a small ring stays round.
const FEWEST: f64 = 12.0;
/// Spacing of the points of a line whose corners are to stay, cells.
const CORNER_SPACING: f64 = 0.6;

/// A function whose levels are the lines.
pub(crate) enum Family<'a> {
    /// Straight on the chart; the function is the distance along `across`, chart units.
    Straight {
        /// Unit direction of the lines.
        along: Vec2,
    },
    /// Levels of a nodal field.
    Field {
        /// The grid.
        lattice: &'a Lattice,
        /// Value at each node.
        values: Vec<f64>,
        /// Stiffness of the lines.
        stiffness: f64,
    },
}

impl Family<'_> {
    /// Value of the function.
    pub(crate) fn value(&self, q: Vec2) -> f64 {
        match self {
            Family::Straight { along } => along.perp().dot(q),
            Family::Field { lattice, values, .. } => lattice.value(values, q),
        }
    }

    /// Its chart gradient.
    pub(crate) fn gradient(&self, q: Vec2) -> Vec2 {
        match self {
            Family::Straight { along } => along.perp(),
            Family::Field { lattice, values, .. } => {
                let d = lattice.cell * 0.25;
                let f = |dx: f64, dy: f64| lattice.value(values, q + Vec2::new(dx, dy));
                Vec2::new(
                    (f(d.x, 0.0) - f(-d.x, 0.0)) / (2.0 * d.x),
                    (f(0.0, d.y) - f(0.0, -d.y)) / (2.0 * d.y),
                )
            }
        }
    }

    /// Range of the function over the feature.
    pub(crate) fn range(&self, chart: &dyn Chart) -> (f64, f64) {
        chart
            .corners()
            .into_iter()
            .map(|q| self.value(q))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), v| (lo.min(v), hi.max(v)))
    }

    /// Lines at a level, reaching past the feature.
    pub(crate) fn lines(&self, chart: &dyn Chart, level: f64) -> Vec<Curve> {
        match self {
            Family::Straight { along } => {
                let (lo, hi) = chart.bounds();
                let centre = 0.5 * (lo + hi);
                let half = 0.5 * (hi - lo).length();
                let foot = along.perp() * level + *along * centre.dot(*along);
                vec![Curve::Straight {
                    from: foot - *along * (1.2 * half),
                    towards: *along,
                    length: 2.4 * half,
                }]
            }
            Family::Field { lattice, values, stiffness } => contour::trace(lattice, values, level)
                .into_iter()
                .filter_map(|line| smooth_curve(lattice, line, *stiffness))
                .collect(),
        }
    }
}

/// A twice differentiable curve through a traced contour, about a cell between its points.
pub(crate) fn smooth_curve(lattice: &Lattice, line: Vec<Vec2>, stiffness: f64) -> Option<Curve> {
    let scale = lattice.cell;
    let spacing = if stiffness < STIFFNESS { CORNER_SPACING } else { 1.0 };
    let units: Vec<Vec2> = line.iter().map(|q| *q / scale).collect();
    let total: f64 = units.windows(2).map(|w| w[0].distance(w[1])).sum();
    let even = smoothed(&resampled(&units, spacing.min(total / FEWEST)), stiffness);
    Spline::through(even.into_iter().map(|q| q * scale).collect()).map(Curve::Smooth)
}

/// Forward direction on the surface of the line through a spot: the function grows to its left.
pub(crate) fn forward(spot: &Spot, gradient: Vec2) -> Option<Vec3> {
    let (c, _) = spot.ascent(gradient)?;
    let up = spot.tangent(c);
    let f = up.cross(spot.site.normal);
    (f.length() > 0.0).then(|| f.normalize())
}
