//! What one tooth cuts of a slice: pieces of its way through the cut with a chip linear in sin φ.
//!
//! A tooth cuts down to where the last tooth before it came that cut there: with runout or chip
//! breakers that need not be its neighbour. `h = min over m of (m fz sin φ + r_j − r_(j−m)) sin κ`.

use super::chain::Chain;
use super::{ChipBreaker, Cut};
use crate::engagement::Slice;
use material::Coefficients;
use std::f64::consts::{FRAC_PI_2, PI};

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
    /// Thickest chip of it in the middle of the slice, mm.
    pub(super) fn thickest_mm(&self, slice: &Slice) -> f64 {
        let from = self.from_rad.max(slice.entry_rad);
        let to = self.to_rad.min(slice.exit_rad);
        // where the sine is largest
        let angle = FRAC_PI_2.clamp(from, to.max(from));
        if to > from { self.slope_mm * angle.sin() + self.base_mm } else { 0.0 }
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

/// The pieces that a tooth cuts of a slice.
pub(super) fn pieces(cut: &Cut<'_>, chain: &Chain, tooth: usize, slice: &Slice) -> Vec<Piece> {
    let mut out = Vec::new();
    for (low, high, line) in spans(cut, tooth, slice) {
        for (from, to, law) in chain.split((low, high), line) {
            over(slice, (from, to, line), law, &mut out);
        }
    }
    out
}

/// Thickest chip that a tooth cuts of a slice, mm.
pub(super) fn thickest_mm(cut: &Cut<'_>, tooth: usize, slice: &Slice) -> f64 {
    // the chip grows with the sine
    let most = slice.largest_sine();
    let at = |&(low, high, (slope, base)): &Span| {
        if low <= most { slope * high.min(most) + base } else { 0.0 }
    };
    spans(cut, tooth, slice).iter().map(at).fold(0.0, f64::max)
}

/// The stretches of sin φ over which a tooth cuts a slice, each with its chip.
fn spans(cut: &Cut<'_>, tooth: usize, slice: &Slice) -> Vec<Span> {
    let n = cut.teeth;
    if slice.arc_rad() <= 0.0 || !cuts(cut.breaker, tooth, n, slice.z_mm) {
        return Vec::new();
    }
    let sin_k = slice.kappa_rad.sin();
    if cut.runout.offset_mm == 0.0 && cut.breaker.is_none() {
        // the tooth before is always the last that came
        let slope_mm = cut.feed_per_tooth_mm * sin_k;
        return if slope_mm > 0.0 { vec![(0.0, 1.0, (slope_mm, 0.0))] } else { Vec::new() };
    }
    let radius = |j: usize| cut.runout.radius_mm(j, n, slice.lag_rad);
    let lines: Vec<(f64, f64)> = (1..=n)
        .filter(|m| cuts(cut.breaker, (tooth + n - m % n) % n, n, slice.z_mm))
        .map(|m| {
            let before = (tooth + n - m % n) % n;
            let slope = m as f64 * cut.feed_per_tooth_mm * sin_k;
            (slope, (radius(tooth) - radius(before)) * sin_k)
        })
        .collect();
    envelope(&lines)
}

/// A stretch of sin φ from 0 to 1 with its line.
type Span = (f64, f64, (f64, f64));

/// The least of the lines over sin φ in 0..1, where it is above 0. The least of straight lines bends
/// down only: from each the next has a smaller slope.
fn envelope(lines: &[(f64, f64)]) -> Vec<Span> {
    let lowest = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1).then(a.0.total_cmp(&b.0));
    let Some(mut line) = lines.iter().min_by(lowest) else { return Vec::new() };
    let (mut low, mut out) = (0.0, Vec::with_capacity(lines.len()));
    loop {
        let crosses = |l: &(f64, f64)| (l.1 - line.1) / (line.0 - l.0);
        let flatter = lines.iter().filter(|l| l.0 < line.0).map(|l| (crosses(l), l));
        let next = flatter.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.0.total_cmp(&b.1.0)));
        let high = next.map_or(1.0, |n| n.0.min(1.0));
        let from = if line.1 < 0.0 { (-line.1 / line.0).max(low) } else { low };
        if from < high && (line.0 > 0.0 || line.1 > 0.0) {
            out.push((from, high, *line));
        }
        match next {
            Some((at, flatter)) if at < 1.0 => (low, line) = (at.max(low), flatter),
            _ => return out,
        }
    }
}

/// A stretch of sin φ as angles before and after 90°, as far as the slice's arc reaches.
fn over(slice: &Slice, span: Span, law: Coefficients, out: &mut Vec<Piece>) {
    let (low, high, (slope_mm, base_mm)) = span;
    let (a, b) = (low.asin(), high.asin());
    let earliest = slice.entry_rad - 0.5 * slice.entry_span_rad.abs();
    let latest = slice.exit_rad + 0.5 * slice.exit_span_rad.abs();
    let mut side = |from_rad: f64, to_rad: f64| {
        if to_rad > earliest && from_rad < latest {
            out.push(Piece { from_rad, to_rad, slope_mm, base_mm, law });
        }
    };
    if high >= 1.0 {
        side(a, PI - a);
    } else {
        side(a, b);
        side(PI - b, PI - a);
    }
}
