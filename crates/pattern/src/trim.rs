//! The pieces of a line that lie on the feature, so long that the strip round it is covered.

use geom::Vec2;

use crate::chart::{Chart, Spot};
use crate::curve::Curve;
use crate::family::Family;
use crate::layout::aside;

/// A piece of a line.
#[derive(Debug, Clone)]
pub(crate) struct Piece {
    /// Number of the level.
    pub(crate) level: usize,
    /// The line that it is a piece of.
    pub(crate) curve: Curve,
    /// Parameter range.
    pub(crate) from: f64,
    /// End of the range.
    pub(crate) to: f64,
    /// Half the strip below and above, in units of the family's function.
    pub(crate) half: (f64, f64),
}

/// Places across the strip that are asked for the feature, as shares of its halves.
const ACROSS: [f64; 4] = [0.5, -0.5, 1.0, -1.0];
/// Places along a piece, from one end to the other, where its strip is looked for on the feature.
const BESIDE: f64 = 256.0;
/// How exactly the ends of a piece are found, chart units.
const END: f64 = 1e-5;
/// How far the outermost places keep from the neighbouring strip.
const WITHIN: f64 = 0.999;

impl Piece {
    /// Chart points across the strip at `q`: the line's own first.
    fn across<'a>(
        family: &'a Family<'_>,
        half: (f64, f64),
        q: Vec2,
    ) -> impl Iterator<Item = Vec2> + 'a {
        let others = ACROSS.into_iter().map(move |share| {
            let rise = share * WITHIN * if share > 0.0 { half.1 } else { half.0 };
            q + aside(family, q, rise)
        });
        std::iter::once(q).chain(others)
    }

    /// The surface at a parameter, continued past the border where only the strip's sides lie on
    /// the feature.
    pub(crate) fn spot(&self, chart: &dyn Chart, family: &Family<'_>, t: f64) -> Option<Spot> {
        let (q, _) = self.curve.at(t);
        if let Some(spot) = chart.at(q) {
            return Some(spot);
        }
        let strip = |t: f64| {
            let q = self.curve.at(t).0;
            Self::across(family, self.half, q)
                .filter_map(|side| chart.at(side))
                .min_by(|a, b| a.q.distance_squared(q).total_cmp(&b.q.distance_squared(q)))
        };
        // where the strip only just touches the feature it may miss it between two places that hit
        let beside = || {
            let step = (self.to - self.from) / BESIDE;
            let ways = (1..=BESIDE as usize).flat_map(|k| [k as f64, -(k as f64)]);
            let near = ways.map(|k| t + k * step).filter(|t| (self.from..=self.to).contains(t));
            near.into_iter().find_map(strip)
        };
        self.along_line(chart, t)
            .or_else(|| strip(t))
            .or_else(beside)
            .and_then(|near| chart.beyond(&near, q))
    }

    /// The stretch that lies on the feature itself, from the first to the last place of the line on
    /// it; `None` where only the strip's sides do.
    pub(crate) fn within(&self, chart: &dyn Chart) -> Option<Self> {
        const PLACES: usize = 512;
        let t = |k: usize| self.from + (self.to - self.from) * k as f64 / PLACES as f64;
        let on = |t: f64| chart.covers(self.curve.at(t).0);
        let first = (0..=PLACES).find(|k| on(t(*k)))?;
        let last = (0..=PLACES).rev().find(|k| on(t(*k)))?;
        let from = if first == 0 { self.from } else { border(&on, t(first), t(first - 1)) };
        let to = if last == PLACES { self.to } else { border(&on, t(last), t(last + 1)) };
        (to - from > END).then(|| Self { from, to, ..self.clone() })
    }

    /// The nearest spot of the feature on the line itself, towards the middle of the piece.
    fn along_line(&self, chart: &dyn Chart, t: f64) -> Option<Spot> {
        const STEPS: usize = 64;
        let middle = 0.5 * (self.from + self.to);
        let at = |f: f64| self.curve.at(t + (middle - t) * f).0;
        let inside = (1..=STEPS).find(|k| chart.covers(at(*k as f64 / STEPS as f64)))?;
        let (mut out, mut into) =
            ((inside - 1) as f64 / STEPS as f64, inside as f64 / STEPS as f64);
        for _ in 0..20 {
            let f = 0.5 * (out + into);
            if chart.covers(at(f)) { into = f } else { out = f }
        }
        chart.at(at(into))
    }
}

/// Pieces of one line, in order along it.
pub(crate) fn pieces(
    chart: &dyn Chart,
    family: &Family<'_>,
    level: usize,
    curve: &Curve,
    half: (f64, f64),
    step: f64,
) -> Vec<Piece> {
    let covered = |t: f64| {
        let q = curve.at(t).0;
        Piece::across(family, half, q).any(|p| chart.covers(p))
    };
    let n = (curve.end() / step).ceil().max(1.0) as usize;
    let t = |k: usize| curve.end() * k as f64 / n as f64;
    let mut out: Vec<Piece> = Vec::new();
    let mut open: Option<f64> = None;
    let mut before = false;
    for k in 0..=n {
        let now = covered(t(k));
        if now && !before {
            open = Some(if k == 0 { 0.0 } else { border(&covered, t(k), t(k - 1)) });
        } else if !now
            && before
            && let Some(from) = open.take()
        {
            let to = border(&covered, t(k - 1), t(k));
            out.push(Piece { level, curve: curve.clone(), from, to, half });
        }
        before = now;
    }
    if let Some(from) = open {
        out.push(Piece { level, curve: curve.clone(), from, to: curve.end(), half });
    }
    out.retain(|p| p.to - p.from > END);
    out
}

/// Last covered parameter between a covered one and one that is not.
fn border(covered: &impl Fn(f64) -> bool, inside: f64, outside: f64) -> f64 {
    let (mut into, mut out) = (inside, outside);
    while (into - out).abs() > END {
        let middle = 0.5 * (into + out);
        if covered(middle) { into = middle } else { out = middle }
    }
    into
}
