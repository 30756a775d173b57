//! Corners that are spread over a length on both sides, by a curve without a jump of curvature.
//!
//! From l before the corner to l behind it, x from −1 to 1, the curve is dB/dx = l (C + S g): C half the
//! sum of the directions before and behind, S half their difference, g = (3x − x³)/2. Its middle lies
//! 3/16 l |δ| off the corner of jump δ = 2 S (derived: ∫₀¹ (1 − g) dx = 3/8). By its length, with
//! D = c² + s² g² (c, s the sizes of C and S), each axis' first derivative is (C + S g)/√D; the second
//! and the third are taken as a control takes them, by differences over some steps of the curve.

use super::caps::{Cap, Caps};
use super::limit::Limit;
use crate::Setting;

/// Middle of the curve off its corner over length and jump.
const MIDDLE: f64 = 3.0 / 16.0;
/// Steps by which a control looks at the curve: common practice, no source.
const STEPS: usize = 16;
/// Jump below which the curve is a parabola nearly.
const GENTLE: f64 = 0.1;
/// Share of the shorter block that a corner may take where a file does not say: half.
const HALF: f64 = 0.5;

/// The curve of length 1 on each side of the corner.
struct Curve {
    /// Largest second and third derivatives of the axes by its length, as differences over its steps
    /// have them.
    bend: [f64; 5],
    jerk: [f64; 5],
    /// Its length over that of the two legs.
    length: f64,
}

impl Curve {
    fn new([before, after]: &[[f64; 5]; 2], size: f64) -> Self {
        let half = |sign: f64| std::array::from_fn(|k| 0.5 * (after[k] + sign * before[k]));
        let (sum, difference): ([f64; 5], [f64; 5]) = (half(1.0), half(-1.0));
        if size < GENTLE {
            // g' is 3/2 in the middle, g'' −3x, its means over three steps at an end and over all
            let ends = 3.0 * (1.0 - 3.0 / STEPS as f64);
            let times = |f: f64| difference.map(|d| f * d.abs());
            return Self { bend: times(1.5), jerk: times(ends), length: 1.0 };
        }
        let nodes = nodes((0.25 * size * size).min(1.0));
        let length = nodes[STEPS][1];
        let step = length / STEPS as f64;
        let at = |k: usize, i: usize| {
            let x = along(&nodes, step * i as f64);
            let x2 = x * x;
            sum[k] * x + difference[k] * x2 * (0.75 - 0.125 * x2)
        };
        let largest = |values: &[f64]| values.iter().fold(0.0f64, |most, v| most.max(v.abs()));
        let mut curve = Self { bend: [0.0; 5], jerk: [0.0; 5], length: 0.5 * length };
        for k in (0..5).filter(|&k| difference[k] != 0.0 || sum[k] != 0.0) {
            let places: Vec<f64> = (0..=STEPS).map(|i| at(k, i)).collect();
            let second = differences(&differences(&places, step), step);
            curve.bend[k] = largest(&second);
            curve.jerk[k] = largest(&differences(&second, step));
        }
        curve
    }
}

/// Size of the change of direction where only rotary axes turn.
fn turned([before, after]: &[[f64; 5]; 2]) -> f64 {
    let size = |d: &[f64; 5]| d[3].hypot(d[4]);
    let [whole, other] = [before, after].map(size);
    let change = (after[3] - before[3]).hypot(after[4] - before[4]);
    2.0 * change / (whole + other).max(f64::MIN_POSITIVE)
}

fn differences(values: &[f64], step: f64) -> Vec<f64> {
    values.windows(2).map(|w| (w[1] - w[0]) / step).collect()
}

/// x and the length up to it, at even steps of x; `sine_2` is the square of the size of S.
fn nodes(sine_2: f64) -> [[f64; 2]; STEPS + 1] {
    let speed = |x: f64| {
        let g = 0.5 * x * (3.0 - x * x);
        (1.0 - sine_2 + sine_2 * g * g).max(0.0).sqrt()
    };
    let step = 2.0 / STEPS as f64;
    let mut nodes = [[-1.0, 0.0]; STEPS + 1];
    for i in 1..=STEPS {
        let [from, length] = nodes[i - 1];
        let to = from + step;
        // Simpson's rule
        let mean = (speed(from) + 4.0 * speed(0.5 * (from + to)) + speed(to)) / 6.0;
        nodes[i] = [to, length + step * mean];
    }
    nodes
}

/// x at a length.
fn along(nodes: &[[f64; 2]; STEPS + 1], length: f64) -> f64 {
    let next = nodes.partition_point(|[_, l]| *l <= length).clamp(1, STEPS);
    let ([a, from], [b, to]) = (nodes[next - 1], nodes[next]);
    a + (b - a) * ((length - from) / (to - from).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0)
}

impl Caps<'_> {
    /// The cap of a corner between directions whose linear parts differ by `size`, blocks being no
    /// shorter than `block`.
    pub(super) fn spread(&self, i: usize, ends: &[[f64; 5]; 2], size: f64, block: f64) -> Cap {
        let dynamics = self.chain.dynamics;
        let turn = (ends[1][3] - ends[0][3]).hypot(ends[1][4] - ends[0][4]);
        let by_tip = dynamics.path_tolerance_mm / (MIDDLE * size).max(f64::MIN_POSITIVE);
        let by_turn = self.turn_tolerance() / (MIDDLE * turn).max(f64::MIN_POSITIVE);
        let share = dynamics.setting(Setting::Facet).unwrap_or(HALF);
        let trim = by_tip.min(by_turn).min(share * block);
        let curve = Curve::new(ends, if self.only_turns(i) { turned(ends) } else { size });
        let mut speed = self.bend_speed(i, &curve.bend.map(|b| b / trim));
        if self.chain.jerk {
            let most = |k: usize| dynamics.axes[k].jerk * trim * trim / curve.jerk[k];
            let least = (0..dynamics.axes.len()).map(most).fold(f64::INFINITY, f64::min);
            speed = speed.min(least.cbrt());
        }
        let limit = Limit::CornerTolerance;
        Cap { speed, limit, zone: trim, sides: None, shortens: curve.length }
    }
}
