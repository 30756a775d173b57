//! The cutter of an operation as a beam in its holder, as far as the study gives it.

use crate::job::Prepared;
use mechanics::deflection::{
    Beam, CARBIDE_N_MM2, CORE_RATIO, CORE_RATIO_RANGE, Clamping, Piece, SLENDER_FROM,
};

/// Stiffness of holder and spindle at the nose: best, least and most. Common practice, no source:
/// from push tests on machining centres, which scatter this much.
const SHIFT_N_MM: [f64; 3] = [40_000.0, 20_000.0, 80_000.0];
/// Against tilting, N mm/rad.
const TILT_N_MM_RAD: [f64; 3] = [2e7, 1e7, 4e7];

/// What the stiffness rests on, in words.
pub(super) const GROUND: &str = "carbide beam with a core of 0.8 of the diameter, holder and spindle \
    as usual (20 to 80 N/µm, 10 to 40 kN m/rad; common practice, no source): a push test narrows it";

/// The cutter by its best, its softest and its stiffest values.
pub(super) struct Stiffness {
    pub(super) best: Beam,
    pub(super) soft: Beam,
    pub(super) stiff: Beam,
    /// What must be told.
    pub(super) warnings: Vec<String>,
}

impl Stiffness {
    /// From the lengths and diameters of the study.
    ///
    /// # Errors
    /// What is not given.
    pub(super) fn of(prepared: &Prepared<'_>) -> Result<Self, String> {
        let spec = &prepared.cutter.spec;
        let stickout = spec.stickout_mm.ok_or("the stick-out is not given (stickout_mm)")?;
        let mut warnings = Vec::new();
        if stickout < SLENDER_FROM * spec.diameter_mm {
            warnings.push(format!(
                "the stick-out is less than {SLENDER_FROM} diameters: the beam leaves shear out"
            ));
        }
        let (soft_core, stiff_core) = CORE_RATIO_RANGE;
        let beam = |core: f64, i: usize| Beam {
            pieces: pieces(prepared, core, stickout),
            modulus_n_mm2: CARBIDE_N_MM2,
            clamping: Some(Clamping { shift_n_mm: SHIFT_N_MM[i], tilt_n_mm_rad: TILT_N_MM_RAD[i] }),
        };
        Ok(Self {
            best: beam(CORE_RATIO, 0),
            soft: beam(soft_core, 1),
            stiff: beam(stiff_core, 2),
            warnings,
        })
    }
}

/// Flutes, neck and shank up to the holder.
fn pieces(prepared: &Prepared<'_>, core: f64, stickout_mm: f64) -> Vec<Piece> {
    let spec = &prepared.cutter.spec;
    let flute = spec.flute_length_mm.unwrap_or(stickout_mm).min(stickout_mm);
    let neck_to = spec.usable_length_mm.unwrap_or(flute).clamp(flute, stickout_mm);
    let shank = spec.shank_diameter_mm.unwrap_or(spec.diameter_mm);
    let neck = spec.neck_diameter_mm.unwrap_or(shank);
    let ends = [(flute, core * spec.diameter_mm), (neck_to, neck), (stickout_mm, shank)];
    let mut from_mm = 0.0;
    let mut out = Vec::new();
    for (to_mm, diameter_mm) in ends {
        if to_mm > from_mm {
            out.push(Piece { from_mm, to_mm, diameter_mm });
            from_mm = to_mm;
        }
    }
    out
}
