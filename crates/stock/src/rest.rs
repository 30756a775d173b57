//! What is left on the part: by place, and least, mean and most for the next operation.

use crate::columns::Columns;
use geom::Vec3;
use rayon::prelude::*;

/// Halvings that refine a border.
const HALVINGS: usize = 24;

/// A place on the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RestSample {
    /// Point of the nominal surface, mm.
    pub point: Vec3,
    /// Unit normal out of the part.
    pub normal: Vec3,
    /// Area that it stands for, mm².
    pub area_mm2: f64,
}

/// What is left at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Left {
    /// Stock along the normal, mm; negative where it is cut below nominal.
    Stock(f64),
    /// More than was looked for, mm, in that direction: negative for below nominal.
    Beyond(f64),
}

/// Stock over all samples, mm, weighed by area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// Least.
    pub least_mm: f64,
    /// Mean.
    pub mean_mm: f64,
    /// Most.
    pub most_mm: f64,
    /// Samples whose stock is beyond what was looked for; they count with that.
    pub beyond: usize,
}

impl Left {
    /// Stock, mm; at least (or at most) this where it is beyond.
    pub fn mm(self) -> f64 {
        match self {
            Left::Stock(mm) | Left::Beyond(mm) => mm,
        }
    }
}

/// What is left at every sample, looked for up to `reach_mm` either way: the map of rest material.
pub fn left(stock: &Columns, samples: &[RestSample], reach_mm: f64) -> Vec<Left> {
    samples.par_iter().map(|s| at(stock, s, reach_mm)).collect()
}

/// Keeps the samples above which columns of the part itself do not stand: those beside a wall that lie in
/// its columns tell of the wall and not of stock.
pub fn keep_open(samples: &mut Vec<RestSample>, part: &Columns) {
    let above_mm = 0.5 * part.grid().spacing_mm;
    samples.retain(|s| part.fill(s.point + s.normal * above_mm) <= 0.5);
}

fn at(stock: &Columns, s: &RestSample, reach_mm: f64) -> Left {
    let step = 0.5 * stock.grid().spacing_mm;
    let full = |t: f64| stock.fill(s.point + s.normal * t) > 0.5;
    // just under the surface: a border on the surface itself is not taken for a gouge
    let inside = full(-1e-6);
    let sign = if inside { 1.0 } else { -1.0 };
    let n = (reach_mm / step).ceil().max(1.0) as usize;
    let Some(i) = (0..=n).find(|&i| full(sign * i as f64 * step) != inside) else {
        return Left::Beyond(sign * reach_mm);
    };
    let (mut a, mut b) = (sign * (i as f64 - 1.0) * step, sign * i as f64 * step);
    for _ in 0..HALVINGS {
        let t = 0.5 * (a + b);
        if full(t) == inside { a = t } else { b = t }
    }
    Left::Stock(0.5 * (a + b))
}

impl Rest {
    /// Over samples and what is left at them; `None` without area.
    pub fn over(samples: &[RestSample], left: &[Left]) -> Option<Self> {
        let area: f64 = samples.iter().map(|s| s.area_mm2).sum();
        if !(area > 0.0) {
            return None;
        }
        let sum: f64 = samples.iter().zip(left).map(|(s, l)| s.area_mm2 * l.mm()).sum();
        Some(Self {
            least_mm: left.iter().map(|l| l.mm()).fold(f64::INFINITY, f64::min),
            mean_mm: sum / area,
            most_mm: left.iter().map(|l| l.mm()).fold(f64::NEG_INFINITY, f64::max),
            beyond: left.iter().filter(|l| matches!(l, Left::Beyond(_))).count(),
        })
    }

    /// Largest chip thickness over the feed per tooth at least, mean and most stock, for a cutter
    /// of `diameter_mm` beside a wall (`2 √(a/D (1 − a/D))`, 1 from half the diameter on; derived
    /// from the circle). None of it is cut where there is no stock.
    pub fn chip_ratios(&self, diameter_mm: f64) -> [f64; 3] {
        [self.least_mm, self.mean_mm, self.most_mm].map(|a| {
            let x = (a / diameter_mm).clamp(0.0, 0.5);
            2.0 * (x * (1.0 - x)).sqrt()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Direction, Grid};

    /// A floor at 0 beside a wall of 6 mm at x = 5.1, which the columns have at 5.
    #[test]
    fn floor_beside_a_wall_is_not_told_as_tall_as_the_wall() {
        let ends = (Vec3::new(0.0, 0.0, -2.0), Vec3::new(10.0, 10.0, 7.0));
        let grid = Grid::over(ends, 0.5, Direction::Z).expect("a grid");
        let part = Columns::filled(grid, |x, _| vec![(-2.0, if x < 5.1 { 6.0 } else { 0.0 })]);
        let stock = Columns::filled(grid, |x, _| vec![(-2.0, if x < 5.1 { 6.0 } else { 0.3 })]);
        let floor =
            |x: f64| RestSample { point: Vec3::new(x, 5.0, 0.0), normal: Vec3::Z, area_mm2: 1.0 };
        let all = vec![floor(4.95), floor(5.2), floor(8.0)];
        let most = |samples: &[RestSample]| {
            Rest::over(samples, &left(&stock, samples, 2.0)).expect("an area").most_mm
        };
        assert!(most(&all) > 1.9);
        let mut open = all.clone();
        keep_open(&mut open, &part);
        assert_eq!(open, all[1..]);
        // a tenth of the wall is within reach of the interpolation
        assert!((most(&open) - 0.3).abs() < 0.03, "{}", most(&open));
    }
}
