//! The figures that explain readings best, given what is held likely beforehand: least squares of
//! the relative residuals and of the logarithms of the figures.
//!
//! Each figure is start·exp(spread·z); the sum of squares is Σ ((t − τ(z))/σ)² + Σ z², the logarithm
//! of the posterior for normal errors (Gelman et al., Bayesian Data Analysis, ch. 14, from memory).

use crate::figures::{self, Figure, Shape};
use crate::stretch::Stretch;
use crate::timing::Laid;
use crate::watch::deviation_s;
use machine::{Corner, Machine, MachineSpec};
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// Step of z by which slopes are taken.
const STEP: f64 = 0.15;
/// Largest |z| that is tried, and largest change of one in a step.
const FAR: f64 = 4.0;
const LONGEST: f64 = 1.5;
/// Relative gain of a step below which a search ends.
const SETTLED: f64 = 2e-3;

/// Figures over which times are not smooth, where they are tried, and for how many steps.
const ROUGH: (&str, [f64; 3]) = ("control.average_most_mm", [-1.0, 0.2, 1.3]);
const ROUGH_TURN: (&str, [f64; 3]) = ("control.path_tolerance_deg", [-1.6, -0.6, 0.4]);
const ROUGH_STEPS: u32 = 3;

/// One shape put to the readings.
pub(crate) struct Problem<'a> {
    pub(crate) spec: MachineSpec,
    pub(crate) figures: Vec<Figure>,
    pub(crate) stretches: Vec<&'a Stretch>,
    pub(crate) read_s: Vec<f64>,
    /// Geometry of the stretches, where no figure moves it.
    laid: Option<Vec<Laid>>,
}

/// A place in the search.
#[derive(Debug, Clone)]
pub(crate) struct At {
    z: DVector<f64>,
    times: Vec<f64>,
    /// Sum of squares.
    pub(crate) cost: f64,
}

/// What came of it.
#[derive(Debug, Clone)]
pub(crate) struct Solved {
    pub(crate) figures: Vec<Figure>,
    /// Best z of each figure.
    pub(crate) z: Vec<f64>,
    /// Standard deviation of each z afterwards.
    pub(crate) deviation: Vec<f64>,
    /// Times of the stretches, s.
    pub(crate) times: Vec<f64>,
    /// −2 ln of the evidence, up to a constant of the readings (Laplace's approximation).
    pub(crate) score: f64,
    /// Sum of squares, of which the score is made with what the figures leave open.
    pub(crate) cost: f64,
    /// How much of each reading the fit takes from that reading itself, 0 to 1.
    pub(crate) leverage: Vec<f64>,
    /// Slopes of the times over each z.
    slopes: DMatrix<f64>,
}

impl Solved {
    /// The same with the figures that another has found.
    pub(crate) fn with(&self, other: &Self) -> Self {
        let mut with = self.clone();
        for (figure, &z) in other.figures.iter().zip(&other.z) {
            match with.figures.iter().position(|f| f.key == figure.key) {
                Some(at) => (with.figures[at], with.z[at]) = (figure.clone(), z),
                None => {
                    with.figures.push(figure.clone());
                    with.z.push(z);
                }
            }
        }
        with
    }
}

impl<'a> Problem<'a> {
    pub(crate) fn new(
        shape: Shape,
        spec: &MachineSpec,
        stretches: &[&'a Stretch],
        read_s: &[f64],
    ) -> Option<Self> {
        let figures = shape.figures(spec).ok()?;
        let spec = shape.on(spec);
        let machine = Machine::new(&spec).ok()?;
        let laid = if shape.corner == Corner::Blend {
            None
        } else {
            let laid: Option<Vec<_>> = stretches.par_iter().map(|s| s.laid(&machine)).collect();
            Some(laid?)
        };
        let (stretches, read_s) = (stretches.to_vec(), read_s.to_vec());
        Some(Self { spec, figures, stretches, read_s, laid })
    }

    /// The same with figures of rotary axes alone, the others held as they were solved.
    pub(crate) fn of_turns(mut self, solved: &Solved) -> Self {
        for (figure, &z) in solved.figures.iter().zip(&solved.z) {
            figures::set(&mut self.spec, &figure.key, figure.at(z));
        }
        self.figures.retain(|f| figures::is_of_turns(&f.key));
        self
    }

    /// The machine file at `z`.
    pub(crate) fn spec_at(&self, z: &[f64]) -> MachineSpec {
        let mut spec = self.spec.clone();
        for (figure, z) in self.figures.iter().zip(z) {
            figures::set(&mut spec, &figure.key, figure.at(z.clamp(-FAR, FAR)));
        }
        spec
    }

    fn all_times(&self, z: &DVector<f64>) -> Option<Vec<f64>> {
        let machine = Machine::new(&self.spec_at(z.as_slice())).ok()?;
        (0..self.stretches.len()).into_par_iter().map(|i| self.time_s(i, &machine)).collect()
    }

    fn time_s(&self, i: usize, machine: &Machine) -> Option<f64> {
        match &self.laid {
            Some(laid) => laid[i].time_s(machine),
            None => self.stretches[i].time_s(machine),
        }
    }

    fn sigma(&self, i: usize) -> f64 {
        deviation_s(self.stretches[i], self.read_s[i])
    }

    /// Slopes of the times over z towards its start, or away from it: rows are stretches.
    fn slopes(&self, at: &At, towards: f64) -> Option<DMatrix<f64>> {
        let columns: Option<Vec<Vec<f64>>> =
            (0..self.figures.len()).into_par_iter().map(|k| self.slope(at, k, towards)).collect();
        let columns = columns?;
        Some(DMatrix::from_fn(at.times.len(), columns.len(), |i, k| columns[k][i]))
    }

    /// Slopes over one figure.
    fn slope(&self, at: &At, k: usize, towards: f64) -> Option<Vec<f64>> {
        let mut z = at.z.clone();
        let step = towards * if z[k] > 0.0 { -STEP } else { STEP };
        z[k] += step;
        let machine = Machine::new(&self.spec_at(z.as_slice())).ok()?;
        let key = &self.figures[k].key;
        let slope = |(i, &before): (usize, &f64)| {
            if !figures::leans(self.stretches[i], key) {
                return Some(0.0);
            }
            Some((self.time_s(i, &machine)? - before) / step)
        };
        at.times.iter().enumerate().map(slope).collect()
    }

    /// A first look at a shape from another that was solved: a few steps by the slopes that are known
    /// there, only those over new figures being reckoned.
    pub(crate) fn first_look(&self, other: &Solved, steps: u32) -> Option<At> {
        let mut at = self.start_from(other)?;
        let known: Vec<Option<usize>> = self
            .figures
            .iter()
            .map(|f| other.figures.iter().position(|o| o.key == f.key && o.spread == f.spread))
            .collect();
        let columns: Option<Vec<Vec<f64>>> = known
            .par_iter()
            .enumerate()
            .map(|(k, known)| match known {
                Some(of) => Some(other.slopes.column(*of).iter().copied().collect()),
                None => self.slope(&at, k, 1.0),
            })
            .collect();
        let columns = columns?;
        let slopes = DMatrix::from_fn(at.times.len(), columns.len(), |i, k| columns[k][i]);
        let jacobian = self.with_priors(&slopes);
        let hessian = jacobian.transpose() * &jacobian;
        let mut damping = 1e-2;
        for _ in 0..steps {
            let gradient = jacobian.transpose() * self.residuals(&at.times, &at.z);
            let Some(better) = self.step(&at, (&hessian, &gradient), &mut damping) else { break };
            at = better;
        }
        Some(at)
    }

    /// Residuals over their deviations, then the figures' own.
    fn residuals(&self, times: &[f64], z: &DVector<f64>) -> DVector<f64> {
        let n = times.len();
        DVector::from_fn(n + z.len(), |i, _| {
            if i < n { (times[i] - self.read_s[i]) / self.sigma(i) } else { z[i - n] }
        })
    }

    fn jacobian(&self, at: &At) -> Option<DMatrix<f64>> {
        Some(self.with_priors(&self.slopes(at, 1.0)?))
    }

    /// As [`Self::slopes`] by the lesser slope of both sides: where corners are rounded in earnest,
    /// times jump a little with the figures, which tells nothing of them.
    fn careful_slopes(&self, at: &At) -> Option<DMatrix<f64>> {
        let slopes = self.slopes(at, 1.0)?;
        if self.laid.is_some() {
            return Some(slopes);
        }
        Some(slopes.zip_map(&self.slopes(at, -1.0)?, |a, b| {
            if a * b <= 0.0 { 0.0 } else { a.abs().min(b.abs()).copysign(a) }
        }))
    }

    fn with_priors(&self, slopes: &DMatrix<f64>) -> DMatrix<f64> {
        let (n, figures) = slopes.shape();
        DMatrix::from_fn(n + figures, figures, |i, k| {
            if i < n { slopes[(i, k)] / self.sigma(i) } else { f64::from(u8::from(i - n == k)) }
        })
    }

    fn at(&self, z: DVector<f64>) -> Option<At> {
        let times = self.all_times(&z)?;
        let cost = self.residuals(&times, &z).norm_squared();
        Some(At { z, times, cost })
    }

    /// Where a search begins.
    pub(crate) fn start(&self) -> Option<At> {
        self.at(DVector::zeros(self.figures.len()))
    }

    /// Where a search begins that tries several places of a figure over which the times are not smooth:
    /// the best of them after a few steps.
    pub(crate) fn best_start(&self) -> Option<At> {
        self.best_start_over(ROUGH)
    }

    /// The same for figures of rotary axes: above what the blocks allow, their own tolerance has no
    /// slope.
    pub(crate) fn best_turn_start(&self) -> Option<At> {
        self.best_start_over(ROUGH_TURN)
    }

    fn best_start_over(&self, (rough, places): (&str, [f64; 3])) -> Option<At> {
        let rough = self.figures.iter().position(|f| f.key == rough);
        let Some(rough) = rough else { return self.start() };
        let tried = places.iter().filter_map(|&z| {
            let mut start = DVector::zeros(self.figures.len());
            start[rough] = z;
            self.improve(self.at(start)?, ROUGH_STEPS)
        });
        tried.min_by(|a, b| a.cost.total_cmp(&b.cost))
    }

    /// Where a search begins that goes on from another shape: figures that both have keep their
    /// values.
    pub(crate) fn start_from(&self, other: &Solved) -> Option<At> {
        let known = |figure: &Figure| {
            let at = other.figures.iter().position(|f| f.key == figure.key)?;
            Some((other.figures[at].at(other.z[at]) / figure.start).ln() / figure.spread)
        };
        let z = self.figures.iter().map(|f| known(f).unwrap_or(0.0).clamp(-FAR, FAR));
        self.at(DVector::from_iterator(self.figures.len(), z))
    }

    /// Goes on from `at` by at most `steps` steps (Levenberg and Marquardt's, from memory).
    pub(crate) fn improve(&self, mut at: At, steps: u32) -> Option<At> {
        let mut damping = 1e-2;
        for _ in 0..steps {
            let jacobian = self.jacobian(&at)?;
            let gradient = jacobian.transpose() * self.residuals(&at.times, &at.z);
            let hessian = jacobian.transpose() * &jacobian;
            let Some(better) = self.step(&at, (&hessian, &gradient), &mut damping) else { break };
            let gained = at.cost - better.cost;
            at = better;
            if gained < SETTLED * at.cost.max(1.0) {
                break;
            }
        }
        Some(at)
    }

    /// A step that lowers the cost, damped until it does.
    fn step(
        &self,
        at: &At,
        (hessian, gradient): (&DMatrix<f64>, &DVector<f64>),
        damping: &mut f64,
    ) -> Option<At> {
        for _ in 0..6 {
            let mut damped = hessian.clone();
            for k in 0..damped.nrows() {
                damped[(k, k)] *= 1.0 + *damping;
            }
            let mut step = -damped.cholesky()?.solve(gradient);
            let size = step.amax();
            if size > LONGEST {
                step *= LONGEST / size;
            }
            let z = (&at.z + step).map(|z| z.clamp(-FAR, FAR));
            if let Some(better) = self.at(z).filter(|b| b.cost < at.cost) {
                *damping = (*damping / 5.0).max(1e-6);
                return Some(better);
            }
            *damping *= 6.0;
        }
        None
    }

    /// What is known at the end of a search.
    pub(crate) fn conclude(&self, at: At) -> Option<Solved> {
        let slopes = self.careful_slopes(&at)?;
        let jacobian = self.with_priors(&slopes);
        let cholesky = (jacobian.transpose() * &jacobian).cholesky()?;
        let ln_det = 2.0 * cholesky.l().diagonal().iter().map(|d| d.ln()).sum::<f64>();
        let covariance = cholesky.inverse();
        let leverage = (0..at.times.len())
            .map(|i| {
                let row = jacobian.row(i);
                (row * &covariance * row.transpose())[(0, 0)].clamp(0.0, 1.0)
            })
            .collect();
        Some(Solved {
            leverage,
            z: at.z.iter().copied().collect(),
            deviation: covariance.diagonal().iter().map(|v| v.max(0.0).sqrt()).collect(),
            times: at.times,
            score: at.cost + ln_det,
            cost: at.cost,
            slopes,
            figures: self.figures.clone(),
        })
    }
}
