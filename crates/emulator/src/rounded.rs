//! Corners rounded within a tolerance by curves without a jump of curvature, run with limited jerk.
//!
//! A corner becomes a curve of fifth degree whose control points lie on the two tangents, so that its
//! curvature is zero at both ends. With the trim l its middle lies 3/16 l |t₁ − t₀| off the corner
//! (derived: the weights 1, 5, 10, 10, 5, 1 over 32).

use crate::course::{end_tangents, must_stop};
use crate::drive::Prepared;
use crate::jerk::Braking;
use crate::legs::{Chain, Leg, Q, combine, linear};
use crate::limits::{Heed, Limits};
use crate::shaper::Averages;
use crate::span::{Course, Span};
use crate::{AxisHidden, Hidden};

/// Parameters of the family.
#[derive(Debug, Clone, PartialEq)]
pub struct Rounded {
    /// How far a corner may be rounded, mm.
    pub tolerance_mm: f64,
    /// How far the rotary axes may be rounded, rad.
    pub tolerance_rad: f64,
    /// Corners above this angle are exact stops, rad.
    pub stop_angle_rad: f64,
    /// Length of the moving average of each axis behind the interpolation, s; a corner over which
    /// it keeps the axes' limits by itself is not slowed further.
    pub filter_s: f64,
}

const CELLS: usize = 16;
/// Middle of a blend off its corner, over trim and change of the tangent.
const MIDDLE: f64 = 3.0 / 16.0;
/// Tangents closer than this need no blend.
const SMOOTH: f64 = 1e-6;

/// A rounded corner: control points and the parameter at even parts of it by length.
#[derive(Debug, Clone)]
struct Blend {
    points: [Q; 6],
    /// Length up to each node of the parameter, and the derivative of the parameter there.
    nodes: Vec<[f64; 2]>,
}

/// Size of a derivative in the unit of the leg's length.
fn size(q: &Q, only_turns: bool) -> f64 {
    if only_turns { q[3].hypot(q[4]).to_degrees() } else { linear(q).length() }
}

impl Blend {
    fn new(before: &Leg, after: &Leg, trim: f64) -> Self {
        let cut = before.length - trim;
        let (start, end) = (before.at(cut), after.at(trim));
        let (out, into) = (before.tangent(cut), after.tangent(trim));
        let ahead = |f: f64| combine(&start, &out, |p, t| p + f * trim * t);
        let back = |f: f64| combine(&end, &into, |p, t| p - f * trim * t);
        let points = [start, ahead(0.4), ahead(0.8), back(0.8), back(0.4), end];
        let only_turns = before.only_turns;
        let mut blend = Self { points, nodes: Vec::with_capacity(CELLS + 1) };
        let mut length = 0.0;
        let cell = 1.0 / CELLS as f64;
        for k in 0..=CELLS {
            let u = cell * k as f64;
            let speed = |u: f64| size(&blend.slope(u), only_turns).max(1e-12);
            if k > 0 {
                let inner = [0.25, 0.5, 0.75].map(|f| speed(u - cell + f * cell));
                let ends = speed(u - cell) + speed(u);
                let four = 4.0 * (inner[0] + inner[2]) + 2.0 * inner[1];
                length += cell / 12.0 * (ends + four);
            }
            let derivative = 1.0 / speed(u);
            blend.nodes.push([length, derivative]);
        }
        blend
    }

    fn length(&self) -> f64 {
        self.nodes[CELLS][0]
    }

    fn at(&self, u: f64) -> Q {
        let v = 1.0 - u;
        let (u2, v2) = (u * u, v * v);
        let weights = [
            v2 * v2 * v,
            5.0 * v2 * v2 * u,
            10.0 * v2 * v * u2,
            10.0 * v2 * u2 * u,
            5.0 * v * u2 * u2,
            u2 * u2 * u,
        ];
        std::array::from_fn(|i| (0..6).map(|k| weights[k] * self.points[k][i]).sum())
    }

    fn slope(&self, u: f64) -> Q {
        let v = 1.0 - u;
        let (u2, v2) = (u * u, v * v);
        let weights = [v2 * v2, 4.0 * v2 * v * u, 6.0 * v2 * u2, 4.0 * v * u2 * u, u2 * u2];
        std::array::from_fn(|i| {
            let step = |k: usize| self.points[k + 1][i] - self.points[k][i];
            5.0 * (0..5).map(|k| weights[k] * step(k)).sum::<f64>()
        })
    }

    /// Program coordinates at length `s`: the parameter by a cubic through the nodes.
    fn along(&self, s: f64) -> Q {
        let cell = self.nodes.partition_point(|[length, _]| *length <= s).clamp(1, CELLS);
        let ([a, slope_a], [b, slope_b]) = (self.nodes[cell - 1], self.nodes[cell]);
        let (h, f) = (b - a, ((s - a) / (b - a)).clamp(0.0, 1.0));
        let (f2, f3) = (f * f, f * f * f);
        let rise = (3.0 * f2 - 2.0 * f3) / CELLS as f64;
        let bend = h * (slope_a * (f3 - 2.0 * f2 + f) + slope_b * (f3 - f2));
        self.at((cell - 1) as f64 / CELLS as f64 + rise + bend)
    }
}

/// Length cut off both legs at a corner; `None`: the axes stop there; zero: there is no corner.
fn trim(family: &Rounded, before: &Leg, after: &Leg) -> Option<f64> {
    if before.frame != after.frame || before.angle_to(after) > family.stop_angle_rad {
        return None;
    }
    let change = combine(&after.tangent(0.0), &before.tangent(before.length), |a, b| a - b);
    let turn = change[3].hypot(change[4]);
    let bend = linear(&change).length();
    if bend < SMOOTH && turn < SMOOTH {
        return Some(0.0);
    }
    let by_tip = family.tolerance_mm / (MIDDLE * bend).max(1e-12);
    let by_turn = family.tolerance_rad / (MIDDLE * turn).max(1e-12);
    let legs = 0.5 * before.length.min(after.length);
    let arcs = 0.25 * before.radius().min(after.radius());
    let mut trim = by_tip.min(by_turn).min(legs).min(arcs);
    let corner = linear(&before.to);
    let middle = |trim: f64| linear(&Blend::new(before, after, trim).at(0.5));
    while !before.only_turns && middle(trim).distance(corner) > family.tolerance_mm * (1.0 + 1e-6) {
        trim *= 0.8;
    }
    Some(trim)
}

#[derive(Debug, Clone, Copy)]
enum Piece {
    Leg { leg: usize, start: f64 },
    Blend { blend: usize, start: f64 },
}

struct Round<'a> {
    chain: Chain<'a>,
    legs: &'a [Leg],
    pieces: Vec<Piece>,
    blends: Vec<(usize, Blend)>,
}

impl Course for Round<'_> {
    fn joints(&self, span: usize, s: f64) -> Q {
        match self.pieces[span.min(self.pieces.len() - 1)] {
            Piece::Leg { leg, start } => {
                let leg = &self.legs[leg];
                self.chain.joints(leg.frame, &leg.at((start + s).min(leg.length)))
            }
            Piece::Blend { blend, start } => {
                let (leg, blend) = &self.blends[blend];
                self.chain.joints(self.legs[*leg].frame, &blend.along(start + s))
            }
        }
    }
}

fn span(leg: &Leg, index: usize, length: f64, limits: &Limits) -> Span {
    Span {
        length,
        cap: leg.feed.min(limits.speed),
        accel: limits.accel,
        jerk: limits.jerk,
        exit: f64::INFINITY,
        leg: index,
        ends: None,
        rapid: leg.rapid,
    }
}

pub(crate) fn prepare<'a>(hidden: &'a Hidden, family: &Rounded, legs: &'a [Leg]) -> Prepared<'a> {
    let chain = Chain::of(hidden);
    let mut course = Round { chain, legs, pieces: Vec::new(), blends: Vec::new() };
    let mut spans = Vec::new();
    let mut cut = 0.0;
    for (k, leg) in legs.iter().enumerate() {
        let next = legs.get(k + 1);
        let corner = match next {
            Some(next) if !must_stop(leg, Some(next), hidden.rapid_stops) => {
                trim(family, leg, next)
            }
            _ => None,
        };
        let cut_after = corner.unwrap_or(0.0);
        let heed = Heed { axes: &hidden.axes, rapid: leg.rapid, bends: true, jerk: true };
        let length = (leg.length - cut - cut_after).max(0.0);
        let limits = heed.along(
            |s| chain.joints(leg.frame, &leg.at(cut + s)),
            length.max(1e-9),
            leg.parts(),
        );
        let mut middle = span(leg, k, length, &limits);
        middle.exit = if corner.is_none() { 0.0 } else { f64::INFINITY };
        middle.ends = (cut_after == 0.0).then_some(k);
        spans.push(middle);
        course.pieces.push(Piece::Leg { leg: k, start: cut });
        if let (Some(next), true) = (next, cut_after > 0.0) {
            let blend = Blend::new(leg, next, cut_after);
            let smoothed = smoothed_speed(hidden, family, &chain, leg, next);
            round(&mut course, &mut spans, k, next, blend, &heed, smoothed);
        }
        cut = cut_after;
    }
    let times = [[family.filter_s; 5]];
    Prepared {
        spans,
        course: Box::new(course),
        generator: Box::new(Braking::default()),
        shaper: Box::new(Averages::new(&times, &times, hidden.sample_s)),
    }
}

/// Speed at which the average over time alone turns the corner within half of each axis'
/// acceleration and a quarter of its jerk over that time.
fn smoothed_speed(
    hidden: &Hidden,
    family: &Rounded,
    chain: &Chain<'_>,
    leg: &Leg,
    next: &Leg,
) -> f64 {
    let [_, out] = end_tangents(chain, leg);
    let [into, _] = end_tangents(chain, next);
    let time = family.filter_s;
    let step = |axis: &AxisHidden| (0.5 * axis.accel * time).min(0.25 * axis.jerk * time * time);
    let speeds = hidden.axes.iter().enumerate().map(|(i, axis)| {
        let change = (into[i] - out[i]).abs().max(1e-12);
        step(axis) / change
    });
    speeds.fold(f64::INFINITY, f64::min)
}

/// Adds a blend after leg `k`, in two halves: the leg is done in its middle.
fn round(
    course: &mut Round<'_>,
    spans: &mut Vec<Span>,
    k: usize,
    next: &Leg,
    blend: Blend,
    heed: &Heed<'_>,
    smoothed: f64,
) {
    let leg = &course.legs[k];
    let heed = Heed { rapid: leg.rapid && next.rapid, ..*heed };
    let whole = blend.length();
    let limits = {
        let curve = |s: f64| course.chain.joints(leg.frame, &blend.along(s));
        heed.along(curve, whole, CELLS)
    };
    let ends = spans.last().map_or(f64::INFINITY, |before| before.cap);
    let index = course.blends.len();
    course.blends.push((k, blend));
    for part in 0..2 {
        let mut half = span(leg, k + 1, 0.5 * whole, &limits);
        half.cap = leg.feed.min(next.feed).min(limits.speed.max(smoothed.min(ends)));
        half.ends = (part == 0).then_some(k);
        half.rapid = heed.rapid;
        spans.push(half);
        course.pieces.push(Piece::Blend { blend: index, start: 0.5 * whole * part as f64 });
    }
}
