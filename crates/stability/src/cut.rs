//! The cut: teeth, force coefficients, entry and exit, and the matrix that turns a displacement of the
//! cutter into force.
//!
//! Force on the cutter F = ½ a Kt A(φ) {q(t) − q(t − T)} with the displacement q = (x, y), the depth a
//! and the tooth period T. A follows from the chip thickness h = x sin φ + y cos φ and the forces
//! −Ft (cos φ, −sin φ) − Fr (sin φ, cos φ); the frequency form is that of Altintas and Budak, CIRP Annals
//! 1995 (from memory).

use std::f64::consts::{PI, TAU};
use units::{OutOfRange, RangeCheck};

/// A matrix over (x, y), row by row.
pub type Matrix2 = [[f64; 2]; 2];

/// Where a tooth enters and leaves, rad; 0 ≤ entry < exit ≤ π.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Immersion {
    /// Angle at which a tooth enters.
    pub entry_rad: f64,
    /// Angle at which it leaves.
    pub exit_rad: f64,
}

/// From which side the teeth come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// The chip starts thin: a tooth enters at 0.
    Up,
    /// The chip ends thin: a tooth leaves at π.
    Down,
}

impl Immersion {
    /// Of a straight cut of width `width_mm` with a cutter of `diameter_mm`.
    ///
    /// # Errors
    /// The width is not above 0 or larger than the diameter.
    pub fn of_width(
        diameter_mm: f64,
        width_mm: f64,
        direction: Direction,
    ) -> Result<Self, OutOfRange> {
        let diameter = diameter_mm.positive("diameter")?;
        let width = width_mm.positive("width of cut")?.within("width of cut", 0.0, diameter)?;
        let swept_rad = (1.0 - 2.0 * width / diameter).clamp(-1.0, 1.0).acos();
        Ok(match direction {
            Direction::Up => Self { entry_rad: 0.0, exit_rad: swept_rad },
            Direction::Down => Self { entry_rad: PI - swept_rad, exit_rad: PI },
        })
    }
}

/// A cut: all that turns depth into feedback.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// Number of teeth, evenly spaced.
    pub teeth: u32,
    /// Tangential force per area of chip, N/mm².
    pub kt_n_mm2: f64,
    /// Radial over tangential force, a pure ratio.
    pub kr: f64,
    /// Entry and exit.
    pub immersion: Immersion,
}

/// Most teeth that are taken.
const MOST_TEETH: u32 = 200;

impl Cut {
    /// A cut.
    ///
    /// # Errors
    /// A coefficient, an angle or the number of teeth is out of range.
    pub fn new(
        teeth: u32,
        kt_n_mm2: f64,
        kr: f64,
        immersion: Immersion,
    ) -> Result<Self, OutOfRange> {
        f64::from(teeth).within("number of teeth", 1.0, f64::from(MOST_TEETH))?;
        kt_n_mm2.positive("tangential coefficient")?;
        kr.not_negative("ratio of radial to tangential force")?;
        immersion.entry_rad.within("entry angle", 0.0, PI)?;
        immersion.exit_rad.within("exit angle", 0.0, PI)?;
        (immersion.exit_rad - immersion.entry_rad).positive("angle in cut")?;
        Ok(Self { teeth, kt_n_mm2, kr, immersion })
    }

    /// Angle between teeth, rad.
    pub fn pitch_rad(&self) -> f64 {
        TAU / f64::from(self.teeth)
    }

    /// Mean number of teeth in cut.
    pub fn mean_teeth(&self) -> f64 {
        (self.immersion.exit_rad - self.immersion.entry_rad) / self.pitch_rad()
    }

    /// Tooth period, s, at a speed.
    pub fn tooth_period_s(&self, speed_rpm: f64) -> f64 {
        60.0 / (speed_rpm * f64::from(self.teeth))
    }

    /// The mean of A over a revolution, all teeth together: N/2π ∫ A dφ from entry to exit.
    pub fn mean_matrix(&self) -> Matrix2 {
        let (from, to) = (self.antiderivative(self.immersion.entry_rad), self.immersion.exit_rad);
        let share = 1.0 / self.pitch_rad();
        difference(&self.antiderivative(to), &from, share)
    }

    /// The mean of A, all teeth together, while the first tooth turns from `from_rad` to `to_rad`,
    /// both within one pitch.
    pub(crate) fn mean_between(&self, from_rad: f64, to_rad: f64) -> Matrix2 {
        let share = 1.0 / (to_rad - from_rad);
        let mut sum = [[0.0; 2]; 2];
        for tooth in 0..self.teeth {
            let turned = f64::from(tooth) * self.pitch_rad();
            let from = (from_rad + turned).max(self.immersion.entry_rad);
            let to = (to_rad + turned).min(self.immersion.exit_rad);
            if to > from {
                let part = difference(&self.antiderivative(to), &self.antiderivative(from), share);
                for (row, add) in sum.iter_mut().flatten().zip(part.iter().flatten()) {
                    *row += add;
                }
            }
        }
        sum
    }

    /// ∫ A dφ without its constant.
    fn antiderivative(&self, phi_rad: f64) -> Matrix2 {
        let (s, c) = (2.0 * phi_rad).sin_cos();
        let (kr, turn) = (self.kr, 2.0 * phi_rad);
        [
            [0.5 * (c - kr * turn + kr * s), 0.5 * (-s - turn + kr * c)],
            [0.5 * (-s + turn + kr * c), 0.5 * (-c - kr * turn - kr * s)],
        ]
    }

    /// Angles within one pitch at which a tooth enters or leaves, in order, without repeats.
    pub(crate) fn changes_rad(&self) -> Vec<f64> {
        let pitch = self.pitch_rad();
        let nearly = 1e-12 * pitch;
        let fold = |angle: f64| {
            let folded = angle.rem_euclid(pitch);
            if pitch - folded < nearly || folded < nearly { 0.0 } else { folded }
        };
        let mut changes = vec![fold(self.immersion.entry_rad), fold(self.immersion.exit_rad)];
        changes.sort_by(f64::total_cmp);
        changes.dedup_by(|a, b| (*a - *b).abs() < nearly);
        changes
    }
}

fn difference(to: &Matrix2, from: &Matrix2, share: f64) -> Matrix2 {
    let mut out = [[0.0; 2]; 2];
    for (i, row) in out.iter_mut().enumerate() {
        for (j, value) in row.iter_mut().enumerate() {
            *value = share * (to[i][j] - from[i][j]);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mean_matrix_of_a_down_cut() {
        // derived: four teeth, Kr 0.3, ae/D 0.3, down; quadrature of A agrees
        let immersion = Immersion::of_width(1.0, 0.3, Direction::Down).unwrap();
        let cut = Cut::new(4, 750.0, 0.3, immersion).unwrap();
        let expected = [[0.383_371_1, -0.810_980_7], [0.665_059_8, -0.826_183_3]];
        for (row, want) in cut.mean_matrix().iter().flatten().zip(expected.iter().flatten()) {
            assert!((row - want).abs() < 5e-7, "{row} {want}");
        }
    }

    #[test]
    fn means_over_pieces_add_up_to_the_mean_over_a_pitch() {
        for (teeth, width, direction) in
            [(2, 0.05, Direction::Down), (4, 0.9, Direction::Up), (7, 1.0, Direction::Down)]
        {
            let immersion = Immersion::of_width(1.0, width, direction).unwrap();
            let cut = Cut::new(teeth, 600.0, 0.4, immersion).unwrap();
            let (pitch, pieces) = (cut.pitch_rad(), 13);
            let mut mean = [[0.0; 2]; 2];
            for i in 0..pieces {
                let at = |k: i32| pitch * f64::from(k) / f64::from(pieces);
                let part = cut.mean_between(at(i), at(i + 1));
                for (sum, add) in mean.iter_mut().flatten().zip(part.iter().flatten()) {
                    *sum += add / f64::from(pieces);
                }
            }
            for (sum, want) in mean.iter().flatten().zip(cut.mean_matrix().iter().flatten()) {
                assert!((sum - want).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn a_width_that_no_cutter_takes_is_refused() {
        assert!(Immersion::of_width(10.0, 10.1, Direction::Up).is_err());
        assert!(Immersion::of_width(10.0, 0.0, Direction::Up).is_err());
        assert!(Immersion::of_width(10.0, f64::NAN, Direction::Up).is_err());
    }
}
