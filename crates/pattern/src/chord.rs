//! How far straight moves may leave the contact line, and what that adds to the cusp.

use clearance::fitting::Station;

use crate::job::FaceJob;

/// Chord tolerance: share of the cusp, and its limits, mm.
const SHARE: f64 = 0.1;
const LIMITS_MM: (f64, f64) = (1e-4, 2e-3);
/// What moves may sag where a cusp is asked for and no chord tolerance: share of the cusp. With what
/// the cusp is laid smaller for it, the cut then stays between 96 % and 100 % of what is asked for.
const SAG_SHARE: f64 = 0.04;
/// The smallest such sag, mm.
const LEAST_SAG_MM: f64 = 5e-5;
/// Most of a cusp that is kept free for moves.
const MOST_KEPT: f64 = 0.5;

/// Chord tolerance of a job.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Chord {
    /// How far a move may leave the contact line, mm.
    pub(crate) limit_mm: f64,
    /// How far moves sag at most before their ends are lifted, mm.
    pub(crate) sag_mm: f64,
}

impl Chord {
    /// As given, else from the cusp asked for or predicted.
    pub(crate) fn of(job: &FaceJob<'_>, predicted_cusp_mm: Option<f64>) -> Self {
        let (least, most) = LIMITS_MM;
        let of_cusp = |h: f64| (SHARE * h).clamp(least, most);
        match (job.chord_mm, job.cusp_mm) {
            (Some(chord), _) => Self { limit_mm: chord, sag_mm: chord },
            (None, Some(cusp)) => {
                let limit_mm = of_cusp(cusp);
                let sag_mm = (SAG_SHARE * cusp).max(LEAST_SAG_MM).min(limit_mm);
                Self { limit_mm, sag_mm }
            }
            (None, None) => {
                let chord = predicted_cusp_mm.map_or(most, of_cusp);
                Self { limit_mm: chord, sag_mm: chord }
            }
        }
    }
}

/// The cusp for which passes are laid, mm: the one asked for less what straight moves leave
/// standing. Over a face that is convex every way they stand over the contact line by half their
/// sag, in a hollow by all of it.
pub(crate) fn cusp_to_lay_mm(job: &FaceJob<'_>, stations: &[Station]) -> Option<f64> {
    let cusp = job.cusp_mm?;
    let sag = Chord::of(job, None).sag_mm;
    let hollow = stations.iter().any(|s| s.site.curvature.entries.eigen().large > 0.0);
    let standing = if hollow { sag } else { 0.5 * sag };
    Some(cusp - standing.min(MOST_KEPT * cusp))
}
