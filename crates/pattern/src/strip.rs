//! What lies between two neighbouring lines: spacing along the surface, step allowed, cusp.

use geom::{Vec2, Vec3};
use rayon::prelude::*;

use crate::chart::{Chart, Spot};
use crate::stance::Stance;
use crate::trim::Piece;

/// One measurement across a strip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StripSample {
    /// Middle of the strip, on the surface, mm.
    pub point: Vec3,
    /// The same on the chart.
    pub q: Vec2,
    /// Spacing of the two contact lines along the surface, mm.
    pub spacing_mm: f64,
    /// Step allowed there, mm; `None` where the cutter does not stand there.
    pub allowed_mm: Option<f64>,
    /// Cusp that the formula gives there, mm; `None` where neighbouring arcs do not meet.
    pub cusp_mm: Option<f64>,
}

/// All measurements, strip by strip from line 0 to the last.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Strips {
    /// Samples of the strip between lines `i` and `i + 1`.
    pub strips: Vec<Vec<StripSample>>,
}

impl Strips {
    /// Every sample.
    pub fn samples(&self) -> impl Iterator<Item = &StripSample> {
        self.strips.iter().flatten()
    }

    /// Drops the samples at places that other lines cover.
    pub(crate) fn drop_where(&mut self, covered: impl Fn(Vec2) -> bool) {
        for strip in &mut self.strips {
            strip.retain(|s| !covered(s.q));
        }
    }

    /// Widest spacing over what is allowed, strip by strip; 1 where nothing was measured.
    pub(crate) fn ratios(&self) -> Vec<f64> {
        let widest = |strip: &Vec<StripSample>| {
            strip
                .iter()
                .filter_map(|s| s.allowed_mm.map(|a| s.spacing_mm / a))
                .fold(0.0_f64, f64::max)
        };
        self.strips.iter().map(widest).map(|r| if r > 0.0 { r } else { 1.0 }).collect()
    }
}

/// A line as dense chart points with the surface there.
struct Dense {
    points: Vec<(Vec2, Option<Spot>, Vec2)>,
}

/// Measures every strip at about `step_mm` along its lines.
pub(crate) fn measure(
    chart: &dyn Chart,
    stance: &Stance<'_>,
    pieces: &[Piece],
    lines: usize,
    step_mm: f64,
) -> Strips {
    let dense: Vec<(usize, Dense)> =
        pieces.par_iter().map(|p| (p.level, Dense::of(chart, p, step_mm))).collect();
    let mut by_level: Vec<Vec<&Dense>> = vec![Vec::new(); lines];
    for (level, d) in &dense {
        by_level[*level].push(d);
    }
    let strips = (0..lines.saturating_sub(1))
        .into_par_iter()
        .map(|i| strip(chart, stance, &by_level[i], &by_level[i + 1]))
        .collect();
    Strips { strips }
}

impl Dense {
    fn of(chart: &dyn Chart, piece: &Piece, step_mm: f64) -> Self {
        let at = |t: f64| {
            let (q, dq) = piece.curve.at(t);
            (q, chart.at(q), dq)
        };
        let scale = at(0.5 * (piece.from + piece.to));
        let per_unit = scale.1.map_or(1.0, |s| s.tangent(scale.2).length());
        let n = ((piece.to - piece.from) * per_unit / step_mm).ceil().clamp(4.0, 4000.0);
        let t = |k: f64| piece.from + (piece.to - piece.from) * k / n;
        Self { points: (0..=n as usize).map(|k| at(t(k as f64))).collect() }
    }
}

fn strip(
    chart: &dyn Chart,
    stance: &Stance<'_>,
    line: &[&Dense],
    next: &[&Dense],
) -> Vec<StripSample> {
    line.iter()
        .flat_map(|d| &d.points)
        .filter_map(|(_, spot, dq)| {
            let spot = spot.as_ref()?;
            let foot = nearest(spot, next)?;
            sample(chart, stance, spot, *dq, foot)
        })
        .collect()
}

/// Foot on the next line in the plane across the feed, by the metric at the spot; `None` where the
/// nearest point is an end of a line.
fn nearest(spot: &Spot, next: &[&Dense]) -> Option<Vec2> {
    let metric = spot.first_form();
    let inner = |a: Vec2, b: Vec2| {
        a.x * b.x * metric.xx + (a.x * b.y + a.y * b.x) * metric.xy + a.y * b.y * metric.yy
    };
    let mut best: Option<(f64, Option<Vec2>)> = None;
    for dense in next {
        let count = dense.points.len();
        for (k, w) in dense.points.windows(2).enumerate() {
            let (a, b) = (w[0].0 - spot.q, w[1].0 - spot.q);
            let along = b - a;
            let f = -inner(a, along) / inner(along, along);
            if f.is_nan() {
                continue;
            }
            let past_end = (k == 0 && f < 0.0) || (k + 2 == count && f > 1.0);
            // between the chords a smooth line bulges: a cubic through the points' directions
            let foot = hermite(w[0], w[1], f.clamp(0.0, 1.0)) - spot.q;
            let square = inner(foot, foot);
            if best.is_none_or(|(known, _)| square < known) {
                best = Some((square, (!past_end).then_some(spot.q + foot)));
            }
        }
    }
    best.and_then(|(_, q)| q)
}

fn hermite(a: (Vec2, Option<Spot>, Vec2), b: (Vec2, Option<Spot>, Vec2), f: f64) -> Vec2 {
    let chord = b.0 - a.0;
    let reach = chord.length();
    let (da, db) = (a.2.normalize_or_zero() * reach, b.2.normalize_or_zero() * reach);
    let (g, h) = (1.0 - f, f);
    a.0 * (g * g * (1.0 + 2.0 * h)) + da * (g * g * h) + b.0 * (h * h * (3.0 - 2.0 * h))
        - db * (h * h * g)
}

fn sample(
    chart: &dyn Chart,
    stance: &Stance<'_>,
    spot: &Spot,
    dq: Vec2,
    foot: Vec2,
) -> Option<StripSample> {
    let other = chart.at(foot)?;
    let middle = chart.at(0.5 * (spot.q + foot))?;
    let across = other.site.point - spot.site.point;
    let chord = across.length();
    let bend = middle.site.curvature.along(flattened(across, middle.site.normal)?);
    let spacing_mm = chord * (1.0 + (bend * chord).powi(2) / 24.0);
    let forward = flattened(middle.tangent(dq), middle.site.normal)?;
    Some(StripSample {
        point: middle.site.point,
        q: middle.q,
        spacing_mm,
        allowed_mm: stance.allowed_mm(&middle.site, forward).ok(),
        cusp_mm: stance.cusp_mm(&middle.site, forward, spacing_mm),
    })
}

fn flattened(v: Vec3, normal: Vec3) -> Option<Vec3> {
    let flat = v - normal * v.dot(normal);
    (flat.length() > 0.0).then(|| flat.normalize())
}
