//! What one tooth cuts of a slice: pieces of its way through the cut with a chip linear in sin φ.
//!
//! A tooth cuts down to where the last tooth before it came that cut there: with runout or chip
//! breakers that need not be its neighbour. `h = min over m of (m fz sin φ + r_j − r_(j−m)) sin κ`.

use super::{ChipBreaker, Cut};
use crate::engagement::Slice;
use std::f64::consts::{FRAC_PI_2, PI};

/// A piece of the way of a tooth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Piece {
    pub(super) entry_rad: f64,
    pub(super) exit_rad: f64,
    /// Chip over sin φ, mm.
    pub(super) slope_mm: f64,
    /// Chip at sin φ = 0, mm.
    pub(super) base_mm: f64,
}

/// Whether the edge is there: not in a groove. Grooves of neighbouring teeth are staggered evenly.
fn cuts(breaker: Option<ChipBreaker>, tooth: usize, teeth: usize, z_mm: f64) -> bool {
    let Some(b) = breaker else { return true };
    let phase = z_mm / b.pitch_mm - tooth as f64 / teeth as f64;
    phase - phase.floor() >= b.groove_share
}

/// The pieces that a tooth cuts of a slice.
pub(super) fn pieces(cut: &Cut<'_>, tooth: usize, slice: &Slice) -> Vec<Piece> {
    let n = cut.teeth;
    if slice.arc_rad() <= 0.0 || !cuts(cut.breaker, tooth, n, slice.z_mm) {
        return Vec::new();
    }
    let sin_k = slice.kappa_rad.sin();
    let radius = |j: usize| cut.runout.radius_mm(j, n, slice.lag_rad);
    let lines: Vec<(f64, f64)> = (1..=n)
        .filter(|m| cuts(cut.breaker, (tooth + n - m % n) % n, n, slice.z_mm))
        .map(|m| {
            let before = (tooth + n - m % n) % n;
            let slope = m as f64 * cut.feed_per_tooth_mm * sin_k;
            (slope, (radius(tooth) - radius(before)) * sin_k)
        })
        .collect();
    envelope(&lines).into_iter().flat_map(|span| over(slice, span)).collect()
}

/// A stretch of sin φ from 0 to 1 with its line.
type Span = (f64, f64, (f64, f64));

/// The least of the lines over sin φ in 0..1, where it is above 0.
fn envelope(lines: &[(f64, f64)]) -> Vec<Span> {
    let value = |l: &(f64, f64), s: f64| l.0 * s + l.1;
    let mut cuts = vec![0.0, 1.0];
    for (i, a) in lines.iter().enumerate() {
        let root = -a.1 / a.0;
        cuts.extend((root > 0.0 && root < 1.0).then_some(root));
        for b in &lines[i + 1..] {
            let s = (b.1 - a.1) / (a.0 - b.0);
            cuts.extend((s > 0.0 && s < 1.0).then_some(s));
        }
    }
    cuts.sort_by(f64::total_cmp);
    let mut out: Vec<Span> = Vec::new();
    for w in cuts.windows(2).filter(|w| w[1] > w[0]) {
        let middle = 0.5 * (w[0] + w[1]);
        let least = lines.iter().min_by(|a, b| value(a, middle).total_cmp(&value(b, middle)));
        let Some(line) = least.filter(|l| value(l, middle) > 0.0) else { continue };
        match out.last_mut() {
            Some(last) if last.2 == *line && last.1 == w[0] => last.1 = w[1],
            _ => out.push((w[0], w[1], *line)),
        }
    }
    out
}

/// A stretch of sin φ as angles before and after 90°, within the slice's arc.
fn over(slice: &Slice, (low, high, (slope_mm, base_mm)): Span) -> Vec<Piece> {
    let (a, b) = (low.asin(), high.asin());
    let sides = if high >= 1.0 { vec![(a, PI - a)] } else { vec![(a, b), (PI - b, PI - a)] };
    let clipped = sides.into_iter().map(|(from, to)| {
        let (entry_rad, exit_rad) = (from.max(slice.entry_rad), to.min(slice.exit_rad));
        Piece { entry_rad, exit_rad, slope_mm, base_mm }
    });
    clipped.filter(|p| p.exit_rad > p.entry_rad).collect()
}

/// Largest chip of a piece, mm.
pub(super) fn thickest_mm(piece: &Piece) -> f64 {
    let at = |angle: f64| piece.slope_mm * angle.sin() + piece.base_mm;
    if piece.entry_rad <= FRAC_PI_2 && piece.exit_rad >= FRAC_PI_2 {
        return at(FRAC_PI_2);
    }
    at(piece.entry_rad).max(at(piece.exit_rad))
}
