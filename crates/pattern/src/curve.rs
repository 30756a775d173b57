//! Curves on the chart along which passes run.

use geom::Vec2;

use crate::spline::Spline;

/// A curve on the chart.
#[derive(Debug, Clone)]
pub(crate) enum Curve {
    /// From a point in a direction; the parameter counts chart units.
    Straight {
        /// Where the parameter is 0.
        from: Vec2,
        /// Unit direction on the chart.
        towards: Vec2,
        /// Largest parameter.
        length: f64,
    },
    /// A smooth curve through points.
    Smooth(Spline),
}

impl Curve {
    /// Largest parameter; the smallest is 0.
    pub(crate) fn end(&self) -> f64 {
        match self {
            Curve::Straight { length, .. } => *length,
            Curve::Smooth(s) => s.end(),
        }
    }

    /// Chart point and its derivative.
    pub(crate) fn at(&self, t: f64) -> (Vec2, Vec2) {
        match self {
            Curve::Straight { from, towards, .. } => (*from + *towards * t, *towards),
            Curve::Smooth(s) => s.at(t),
        }
    }
}
