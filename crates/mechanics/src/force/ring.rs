//! The slices of a cut, fine enough for runout and grooves, each with the sines that its teeth share.

use super::Cut;
use super::harmonic::sin_cos;
use crate::engagement::Slice;

/// A slice with its sines.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ring {
    pub(super) slice: Slice,
    pub(super) sin_k: f64,
    pub(super) cos_k: f64,
    /// Lag of its middle and over it, no denser than counts, rad.
    pub(super) lag_rad: f64,
    pub(super) lag_span_rad: f64,
    /// Of the lag of its middle.
    pub(super) sin_lag: f64,
    pub(super) cos_lag: f64,
}

/// A helix that winds closer than this over a slice is as good as an even ring, rad.
const DENSEST_RAD: f64 = 1e3;
/// Lag over a slice above which runout and grooves are not the same all over it, rad.
const ALIKE_RAD: f64 = 0.02;
/// Shortest piece over the pitch of the chip breakers.
const GROOVE_PIECES: f64 = 60.0;
/// Most pieces of a slice.
const MOST_PIECES: f64 = 2000.0;

impl Ring {
    pub(super) fn new(slice: Slice) -> Self {
        let (sin_k, cos_k) = slice.kappa_rad.sin_cos();
        let dense = |angle: f64| angle.clamp(-DENSEST_RAD, DENSEST_RAD);
        let lag_rad = dense(slice.lag_rad);
        let (sin_lag, cos_lag) = sin_cos(lag_rad);
        let lag_span_rad = dense(slice.lag_span_rad);
        Self { slice, sin_k, cos_k, lag_rad, lag_span_rad, sin_lag, cos_lag }
    }
}

/// The slices of a cut, cut finer where runout or grooves change along the edge.
pub(super) fn rings(cut: &Cut<'_>) -> Vec<Ring> {
    let mut out = Vec::with_capacity(cut.slices.len());
    for s in cut.slices {
        let by_lag =
            if cut.runout.offset_mm == 0.0 { 1.0 } else { s.lag_span_rad.abs() / ALIKE_RAD };
        let by_groove = cut.breaker.map_or(1.0, |b| GROOVE_PIECES * s.width_mm / b.pitch_mm);
        let n = by_lag.max(by_groove).ceil().clamp(1.0, MOST_PIECES);
        if n == 1.0 {
            out.push(Ring::new(*s));
            continue;
        }
        let rise = s.width_mm * s.kappa_rad.sin();
        let piece = |i: usize| {
            let off = (i as f64 + 0.5) / n - 0.5;
            Slice {
                z_mm: s.z_mm + off * rise,
                width_mm: s.width_mm / n,
                lag_rad: s.lag_rad + off * s.lag_span_rad,
                lag_span_rad: s.lag_span_rad / n,
                entry_rad: s.entry_rad + off * s.entry_span_rad,
                exit_rad: s.exit_rad + off * s.exit_span_rad,
                entry_span_rad: s.entry_span_rad / n,
                exit_span_rad: s.exit_span_rad / n,
                ..*s
            }
        };
        out.extend((0..n as usize).map(|i| Ring::new(piece(i))));
    }
    out
}
