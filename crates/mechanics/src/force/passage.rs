//! What one tooth cuts of a slice: pieces of its way through the cut with a chip linear in sin φ.
//!
//! A tooth cuts down to where the last tooth before it came that cut there: with runout or chip
//! breakers that need not be its neighbour. `h = min over m of (m fz sin φ + r_j − r_(j−m)) sin κ`; with a
//! feed fa along the axis `− m fa cos κ` is added, and a tooth may cut where sin φ is below 0 as well.

use super::chain::Chain;
use super::ring::Ring;
use super::{ChipBreaker, Cut};
use crate::engagement::Slice;
use material::Coefficients;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// A piece of the way of a tooth: where the chip is one line and the law one line. Of it is cut what
/// lies between entry and exit of the slice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Piece {
    pub(super) from_rad: f64,
    pub(super) to_rad: f64,
    /// Chip over sin φ, mm.
    pub(super) slope_mm: f64,
    /// Chip at sin φ = 0, mm.
    pub(super) base_mm: f64,
    /// The law over the chips of the piece.
    pub(super) law: Coefficients,
}

impl Piece {
    /// The angle of its thickest chip in the middle of the slice; `None` where nothing is cut there.
    pub(super) fn crest_rad(&self, slice: &Slice) -> Option<f64> {
        let from = self.from_rad.max(slice.entry_rad);
        let to = self.to_rad.min(slice.exit_rad);
        // where the sine is largest
        (to > from).then(|| {
            let top = FRAC_PI_2.clamp(from, to);
            if to > PI && to.sin() > top.sin() { to } else { top }
        })
    }

    /// What is cut of it at a place of the slice, −½ at its lower end and ½ at its upper, rad.
    pub(super) fn cut_at(&self, slice: &Slice, place: f64) -> Option<(f64, f64)> {
        let from = self.from_rad.max(slice.entry_rad + place * slice.entry_span_rad);
        let to = self.to_rad.min(slice.exit_rad + place * slice.exit_span_rad);
        (to > from).then_some((from, to))
    }
}

/// Whether the edge is there: not in a groove. Grooves of neighbouring teeth are staggered evenly.
fn cuts(breaker: Option<ChipBreaker>, tooth: usize, teeth: usize, z_mm: f64) -> bool {
    let Some(b) = breaker else { return true };
    let phase = z_mm / b.pitch_mm - tooth as f64 / teeth as f64;
    phase - phase.floor() >= b.groove_share
}

/// The ways of the teeth of a cut through its rings. Its lists are kept from ring to ring.
pub(super) struct Passages<'a> {
    cut: &'a Cut<'a>,
    /// How far out every tooth stands where it does not lag, and what of it turns with the lag, mm.
    throws: Vec<[f64; 2]>,
    radii: Vec<f64>,
    lines: Vec<(f64, f64)>,
    spans: Vec<Span>,
}

impl<'a> Passages<'a> {
    pub(super) fn new(cut: &'a Cut<'a>) -> Self {
        let throw = |tooth: usize| {
            let out = |lag_rad: f64| cut.runout.radius_mm(tooth, cut.teeth, lag_rad);
            [out(0.0), out(FRAC_PI_2)]
        };
        Self {
            cut,
            throws: (0..cut.teeth).map(throw).collect(),
            radii: Vec::new(),
            lines: Vec::new(),
            spans: Vec::new(),
        }
    }

    /// Adds the pieces that a tooth cuts of a ring.
    pub(super) fn pieces(
        &mut self,
        chain: &Chain,
        tooth: usize,
        ring: &Ring,
        out: &mut Vec<Piece>,
    ) {
        self.look(tooth, ring);
        for (low, high, line) in &self.spans {
            for (from, to, law) in chain.split((*low, *high), *line) {
                over(&ring.slice, (from, to, *line), law, out);
            }
        }
    }

    /// Thickest chip that a tooth cuts of a ring, mm.
    pub(super) fn thickest_mm(&mut self, tooth: usize, ring: &Ring) -> f64 {
        self.look(tooth, ring);
        // the chip grows with the sine
        let most = ring.slice.largest_sine();
        let at = |&(low, high, (slope, base)): &Span| {
            if low <= most { slope * high.min(most) + base } else { 0.0 }
        };
        self.spans.iter().map(at).fold(0.0, f64::max)
    }

    /// Fills in the stretches of sin φ over which a tooth cuts a ring, each with its chip.
    fn look(&mut self, tooth: usize, ring: &Ring) {
        let (cut, n, z_mm) = (self.cut, self.cut.teeth, ring.slice.z_mm);
        self.spans.clear();
        if ring.slice.arc_rad() <= 0.0 || !cuts(cut.breaker, tooth, n, z_mm) {
            return;
        }
        let axial_mm = -cut.axial_feed_mm * ring.cos_k;
        if cut.runout.offset_mm == 0.0 && cut.breaker.is_none() && axial_mm == 0.0 {
            // the tooth before is always the last that came
            let slope_mm = cut.feed_per_tooth_mm * ring.sin_k;
            if slope_mm > 0.0 {
                self.spans.push((0.0, 1.0, (slope_mm, 0.0)));
            }
            return;
        }
        let (sin, cos) = (ring.sin_lag, ring.cos_lag);
        self.radii.clear();
        self.radii.extend(self.throws.iter().map(|[out, turned]| out * cos + turned * sin));
        self.lines.clear();
        for m in 1..=n {
            let before = if m > tooth { tooth + n - m } else { tooth - m };
            if cuts(cut.breaker, before, n, z_mm) {
                let slope = m as f64 * cut.feed_per_tooth_mm * ring.sin_k;
                let base = (self.radii[tooth] - self.radii[before]) * ring.sin_k;
                let base = base + m as f64 * axial_mm;
                // under a flat bottom the chip is even: a slope that does not count keeps it a line
                self.lines.push((slope.max(EVEN * axial_mm.abs()), base));
            }
        }
        let least = if axial_mm == 0.0 { 0.0 } else { -1.0 };
        envelope(&self.lines, least, &mut self.spans);
    }
}

/// Slope of a chip that is even, over its thickness.
const EVEN: f64 = 1e-9;

/// A stretch of sin φ with its line.
type Span = (f64, f64, (f64, f64));

/// The least of the lines over sin φ from `least` to 1, where it is above 0. The least of straight lines
/// bends down only: from each the next has a smaller slope.
fn envelope(lines: &[(f64, f64)], least: f64, out: &mut Vec<Span>) {
    let at = |l: &(f64, f64)| l.1 + least * l.0;
    let lowest =
        |a: &&(f64, f64), b: &&(f64, f64)| at(a).total_cmp(&at(b)).then(a.0.total_cmp(&b.0));
    let Some(mut line) = lines.iter().min_by(lowest) else { return };
    let mut low = least;
    loop {
        let crosses = |l: &(f64, f64)| (l.1 - line.1) / (line.0 - l.0);
        let flatter = lines.iter().filter(|l| l.0 < line.0).map(|l| (crosses(l), l));
        let next = flatter.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.0.total_cmp(&b.1.0)));
        let high = next.map_or(1.0, |n| n.0.min(1.0));
        let below = at(line) < 0.0;
        let from = if below { (-line.1 / line.0).max(low) } else { low };
        if from < high && (line.0 > 0.0 || line.1 > 0.0) {
            out.push((from, high, *line));
        }
        match next {
            Some((at, flatter)) if at < 1.0 => (low, line) = (at.max(low), flatter),
            _ => return,
        }
    }
}

/// A stretch of sin φ as angles before and after 90°, as far as the slice's arc reaches.
fn over(slice: &Slice, span: Span, law: Coefficients, out: &mut Vec<Piece>) {
    let (low, high, (slope_mm, base_mm)) = span;
    let earliest = slice.entry_rad - 0.5 * slice.entry_span_rad.abs();
    let latest = slice.exit_rad + 0.5 * slice.exit_span_rad.abs();
    let mut side = |from_rad: f64, to_rad: f64| {
        if to_rad > earliest && from_rad < latest {
            out.push(Piece { from_rad, to_rad, slope_mm, base_mm, law });
        }
    };
    if low < 0.0 {
        // from the deepest sine at 270° both ways
        let (a, b) = (-high.min(0.0), -low);
        let (a, b) = (a.asin(), b.min(1.0).asin());
        if low <= -1.0 {
            side(PI + a, TAU - a);
        } else {
            side(PI + a, PI + b);
            side(TAU - b, TAU - a);
        }
    }
    if high <= 0.0 {
        return;
    }
    let a = if low > 0.0 { low.asin() } else { 0.0 };
    if high >= 1.0 {
        side(a, PI - a);
    } else {
        let b = high.asin();
        side(a, b);
        side(PI - b, PI - a);
    }
}
