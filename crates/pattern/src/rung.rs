//! At which heights lines hold the step: strips are counted over the height, at each by the place that
//! needs most of them.

use rayon::prelude::*;

use crate::error::PatternError;
use crate::layout::Density;

/// Heights at which strips are counted first.
const FEW: usize = 64;
/// Rounds in which intervals are halved.
const ROUNDS: usize = 14;
/// Error of a count at which an interval is not halved: as a share of it, and in strips.
const ERROR: (f64, f64) = (0.01, 0.002);
/// Strips that are laid for each that is needed: what the count may be off by is less than the rest.
const SPARE: f64 = 1.01;
/// Most lines.
const MOST: f64 = 20_000.0;

/// Strips needed per mm of height, at a height.
type Rate<'a> = &'a (dyn Fn(f64) -> f64 + Sync);

/// Heights from the top down, full strips between them and at most half of one at the ends. Where no
/// strip is needed the count begins anew.
pub(crate) fn heights(lo: f64, hi: f64, rate: Rate<'_>) -> Result<Vec<f64>, PatternError> {
    let mut out = Vec::new();
    for band in counted(lo, hi, rate).split(|(_, rate)| *rate <= 0.0).filter(|b| b.len() > 1) {
        lines(band, &mut out)?;
    }
    out.sort_by(|a, b| b.total_cmp(a));
    Ok(out)
}

/// Rates at heights that rise, so near that the straight line between them serves.
fn counted(lo: f64, hi: f64, rate: Rate<'_>) -> Vec<(f64, f64)> {
    let place = |k: usize| lo + (hi - lo) * k as f64 / FEW as f64;
    let mut known: Vec<(f64, f64)> =
        (0..=FEW).into_par_iter().map(|k| (place(k), rate(place(k)))).collect();
    let mut open: Vec<[(f64, f64); 2]> = known.windows(2).map(|w| [w[0], w[1]]).collect();
    for _ in 0..ROUNDS {
        let halved: Vec<[(f64, f64); 3]> = open
            .par_iter()
            .map(|[a, b]| {
                let middle = 0.5 * (a.0 + b.0);
                [*a, (middle, rate(middle)), *b]
            })
            .collect();
        known.extend(halved.iter().map(|h| h[1]));
        open = halved
            .into_iter()
            .filter(|[a, m, b]| {
                let off = (m.1 - 0.5 * (a.1 + b.1)).abs();
                off > ERROR.0 * a.1.max(m.1).max(b.1) && off * (b.0 - a.0) > ERROR.1
            })
            .flat_map(|[a, m, b]| [[a, m], [m, b]])
            .collect();
        if open.is_empty() {
            break;
        }
    }
    known.sort_by(|a, b| a.0.total_cmp(&b.0));
    known
}

fn lines(band: &[(f64, f64)], out: &mut Vec<f64>) -> Result<(), PatternError> {
    let density = Density::of_rates(band, SPARE);
    let total = density.total();
    if total > MOST {
        return Err(PatternError::TooManyPasses { passes: total });
    }
    out.extend(density.levels()?.values);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_on_a_cone_are_evenly_apart_and_near_the_rims() {
        let found = heights(0.0, 10.0, &|_| 2.0).expect("heights");
        assert_eq!(found.len(), 21);
        let step = 0.5 / SPARE;
        assert!(found.windows(2).all(|w| (w[0] - w[1] - step).abs() < 1e-9));
        let ends = (10.0 - found[0], found[20]);
        assert!((ends.0 - ends.1).abs() < 1e-9 && ends.0 <= 0.25, "{ends:?}");
    }

    #[test]
    fn strips_of_a_round_are_a_step_long() {
        // derived: an arc of radius 5 mm from 20° to 90° of slope, a step of 0.4 mm along it
        let (r, step, from) = (5.0_f64, 0.4, 20_f64.to_radians());
        let angle = |h: f64| ((r - h) / r).clamp(-1.0, 1.0).acos();
        let rate = |h: f64| if angle(h) < from { 0.0 } else { 1.0 / (step * angle(h).sin()) };
        let found = heights(0.0, r, &rate).expect("heights");
        let along: Vec<f64> = found.iter().map(|h| r * angle(*h)).collect();
        for w in along.windows(2) {
            assert!((w[0] - w[1] - step / SPARE).abs() < 0.01 * step, "{w:?}");
        }
        let length = r * (90_f64.to_radians() - from);
        assert!((along.len() as f64 - length / step).abs() < 1.3);
        assert!(along[along.len() - 1] - r * from <= 0.51 * step);
    }

    #[test]
    fn a_gap_begins_a_new_count() {
        let rate = |h: f64| if (3.0..7.0).contains(&h) { 0.0 } else { 1.0 };
        let found = heights(0.0, 10.0, &rate).expect("heights");
        assert!(found.iter().all(|h| !(2.99..7.01).contains(h)), "{found:?}");
        let first = found.iter().copied().filter(|h| *h > 5.0).fold(10.0, f64::min);
        assert!(first - 7.0 <= 0.51, "{first}");
    }

    #[test]
    fn too_many_lines_are_refused() {
        let refused = heights(0.0, 10.0, &|_| 1e4);
        assert!(matches!(refused, Err(PatternError::TooManyPasses { .. })));
    }
}
