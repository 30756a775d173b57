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

    /// Displacement over force, mm/N, straight between rows; `None` outside the band.
    pub fn response(&self, omega_rad_s: f64) -> Option<Complex64> {
        let after = self.omegas_rad_s.partition_point(|w| *w < omega_rad_s);
        let high = *self.omegas_rad_s.get(after)?;
        let value = self.values_mm_n[after];
        if high == omega_rad_s {
            return Some(value);
        }
        let before = after.checked_sub(1)?;
        let low = self.omegas_rad_s[before];
        let share = (omega_rad_s - low) / (high - low);
        Some(self.values_mm_n[before] * (1.0 - share) + value * share)
    }
}
