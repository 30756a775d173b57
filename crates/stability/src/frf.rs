//! A measured frequency response: rows of Hz, real part and imaginary part in m/N.
//!
//! The convention is e^(+iωt): the imaginary part of a displacement at the point that is struck is
//! negative.

mod read;

pub use read::{FrfError, read};

use num_complex::Complex64;
use std::f64::consts::TAU;

/// Displacement over force at rising frequencies.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredResponse {
    omegas_rad_s: Vec<f64>,
    values_mm_n: Vec<Complex64>,
}

impl MeasuredResponse {
    /// Frequencies of the rows, rad/s, rising.
    pub fn omegas_rad_s(&self) -> &[f64] {
        &self.omegas_rad_s
    }

    /// Displacement over force of the rows, mm/N.
    pub fn values_mm_n(&self) -> &[Complex64] {
        &self.values_mm_n
    }

    /// The band that was measured, Hz.
    pub fn band_hz(&self) -> units::Interval {
        let end = |omega: Option<&f64>| omega.copied().unwrap_or(0.0) / TAU;
        units::Interval::new(end(self.omegas_rad_s.first()), end(self.omegas_rad_s.last()))
    }

    /// Displacement over force, mm/N, by a cubic between rows; `None` outside the band.
    pub fn response(&self, omega_rad_s: f64) -> Option<Complex64> {
        let after = self.omegas_rad_s.partition_point(|w| *w < omega_rad_s);
        let high = *self.omegas_rad_s.get(after)?;
        if high == omega_rad_s {
            return Some(self.values_mm_n[after]);
        }
        let before = after.checked_sub(1)?;
        let width = high - self.omegas_rad_s[before];
        let t = (omega_rad_s - self.omegas_rad_s[before]) / width;
        let (from, to) = (self.values_mm_n[before], self.values_mm_n[after]);
        let (rise, fall) = (width * self.slope(before), width * self.slope(after));
        let bend = rise + fall - 2.0 * (to - from);
        Some(from + t * (rise + t * (3.0 * (to - from) - 2.0 * rise - fall + t * bend)))
    }

    /// Slope at a row, of the parabola through it and its neighbours.
    fn slope(&self, row: usize) -> Complex64 {
        let last = self.omegas_rad_s.len() - 1;
        let middle = row.clamp(1, last - 1);
        let w = |i: usize| self.omegas_rad_s[middle - 1 + i];
        let chord = |i: usize| {
            let rise = self.values_mm_n[middle + i] - self.values_mm_n[middle + i - 1];
            rise / (w(i + 1) - w(i))
        };
        let (low, high) = (chord(0), chord(1));
        let bend = (high - low) / (w(2) - w(0));
        low + bend * (2.0 * self.omegas_rad_s[row] - w(0) - w(1))
    }
}
