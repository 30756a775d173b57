//! Which levels of a family become lines, so that no strip between two of them is too wide.

use geom::Vec2;

use crate::chart::Chart;
use crate::error::PatternError;
use crate::family::{Family, forward};
use crate::lattice::Lattice;
use crate::stance::Stance;

/// Most lines that a layout may have.
const MOST_LINES: f64 = 200_000.0;
/// Rounding that is not one more line: share of a strip.
const ROUNDING: f64 = 1e-6;

/// How many strips per unit of the family's function are needed, over its range.
#[derive(Debug, Clone)]
pub(crate) struct Density {
    /// Smallest and largest value on the feature.
    pub(crate) range: (f64, f64),
    /// Knots over the range and strips counted up to each.
    knots: Vec<f64>,
    counted: Vec<f64>,
}

/// Chosen levels.
#[derive(Debug, Clone)]
pub(crate) struct Levels {
    /// Values of the function, rising.
    pub(crate) values: Vec<f64>,
    /// Share of a strip between the first line and the border, and so at the last: at most a half.
    pub(crate) margin: f64,
}

impl Density {
    /// From the steps that the stance allows at the nodes of a grid over the feature: at each level
    /// the place that needs most strips decides.
    pub(crate) fn sampled(
        chart: &dyn Chart,
        lattice: &Lattice,
        family: &Family<'_>,
        stance: &Stance<'_>,
    ) -> Result<Self, PatternError> {
        let range = family.range(chart);
        let mut rates = Vec::new();
        for (node, spot) in lattice.feature() {
            let q = lattice.place(node);
            let g = family.gradient(q);
            let Some((_, slope)) = spot.ascent(g) else { continue };
            let Some(f) = forward(spot, g) else { continue };
            rates.push((family.value(q), 1.0 / (slope * stance.allowed_mm(&spot.site, f)?)));
        }
        if rates.is_empty() || range.0 >= range.1 || range.0.is_nan() || range.1.is_nan() {
            return Err(PatternError::NoPass);
        }
        let bins = lattice.size[0].max(lattice.size[1]).max(8);
        Ok(Self::from_rates(range, bins, &rates))
    }

    /// One strip per unit.
    pub(crate) fn even(range: (f64, f64)) -> Self {
        Self { range, knots: vec![range.0, range.1], counted: vec![0.0, range.1 - range.0] }
    }

    fn from_rates(range: (f64, f64), bins: usize, rates: &[(f64, f64)]) -> Self {
        let width = (range.1 - range.0) / bins as f64;
        let mut most = vec![0.0_f64; bins];
        for (value, rate) in rates {
            let at = ((value - range.0) / width).max(0.0) as usize;
            let bin = &mut most[at.min(bins - 1)];
            *bin = bin.max(*rate);
        }
        fill_gaps(&mut most);
        Self::from_steps(range, &most)
    }

    fn from_steps(range: (f64, f64), rate: &[f64]) -> Self {
        let n = rate.len();
        let width = (range.1 - range.0) / n as f64;
        let knots = (0..=n).map(|i| range.0 + width * i as f64).collect();
        let mut counted = vec![0.0];
        for r in rate {
            counted.push(counted[counted.len() - 1] + r * width);
        }
        Self { range, knots, counted }
    }

    /// From rates at values that rise, straight between them, each times `spare`; at least two.
    pub(crate) fn of_rates(rates: &[(f64, f64)], spare: f64) -> Self {
        let mut counted = vec![0.0];
        for w in rates.windows(2) {
            let strips = 0.5 * (w[0].1 + w[1].1) * (w[1].0 - w[0].0);
            counted.push(counted[counted.len() - 1] + spare * strips);
        }
        let knots: Vec<f64> = rates.iter().map(|r| r.0).collect();
        Self { range: (knots[0], knots[knots.len() - 1]), knots, counted }
    }

    /// Strips needed in all.
    pub(crate) fn total(&self) -> f64 {
        self.counted[self.counted.len() - 1]
    }

    fn value_at(&self, count: f64) -> f64 {
        let i = self.counted.partition_point(|c| *c < count).clamp(1, self.counted.len() - 1);
        let span = self.counted[i] - self.counted[i - 1];
        let f = if span > 0.0 { (count - self.counted[i - 1]) / span } else { 0.0 };
        self.knots[i - 1] + f * (self.knots[i] - self.knots[i - 1])
    }

    /// Full strips everywhere, what is left over evened out at both borders.
    pub(crate) fn levels(&self) -> Result<Levels, PatternError> {
        let total = self.total();
        if total.is_nan() || total > MOST_LINES {
            return Err(PatternError::TooManyPasses { passes: total });
        }
        let n = (total - ROUNDING).ceil().max(1.0);
        let margin = 0.5 * (total - (n - 1.0));
        let values = (0..n as usize).map(|i| self.value_at(margin + i as f64)).collect();
        Ok(Levels { values, margin })
    }

    /// Corrected by what was measured: `ratio[i]` is the widest spacing over what is allowed there,
    /// between lines `i` and `i + 1`.
    pub(crate) fn corrected(&self, levels: &Levels, ratio: &[f64]) -> Self {
        let v = &levels.values;
        let (Some(first), Some(last)) = (ratio.first(), ratio.last()) else {
            return self.clone();
        };
        let mut knots = vec![self.range.0];
        let mut counted = vec![0.0];
        let mut push = |to: f64, strips: f64| {
            let known = counted[counted.len() - 1];
            if to > knots[knots.len() - 1] {
                knots.push(to);
                counted.push(known + strips);
            }
        };
        push(v[0], levels.margin * first);
        for (to, r) in v[1..].iter().zip(ratio) {
            push(*to, *r);
        }
        push(self.range.1, levels.margin * last);
        Self { range: self.range, knots, counted }
    }
}

/// Bins that no sample fell into take the larger of their neighbours.
fn fill_gaps(most: &mut [f64]) {
    let known = most.to_vec();
    for i in 0..most.len() {
        if most[i] == 0.0 {
            let before = known[..i].iter().rev().find(|r| **r > 0.0);
            let after = known[i..].iter().find(|r| **r > 0.0);
            most[i] = before.into_iter().chain(after).fold(0.0, |a, b| a.max(*b));
        }
    }
}

impl Levels {
    /// Half the strip on either side of line `i`, in units of the function.
    pub(crate) fn half_strips(&self, i: usize, range: (f64, f64)) -> (f64, f64) {
        let v = &self.values;
        let below = if i == 0 { v[0] - range.0 } else { 0.5 * (v[i] - v[i - 1]) };
        let above = if i + 1 == v.len() { range.1 - v[i] } else { 0.5 * (v[i + 1] - v[i]) };
        (below.max(0.0), above.max(0.0))
    }
}

/// Chart vector that raises the family's function by `rise` from `q`.
pub(crate) fn aside(family: &Family<'_>, q: Vec2, rise: f64) -> Vec2 {
    let g = family.gradient(q);
    let square = g.length_squared();
    if square > 0.0 { g * (rise / square) } else { Vec2::ZERO }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn full_strips_and_even_margins() {
        let density = Density::from_steps((0.0, 10.0), &[1.0 / 0.3; 10]);
        let levels = density.levels().expect("levels");
        assert_eq!(levels.values.len(), 34);
        assert!(levels.values.windows(2).all(|w| (w[1] - w[0] - 0.3).abs() < 1e-12));
        let last = 10.0 - levels.values[33];
        assert!((levels.values[0] - last).abs() < 1e-12 && last <= 0.15 + 1e-12);
    }

    #[test]
    fn a_whole_number_of_strips_takes_no_line_more() {
        let levels = Density::from_steps((0.0, 3.0), &[1.0; 3]).levels().expect("levels");
        assert_eq!(levels.values, vec![0.5, 1.5, 2.5]);
    }

    #[test]
    fn corrections_meet_what_was_measured() {
        let density = Density::from_steps((0.0, 10.0), &[1.0; 10]);
        let levels = density.levels().expect("levels");
        let better = density.corrected(&levels, &vec![2.0; levels.values.len() - 1]);
        assert!((better.total() - 20.0).abs() < 1e-9);
    }

    #[test]
    fn a_mistaken_unit_is_refused() {
        let density = Density::from_steps((0.0, 1.0), &[1e9]);
        assert!(matches!(density.levels(), Err(PatternError::TooManyPasses { .. })));
    }
}
