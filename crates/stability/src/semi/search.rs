//! The first depth that chatters: upward from a depth that is surely stable, then bisection, then the
//! root at the boundary on ever finer steps.

use super::boundary::{self, Root};
use super::monodromy;
use super::period::{Modal, Period};
use crate::cut::Cut;
use crate::limit::{Kind, Limit};
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};

/// Steps for one wave of the highest mode while searching; finer ones follow at the boundary.
const STEPS_PER_WAVE: f64 = 16.0;
/// Fewest and most steps of the longest piece in cut while searching.
const FEWEST_STEPS: usize = 20;
const MOST_STEPS: usize = 3000;
/// Ratio of neighbouring depths of the search.
const RATIO: f64 = 1.06;
/// A hump of the largest modulus that rises to this is looked at closely: it may hide an island.
const HUMP: f64 = 0.93;
/// Width of the bracket at which the root is sought, relative.
const BRACKET: f64 = 0.01;
/// Change between two extrapolated depths that counts as none, relative.
const SETTLED: f64 = 2e-5;
/// Halvings of the step at the boundary.
const HALVINGS: usize = 7;
/// How far the exact root may stand from the bracket of the coarse search, relative.
const ASTRAY: f64 = 0.25;

/// See [`super::limit`].
pub(super) fn limit(modal: &Modal, cut: &Cut, speed_rpm: f64, deepest_mm: f64) -> Option<Limit> {
    let search = Search::new(modal, cut, speed_rpm);
    let (stable_mm, unstable_mm) = search.first_crossing(deepest_mm)?;
    let bracket = search.narrowed(stable_mm, unstable_mm);
    let root = search.refined(bracket);
    let response = |omega: f64| modal.response(omega);
    let fine = Period::new(modal, cut, speed_rpm, search.steps, 2);
    let chatter_hz = boundary::chatter_hz(&fine, root, response, modal.highest_rad_s());
    let kind = if (PI - root.theta_rad).abs() < 1e-6 { Kind::Flip } else { Kind::Hopf };
    (root.depth_mm <= deepest_mm).then_some(Limit { depth_mm: root.depth_mm, chatter_hz, kind })
}

struct Search<'a> {
    modal: &'a Modal,
    cut: &'a Cut,
    speed_rpm: f64,
    steps: usize,
    period: Period,
}

/// A stable and an unstable depth, and the multiplier at the latter.
struct Bracket {
    stable_mm: f64,
    unstable_mm: f64,
    multiplier: Complex64,
}

impl<'a> Search<'a> {
    fn new(modal: &'a Modal, cut: &'a Cut, speed_rpm: f64) -> Self {
        let in_cut_rad = (cut.immersion.exit_rad - cut.immersion.entry_rad).min(cut.pitch_rad());
        let in_cut_s = in_cut_rad / cut.pitch_rad() * cut.tooth_period_s(speed_rpm);
        let waves = modal.highest_rad_s() * in_cut_s / TAU;
        let steps = ((STEPS_PER_WAVE * waves).ceil() as usize).clamp(FEWEST_STEPS, MOST_STEPS);
        let period = Period::new(modal, cut, speed_rpm, steps, 1);
        Self { modal, cut, speed_rpm, steps, period }
    }

    fn multiplier(&self, depth_mm: f64) -> Complex64 {
        monodromy::multiplier(&self.period, depth_mm)
    }

    fn modulus(&self, depth_mm: f64) -> f64 {
        self.multiplier(depth_mm).norm()
    }

    /// A depth that no cut of these forces chatters at: |κ| ≤ 2a and the loop's gain stays below 1.
    fn surely_stable_mm(&self) -> f64 {
        0.5 / (self.modal.most_mm_n() * self.period.most_gain_n_mm2())
    }

    /// The first neighbours, stable then unstable, going up.
    fn first_crossing(&self, deepest_mm: f64) -> Option<(f64, f64)> {
        let mut depths = [0.0, 0.0, self.surely_stable_mm()];
        let mut moduli = [0.0, 0.0, self.modulus(depths[2])];
        while depths[2] < deepest_mm {
            depths = [depths[1], depths[2], (depths[2] * RATIO).min(deepest_mm * (1.0 + 1e-9))];
            moduli = [moduli[1], moduli[2], self.modulus(depths[2])];
            if depths[0] > 0.0
                && moduli[1] > HUMP
                && moduli[1] > moduli[0]
                && moduli[1] >= moduli[2]
                && let Some(top) = self.island(depths)
            {
                return Some((depths[0], top));
            }
            if moduli[2] >= 1.0 {
                return Some((depths[1], depths[2]));
            }
        }
        None
    }

    /// An unstable depth between three neighbours whose middle one stands highest; by golden section.
    fn island(&self, depths: [f64; 3]) -> Option<f64> {
        let modulus = |depth_mm: f64| self.modulus(depth_mm);
        let (at, modulus) = geom::golden::largest(modulus, [depths[0], depths[2]], 12, 1.0);
        (modulus >= 1.0).then_some(at)
    }

    fn narrowed(&self, stable_mm: f64, unstable_mm: f64) -> Bracket {
        let multiplier = self.multiplier(unstable_mm);
        let mut bracket = Bracket { stable_mm, unstable_mm, multiplier };
        while bracket.unstable_mm > bracket.stable_mm * (1.0 + BRACKET) {
            self.halve(&mut bracket);
        }
        bracket
    }

    fn halve(&self, bracket: &mut Bracket) {
        let middle = 0.5 * (bracket.stable_mm + bracket.unstable_mm);
        let multiplier = self.multiplier(middle);
        if multiplier.norm() >= 1.0 {
            (bracket.unstable_mm, bracket.multiplier) = (middle, multiplier);
        } else {
            bracket.stable_mm = middle;
        }
    }

    /// The boundary on finer steps, extrapolated to none: the error falls with the square of the step.
    fn refined(&self, mut bracket: Bracket) -> Root {
        let theta_rad = bracket.multiplier.arg().abs();
        let start = Root { depth_mm: bracket.unstable_mm, theta_rad };
        let astray = |root: &Root| {
            root.depth_mm < start.depth_mm * (1.0 - ASTRAY)
                || root.depth_mm > start.depth_mm * (1.0 + ASTRAY)
        };
        let sought = |period: &Period, from| boundary::root(period, from).filter(|r| !astray(r));
        let Some(mut last) = sought(&self.period, start) else {
            // the bracket itself, to the last digit that the search can give
            while bracket.unstable_mm > bracket.stable_mm * (1.0 + SETTLED) {
                self.halve(&mut bracket);
            }
            let theta_rad = bracket.multiplier.arg().abs();
            return Root { depth_mm: bracket.unstable_mm, theta_rad };
        };
        let mut best = last;
        for halving in 0..HALVINGS {
            let finer = 2 << halving;
            let period = Period::new(self.modal, self.cut, self.speed_rpm, self.steps, finer);
            let Some(found) = sought(&period, last) else { return best };
            let gone_mm = (found.depth_mm - last.depth_mm) / 3.0;
            let turned_rad = (found.theta_rad - last.theta_rad) / 3.0;
            let extrapolated = Root {
                depth_mm: found.depth_mm + gone_mm,
                theta_rad: (found.theta_rad + turned_rad).clamp(0.0, PI),
            };
            let change = (extrapolated.depth_mm / best.depth_mm - 1.0).abs();
            (last, best) = (found, extrapolated);
            if halving > 0 && change < SETTLED {
                break;
            }
        }
        best
    }
}
