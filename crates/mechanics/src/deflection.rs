//! How far the cutter gives way: a stepped beam in a holder and spindle that give way too.
//!
//! Euler–Bernoulli beam by the unit-load method (textbook): the deflection at `z` under a force at
//! `a`, both measured from the tip, is `∫ (x − a)(x − z) / (E I) dx` over `x > max(a, z)`. Holder and
//! spindle add `F/k_t + F (L − a)(L − z)/k_r`. Valid while the stick-out is more than about three
//! diameters (shear adds a few per cent below that), static, far from resonance.

pub mod plate;
pub mod wall;

use std::f64::consts::PI;

/// Equivalent diameter of a fluted section over its cutting diameter: about 0.8 for two and four
/// flutes. L. Kops, D. T. Vo, Determination of the equivalent diameter of an end mill based on its
/// compliance, CIRP Annals 39 (1990), abstract.
pub const CORE_RATIO: f64 = 0.8;
/// Range of that ratio: 0.75 to 0.85. Common practice, no source.
pub const CORE_RATIO_RANGE: (f64, f64) = (0.75, 0.85);
/// Modulus of elasticity of cemented carbide, N/mm². From memory: 580 to 620 GPa.
pub const CARBIDE_N_MM2: f64 = 600_000.0;
/// Stick-out over diameter below which shear is no longer small.
pub const SLENDER_FROM: f64 = 3.0;

/// Density of cemented carbide, t/mm³. From memory: 14.3 to 15.0 g/cm³.
pub const CARBIDE_T_MM3: f64 = 14.6e-9;
/// Steps over a piece in Rayleigh's quotient.
const RAYLEIGH_STEPS: u32 = 200;

/// A piece of the beam.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Distance of its lower end from the tip, mm.
    pub from_mm: f64,
    /// Distance of its upper end, mm.
    pub to_mm: f64,
    /// Diameter of a round bar that bends alike, mm.
    pub diameter_mm: f64,
}

/// How holder and spindle give way at the nose of the holder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clamping {
    /// Stiffness against a force, N/mm.
    pub shift_n_mm: f64,
    /// Stiffness against a moment, N mm/rad.
    pub tilt_n_mm_rad: f64,
}

/// A cutter as a beam, clamped at its upper end.
#[derive(Debug, Clone, PartialEq)]
pub struct Beam {
    /// Pieces from the tip up, each beginning where the last one ends.
    pub pieces: Vec<Piece>,
    /// Modulus of elasticity, N/mm².
    pub modulus_n_mm2: f64,
    /// What it is held by; `None`: rigid.
    pub clamping: Option<Clamping>,
}

impl Beam {
    /// A cutter of one flute length and one shank: `core_ratio` times `diameter_mm` bends like the
    /// flutes.
    pub fn stepped(
        diameter_mm: f64,
        core_ratio: f64,
        flute_length_mm: f64,
        shank_mm: f64,
        stickout_mm: f64,
        modulus_n_mm2: f64,
    ) -> Self {
        let flute = flute_length_mm.min(stickout_mm);
        let piece =
            |from_mm: f64, to_mm: f64, diameter_mm: f64| Piece { from_mm, to_mm, diameter_mm };
        let mut pieces = vec![piece(0.0, flute, core_ratio * diameter_mm)];
        if flute < stickout_mm {
            pieces.push(piece(flute, stickout_mm, shank_mm));
        }
        Self { pieces, modulus_n_mm2, clamping: None }
    }

    /// Length from the tip to where it is held, mm.
    pub fn length_mm(&self) -> f64 {
        self.pieces.last().map_or(0.0, |p| p.to_mm)
    }

    /// Deflection at `at_mm` over the tip for each newton at `force_at_mm`, mm/N.
    pub fn compliance_mm_n(&self, force_at_mm: f64, at_mm: f64) -> f64 {
        let start = force_at_mm.max(at_mm);
        let bent: f64 = self
            .pieces
            .iter()
            .map(|p| {
                let (from, to) = (p.from_mm.max(start), p.to_mm);
                if to <= from {
                    return 0.0;
                }
                // ∫ (x − a)(x − z) dx as a polynomial about the middle: exact
                let (half, middle) = (0.5 * (to - from), 0.5 * (to + from));
                let (a, z) = (middle - force_at_mm, middle - at_mm);
                let area = 2.0 * half * a * z + 2.0 / 3.0 * half.powi(3);
                area / (self.modulus_n_mm2 * bending_mm4(p.diameter_mm))
            })
            .sum();
        let held = self.clamping.map_or(0.0, |c| {
            let (a, z) = (self.length_mm() - force_at_mm, self.length_mm() - at_mm);
            1.0 / c.shift_n_mm + a * z / c.tilt_n_mm_rad
        });
        bent + held
    }

    /// Deflection at `at_mm` over the tip for each newton spread evenly from `from_mm` to `to_mm`, mm/N.
    pub fn spread_mm_n(&self, from_mm: f64, to_mm: f64, at_mm: f64) -> f64 {
        if !(to_mm > from_mm) {
            return self.compliance_mm_n(from_mm, at_mm);
        }
        // in the place of the force a cubic between the ends of the pieces and the place looked at:
        // two points of Gauss are exact there
        let inside = |x: &f64| *x > from_mm && *x < to_mm;
        let mut marks = vec![from_mm, to_mm];
        marks.extend(self.pieces.iter().map(|p| p.to_mm).chain([at_mm]).filter(inside));
        marks.sort_by(f64::total_cmp);
        let of = |ends: &[f64]| {
            let (half, middle) = (0.5 * (ends[1] - ends[0]), 0.5 * (ends[0] + ends[1]));
            let place = half / 3.0_f64.sqrt();
            let pair = [middle - place, middle + place].map(|a| self.compliance_mm_n(a, at_mm));
            half * (pair[0] + pair[1])
        };
        marks.windows(2).map(of).sum::<f64>() / (to_mm - from_mm)
    }

    /// Lowest natural frequency of the beam as it stands, Hz, by Rayleigh's quotient with the shape
    /// under a force at the tip (textbook; too high by a few per cent for a clamped bar). Density in
    /// t/mm³.
    pub fn natural_hz(&self, density_t_mm3: f64) -> f64 {
        let tip = self.compliance_mm_n(0.0, 0.0);
        let mass: f64 = self.pieces.iter().map(|p| self.moving_mass_t(p, density_t_mm3, tip)).sum();
        // the work of a newton at the tip against the motion of the whole shape
        (1.0 / (tip * mass)).sqrt() / (2.0 * PI)
    }

    /// Mass of a piece that moves like the tip, t.
    fn moving_mass_t(&self, p: &Piece, density_t_mm3: f64, tip: f64) -> f64 {
        let step = (p.to_mm - p.from_mm) / f64::from(RAYLEIGH_STEPS);
        let line_t_mm = density_t_mm3 * 0.25 * PI * p.diameter_mm * p.diameter_mm;
        let share = |i: u32| {
            let z = p.from_mm + step * (f64::from(i) + 0.5);
            (self.compliance_mm_n(0.0, z) / tip).powi(2)
        };
        line_t_mm * step * (0..RAYLEIGH_STEPS).map(share).sum::<f64>()
    }

    /// Largest bending stress for each newton at `force_at_mm`, N/mm² per N, and where it acts, mm
    /// over the tip.
    pub fn stress_per_n(&self, force_at_mm: f64) -> (f64, f64) {
        let of = |p: &Piece| {
            let lever = (p.to_mm - force_at_mm).max(0.0);
            (32.0 * lever / (PI * p.diameter_mm.powi(3)), p.to_mm)
        };
        self.pieces.iter().map(of).fold((0.0, 0.0), |a, b| if b.0 > a.0 { b } else { a })
    }
}

/// Second moment of area of a round bar, mm⁴.
fn bending_mm4(diameter_mm: f64) -> f64 {
    PI * diameter_mm.powi(4) / 64.0
}

/// A force that acts at a height over the tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct At {
    /// Height over the tip, mm.
    pub z_mm: f64,
    /// Force, N.
    pub force_n: f64,
}

/// Error that is left at `z_mm` over the tip when the forces of the instant act that makes the
/// surface there, mm: positive where the cutter gives way along the force.
pub fn form_error_mm(beam: &Beam, forces: &[At], z_mm: f64) -> f64 {
    forces.iter().map(|f| f.force_n * beam.compliance_mm_n(f.z_mm, z_mm)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn beam() -> Beam {
        Beam::stepped(12.0, 0.8, 26.0, 12.0, 45.0, 600_000.0)
    }

    fn close(found: f64, right: f64) {
        assert!((found / right - 1.0).abs() < 1e-6, "{found}, not {right}");
    }

    #[test]
    fn the_stepped_cantilever_of_the_textbook() {
        // derived: y = F/(3E) [Lf³/If + (L³ − Lf³)/Is]; F 200 N
        close(200_000.0 * beam().compliance_mm_n(0.0, 0.0), 12.712_65);
        close(1e-3 / beam().compliance_mm_n(0.0, 0.0), 15.732_36);
        let solid = |d: f64| Beam::stepped(d, 1.0, 45.0, d, 45.0, 600_000.0);
        close(200_000.0 * solid(12.0).compliance_mm_n(0.0, 0.0), 9.947_184);
        close(200_000.0 * solid(9.6).compliance_mm_n(0.0, 0.0), 24.285_12);
        let stepped = Beam::stepped(12.0, 0.8, 30.0, 12.0, 60.0, 600_000.0);
        close(500_000.0 * stepped.compliance_mm_n(0.0, 0.0), 69.566_966);
    }

    #[test]
    fn the_load_above_the_tip_and_what_holds_it() {
        // derived: load 4.5 mm above the tip
        close(200_000.0 * beam().compliance_mm_n(4.5, 0.0), 10.514_761);
        close(200_000.0 * beam().compliance_mm_n(4.5, 4.5), 8.815_237);
        let clamping = Some(Clamping { shift_n_mm: 25_000.0, tilt_n_mm_rad: 8e6 });
        let held = Beam { clamping, ..beam() };
        close(200_000.0 * held.compliance_mm_n(0.0, 0.0), 71.337_65);
    }

    #[test]
    fn a_spread_load_is_the_mean_of_its_parts() {
        // closed form: a bar under an even load on its whole length, w L⁴/(8 E I) at the tip
        let bar = Beam::stepped(10.0, 1.0, 40.0, 10.0, 40.0, 600_000.0);
        close(bar.spread_mm_n(0.0, 40.0, 0.0), 40f64.powi(3) / (8.0 * 6e5 * bending_mm4(10.0)));
        for (from, to, z) in [(0.0, 9.0, 0.0), (2.0, 33.0, 12.0), (20.0, 40.0, 3.0)] {
            let count = 2000;
            let place = |i: u32| from + (to - from) * (f64::from(i) + 0.5) / f64::from(count);
            let mean = (0..count).map(|i| beam().compliance_mm_n(place(i), z)).sum::<f64>()
                / f64::from(count);
            close(beam().spread_mm_n(from, to, z), mean);
        }
    }

    #[test]
    fn stress_at_the_root() {
        // derived: 32 F L/(π d³)
        let bar = Beam::stepped(9.6, 1.0, 35.0, 9.6, 35.0, 600_000.0);
        close(400.0 * bar.stress_per_n(0.0).0, 161.181_2);
        close(
            500.0 * Beam::stepped(10.0, 1.0, 50.0, 10.0, 50.0, 6e5).stress_per_n(0.0).0,
            254.647_91,
        );
    }

    #[test]
    fn a_clamped_bar_sounds_as_in_the_textbook() {
        // textbook: f = 1.8751² / (2π L²) √(E I / ρ A); Rayleigh stays above by less than 2 %
        let (d, l, e, rho): (f64, f64, f64, f64) = (10.0, 60.0, 600_000.0, 14.6e-9);
        let bar = Beam::stepped(d, 1.0, l, d, l, e);
        let right = 1.875_104_f64.powi(2) / (2.0 * PI * l * l) * (e / rho).sqrt() * d / 4.0;
        let found = bar.natural_hz(rho);
        assert!(found > right && found < 1.02 * right, "{found} {right}");
    }

    /// Cubic beam elements, assembled and solved here: nothing shared with the unit-load method.
    fn by_elements(beam: &Beam, force_at: f64, at: f64, per_piece: usize) -> f64 {
        let mut nodes = vec![0.0];
        let mut stiffness = Vec::new();
        for p in &beam.pieces {
            let mut marks: Vec<f64> = (1..=per_piece)
                .map(|i| p.from_mm + (p.to_mm - p.from_mm) * i as f64 / per_piece as f64)
                .collect();
            marks.extend([force_at, at].into_iter().filter(|m| *m > p.from_mm && *m < p.to_mm));
            marks.sort_by(f64::total_cmp);
            marks.dedup();
            for m in marks {
                nodes.push(m);
                stiffness.push(beam.modulus_n_mm2 * PI * p.diameter_mm.powi(4) / 64.0);
            }
        }
        let n = nodes.len();
        let mut k = vec![vec![0.0; 2 * n + 1]; 2 * n];
        for (e, ei) in stiffness.iter().enumerate() {
            let l = nodes[e + 1] - nodes[e];
            let own = [
                [12.0, 6.0 * l, -12.0, 6.0 * l],
                [6.0 * l, 4.0 * l * l, -6.0 * l, 2.0 * l * l],
                [-12.0, -6.0 * l, 12.0, -6.0 * l],
                [6.0 * l, 2.0 * l * l, -6.0 * l, 4.0 * l * l],
            ];
            for (i, row) in own.iter().enumerate() {
                for (j, v) in row.iter().enumerate() {
                    k[2 * e + i][2 * e + j] += v * ei / l.powi(3);
                }
            }
        }
        let node = |z: f64| nodes.iter().position(|x| (x - z).abs() < 1e-9).unwrap();
        k[2 * node(force_at)][2 * n] = 1.0;
        // clamped at the upper end
        for fixed in [2 * n - 2, 2 * n - 1] {
            for (i, row) in k.iter_mut().enumerate() {
                row[fixed] = f64::from(u8::from(i == fixed));
            }
            k[fixed].iter_mut().enumerate().for_each(|(j, v)| *v = f64::from(u8::from(j == fixed)));
        }
        for i in 0..2 * n {
            let pivot = k[i].clone();
            for row in k.iter_mut().skip(i + 1) {
                let f = row[i] / pivot[i];
                row.iter_mut().zip(&pivot).for_each(|(a, b)| *a -= f * b);
            }
        }
        let mut x = vec![0.0; 2 * n];
        for i in (0..2 * n).rev() {
            let rest: f64 = (i + 1..2 * n).map(|j| k[i][j] * x[j]).sum();
            x[i] = (k[i][2 * n] - rest) / k[i][i];
        }
        x[2 * node(at)]
    }

    #[test]
    fn beam_elements_agree_and_load_and_place_can_change_places() {
        let neck = Beam {
            pieces: vec![
                Piece { from_mm: 0.0, to_mm: 14.0, diameter_mm: 6.4 },
                Piece { from_mm: 14.0, to_mm: 40.0, diameter_mm: 7.6 },
                Piece { from_mm: 40.0, to_mm: 52.0, diameter_mm: 10.0 },
            ],
            modulus_n_mm2: 580_000.0,
            clamping: None,
        };
        for beam in [beam(), neck] {
            for (a, z) in [(0.0, 0.0), (3.0, 9.0), (11.5, 0.0), (20.0, 2.5)] {
                let ours = beam.compliance_mm_n(a, z);
                let theirs = by_elements(&beam, a, z, 4);
                assert!((ours / theirs - 1.0).abs() < 0.005, "{a} {z}: {ours} {theirs}");
                close(beam.compliance_mm_n(z, a), ours);
            }
        }
    }
}
