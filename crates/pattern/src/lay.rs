//! From a family of lines to pieces of lines on the feature, no strip between them too wide.

use rayon::prelude::*;

use crate::chart::Chart;
use crate::curve::Curve;
use crate::error::PatternError;
use crate::family::Family;
use crate::job::{FaceJob, Pattern};
use crate::lattice::Lattice;
use crate::layout::{Density, Levels};
use crate::ridge;
use crate::spiral;
use crate::stance::Stance;
use crate::strip::{Strips, measure};
use crate::trim::{Piece, pieces};

/// Rounds in which measured spacings correct the levels.
const CORRECTIONS: usize = 8;
/// Spacing over what is allowed at which corrections end.
const GOOD: f64 = 1e-4;

/// Lines, cut to the feature, with what was measured between them.
pub(crate) struct Laid {
    pub(crate) pieces: Vec<Piece>,
    pub(crate) strips: Strips,
}

/// Lays the lines of a family so that no strip is wider than the stance allows.
pub(crate) fn lay(
    chart: &dyn Chart,
    lattice: &Lattice,
    family: &Family<'_>,
    stance: &Stance<'_>,
    job: &FaceJob<'_>,
) -> Result<Laid, PatternError> {
    if let (Pattern::Spiral, Family::Field { values, .. }) = (job.pattern, family) {
        return spiralled(chart, lattice, family, values, stance);
    }
    let counted = job.pattern == Pattern::EqualCusp;
    let mut density = if counted {
        Density::even(family.range(chart))
    } else {
        Density::sampled(chart, lattice, family, stance)?
    };
    let mut round = 0;
    loop {
        let levels = density.levels()?;
        let pieces = cut_to_feature(chart, lattice, family, &levels, &density);
        if pieces.is_empty() {
            return Err(PatternError::NoPass);
        }
        let step_mm = lattice.step_mm() * 1.5;
        let strips = measure(chart, stance, &pieces, levels.values.len(), step_mm);
        let ratios = strips.ratios();
        let worst = ratios.iter().copied().fold(0.0, f64::max);
        let tight = ratios.iter().all(|r| (r - 1.0).abs() <= 10.0 * GOOD);
        if round == CORRECTIONS || (worst <= 1.0 + GOOD && (tight || round > 1)) || counted {
            return Ok(Laid { pieces, strips });
        }
        density = density.corrected(&levels, &ratios);
        round += 1;
    }
}

/// Turns a step apart, one spiral where they are rings about one point, and lines where fronts meet.
pub(crate) fn spiralled(
    chart: &dyn Chart,
    lattice: &Lattice,
    family: &Family<'_>,
    depth: &[f64],
    stance: &Stance<'_>,
) -> Result<Laid, PatternError> {
    let mut laid = match spiral::curve(lattice, depth) {
        Some((curve, starts)) => wound(chart, lattice, stance, &curve, &starts),
        None => ringed(chart, lattice, family, depth, stance)?,
    };
    let below = laid.pieces.iter().map(|p| p.level).min().unwrap_or(0);
    let ridges = ridge::lines(chart, lattice, family, depth, stance, below);
    if !ridges.is_empty() {
        let covered = ridge::covered(lattice, &ridges, stance);
        laid.strips.drop_where(|q| lattice.nearest(q).is_some_and(|k| covered.on[k]));
        for piece in &mut laid.pieces {
            piece.level += 1;
        }
        laid.pieces.extend(ridges);
    }
    Ok(laid)
}

/// A spiral as one piece, measured between its turns.
fn wound(
    chart: &dyn Chart,
    lattice: &Lattice,
    stance: &Stance<'_>,
    curve: &Curve,
    starts: &[f64],
) -> Laid {
    let piece = |level: usize, from: f64, to: f64| Piece {
        level,
        curve: curve.clone(),
        from,
        to,
        half: (0.0, 0.0),
    };
    let turns: Vec<Piece> =
        starts.windows(2).enumerate().map(|(n, w)| piece(n, w[0], w[1])).collect();
    let strips = measure(chart, stance, &turns, turns.len(), lattice.step_mm() * 1.5);
    Laid { pieces: vec![piece(0, 0.0, curve.end())], strips }
}

/// Closed turns at whole steps of depth.
fn ringed(
    chart: &dyn Chart,
    lattice: &Lattice,
    family: &Family<'_>,
    depth: &[f64],
    stance: &Stance<'_>,
) -> Result<Laid, PatternError> {
    let most = depth.iter().copied().fold(0.0, f64::max);
    let density = Density::even((0.0, most));
    let levels = density.levels()?;
    let pieces = cut_to_feature(chart, lattice, family, &levels, &density);
    if pieces.is_empty() {
        return Err(PatternError::NoPass);
    }
    let strips = measure(chart, stance, &pieces, levels.values.len(), lattice.step_mm() * 1.5);
    Ok(Laid { pieces, strips })
}

fn cut_to_feature(
    chart: &dyn Chart,
    lattice: &Lattice,
    family: &Family<'_>,
    levels: &Levels,
    density: &Density,
) -> Vec<Piece> {
    let per_level: Vec<Vec<Piece>> = (0..levels.values.len())
        .into_par_iter()
        .map(|i| {
            let half = levels.half_strips(i, density.range);
            family
                .lines(chart, levels.values[i])
                .iter()
                .flat_map(|c| pieces(chart, family, i, c, half, lattice.line_step(c)))
                .collect()
        })
        .collect();
    per_level.into_iter().flatten().collect()
}
