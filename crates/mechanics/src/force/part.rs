//! What one tooth cuts of one ring: when it is in the cut, in part or whole, and its force.

use super::chain::Chain;
use super::harmonic::{Element, Turn, Wave, sin_cos, value};
use super::passage::{Passages, Piece};
use super::ring::Ring;
use super::tally::add;
use super::window::Window;
use std::f64::consts::TAU;

/// One piece of one slice as one tooth cuts it.
pub(super) struct Part {
    /// By width of the slice.
    element: Element,
    /// Where the chip is thickest, and the chip over sin φ and at sin φ = 0, mm.
    crest_rad: Option<f64>,
    line_mm: (f64, f64),
    pub(super) radius_mm: f64,
    pub(super) z_mm: f64,
    width_mm: f64,
    span_rad: f64,
    /// Sine and cosine of the lag.
    lag: (f64, f64),
    /// What must have come.
    after: [Passing; 2],
    /// What must not have come.
    before: [Passing; 2],
}

/// When an angle is passed: where the tip stands as the middle of the slice passes it, and how much
/// that grows over the slice, rad.
#[derive(Clone, Copy)]
struct Passing {
    middle_rad: f64,
    span_rad: f64,
}

impl Passing {
    fn first_rad(&self) -> f64 {
        self.middle_rad - 0.5 * self.span_rad.abs()
    }

    fn last_rad(&self) -> f64 {
        self.middle_rad + 0.5 * self.span_rad.abs()
    }

    /// Keeps of the places of a slice those that have passed, or those that have not.
    fn keep(&self, angle_rad: f64, passed: bool, (from, to): (f64, f64)) -> (f64, f64) {
        let ahead = angle_rad - self.middle_rad;
        if self.span_rad.abs() < SPAN_RAD {
            let stays = if passed { ahead >= -ON_THE_EDGE_RAD } else { ahead <= ON_THE_EDGE_RAD };
            return if stays { (from, to) } else { (0.0, 0.0) };
        }
        let place = ahead / self.span_rad;
        if passed == (self.span_rad > 0.0) { (from, to.min(place)) } else { (from.max(place), to) }
    }
}

impl Part {
    fn new(piece: &Piece, ring: &Ring) -> Self {
        let (slice, lag_rad, span_rad) = (&ring.slice, ring.lag_rad, ring.lag_span_rad);
        let passing = |angle: f64, span: f64| Passing {
            middle_rad: angle + lag_rad,
            span_rad: span + span_rad,
        };
        Self {
            element: Element::new(&piece.law, ring, piece.slope_mm, piece.base_mm),
            crest_rad: piece.crest_rad(slice),
            line_mm: (piece.slope_mm, piece.base_mm),
            radius_mm: slice.radius_mm,
            z_mm: slice.z_mm,
            width_mm: slice.width_mm,
            span_rad,
            lag: (ring.sin_lag, ring.cos_lag),
            after: [passing(piece.from_rad, 0.0), passing(slice.entry_rad, slice.entry_span_rad)],
            before: [passing(piece.to_rad, 0.0), passing(slice.exit_rad, slice.exit_span_rad)],
        }
    }

    /// Thickest chip, mm.
    pub(super) fn chip_mm(&self) -> f64 {
        self.crest_rad.map_or(0.0, |angle| self.line_mm.0 * angle.sin() + self.line_mm.1)
    }

    /// Force where the tooth's tip stands at `angle_rad`, whatever the turn.
    pub(super) fn at(&self, angle_rad: f64) -> [f64; 4] {
        let open = self.open();
        let least = ((open.from_rad - ON_THE_EDGE_RAD - angle_rad) / TAU).ceil() as i64;
        let most = ((open.to_rad + ON_THE_EDGE_RAD - angle_rad) / TAU).floor() as i64;
        let mut sum = [0.0; 4];
        let stands = Turn::of(angle_rad);
        for turn in least..=most {
            add(&mut sum, self.in_turn(angle_rad + TAU * turn as f64, &stands));
        }
        sum
    }

    /// Angles of the tip between which some of the part is in the cut; the wrong way round where none
    /// ever is.
    pub(super) fn open(&self) -> Window {
        let [a, b] = self.after.map(|p| p.first_rad());
        let [c, d] = self.before.map(|p| p.last_rad());
        Window { from_rad: a.max(b), to_rad: c.min(d) }
    }

    /// Angles of the tip between which all of it is; the wrong way round where not all ever is.
    pub(super) fn whole(&self) -> Window {
        let [a, b] = self.after.map(|p| p.last_rad());
        let [c, d] = self.before.map(|p| p.first_rad());
        Window { from_rad: a.max(b), to_rad: c.min(d) }
    }

    /// Angles of the tip at which the force bends or jumps.
    pub(super) fn corners(&self) -> [f64; 8] {
        let [a, b] = self.after;
        let [c, d] = self.before;
        let [e, f, g, h] = [a, b, c, d].map(|p| p.first_rad());
        let [i, j, k, l] = [a, b, c, d].map(|p| p.last_rad());
        [e, f, g, h, i, j, k, l]
    }

    /// The places of the slice that cut as the tip stands at an angle, in the turn in which the part
    /// passes the cut.
    fn places(&self, angle_rad: f64) -> Option<(f64, f64)> {
        let mut places = (-0.5, 0.5);
        for p in &self.after {
            places = p.keep(angle_rad, true, places);
        }
        for p in &self.before {
            places = p.keep(angle_rad, false, places);
        }
        (places.1 > places.0).then_some(places)
    }

    /// The force in that turn.
    pub(super) fn in_turn(&self, angle_rad: f64, turn: &Turn) -> [f64; 4] {
        let Some((from, to)) = self.places(angle_rad) else { return [0.0; 4] };
        let (s, c) = sin_cos(0.5 * (from + to) * self.span_rad);
        let (sin, cos) = self.lag;
        let lag = (sin * c + cos * s, cos * c - sin * s);
        value(
            &self.element.wave(self.width_mm * (to - from), lag, self.span_rad * (to - from)),
            turn,
        )
    }

    /// The harmonics as long as all of it is in the cut, where the tip stands ahead by an angle with
    /// this sine and cosine.
    pub(super) fn wave(&self, (s, c): (f64, f64)) -> Wave {
        let (sin, cos) = self.lag;
        self.element.wave(self.width_mm, (sin * c + cos * s, cos * c - sin * s), self.span_rad)
    }
}

/// The parts that a tooth cuts.
pub(super) fn parts(
    passages: &mut Passages<'_>,
    chain: &Chain,
    rings: &[Ring],
    tooth: usize,
) -> Vec<Part> {
    let mut pieces = Vec::new();
    let mut out = Vec::with_capacity(2 * rings.len());
    for ring in rings {
        pieces.clear();
        passages.pieces(chain, tooth, ring, &mut pieces);
        out.extend(pieces.iter().map(|p| Part::new(p, ring)));
    }
    out
}

/// A lag this small over a slice is none, rad.
const SPAN_RAD: f64 = 1e-9;
/// Rounding at entry and exit of an edge without lag, rad.
pub(super) const ON_THE_EDGE_RAD: f64 = 1e-9;
