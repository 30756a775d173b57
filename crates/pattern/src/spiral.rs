//! One continuous pass round and round, from the border inwards: the turns are a whole number of
//! steps from the border, measured in the step that is allowed on the way.

use std::f64::consts::TAU;

use geom::{Sym2, Vec2};

use crate::chart::Chart;
use crate::curve::Curve;
use crate::eikonal::{Problem, solve};
use crate::equal_cusp::{duals, next_directions};
use crate::error::PatternError;
use crate::lattice::Lattice;
use crate::spline::{Spline, resampled, smoothed};
use crate::stance::Stance;

/// Rounds of directions and distances.
const ROUNDS: usize = 4;
/// Share of the step that turns are laid at: what grid and smoothing move them by is less than the
/// rest.
pub(crate) const AIM: f64 = 0.975;
/// Steps by which a spiral goes inwards in a turn: where a turn is slim the next one passes the same
/// place at another angle, up to a fifteenth of a turn later.
const RAMP: f64 = 0.97;
/// Directions in which the border is looked for from a node.
const RAYS: usize = 32;
/// How far it is looked for, cells.
const REACH: f64 = 2.0;
/// Count of steps at the first turn: half a strip from the border.
const FIRST: f64 = 0.5;
/// Count of steps that the last turn keeps from the innermost point: what it rings is within half
/// a strip of it.
const LAST: f64 = 0.45;
/// Rays of a turn, as a multiple of the nodes along both sides: enough where a turn is slim.
const RAYS_PER_NODE: usize = 6;
/// Spacing of the points of a spiral, cells.
const SPACING: f64 = 0.8;
/// Most turns of one spiral.
const MOST_TURNS: f64 = 5000.0;
/// Bisections for a point of a turn.
const BISECTIONS: usize = 40;
/// Stiffness that rounds the corners where fronts from two sides meet.
const STIFFNESS: f64 = 0.5;

/// Steps from the border at every node: positive inside, negative just outside.
pub(crate) fn depth(
    chart: &dyn Chart,
    lattice: &Lattice,
    stance: &Stance<'_>,
) -> Result<Vec<f64>, PatternError> {
    let border = border(chart, lattice);
    let mut gradient = vec![Vec2::X; lattice.spots.len()];
    let mut depth = Vec::new();
    for _ in 0..ROUNDS {
        let dual = duals(lattice, stance, &gradient)?;
        depth = inwards(lattice, &dual, &border);
        gradient = next_directions(lattice, &depth, gradient);
    }
    depth.iter_mut().for_each(|d| *d /= AIM);
    Ok(depth)
}

/// For nodes beside the border, the chart vectors to it that are shortest in each direction.
fn border(chart: &dyn Chart, lattice: &Lattice) -> Vec<(usize, Vec<Vec2>)> {
    use rayon::prelude::*;
    (0..lattice.spots.len())
        .into_par_iter()
        .filter_map(|node| {
            let q = lattice.place(node);
            let inside = lattice.inside[node];
            let ways: Vec<Vec2> = (0..RAYS)
                .filter_map(|k| {
                    let way = Vec2::from_angle(TAU * k as f64 / RAYS as f64) * lattice.cell * REACH;
                    crossing(chart, q, way, inside)
                })
                .collect();
            (!ways.is_empty()).then_some((node, ways))
        })
        .collect()
}

fn crossing(chart: &dyn Chart, q: Vec2, way: Vec2, inside: bool) -> Option<Vec2> {
    const PROBES: usize = 4;
    let at = |f: f64| chart.covers(q + way * f) == inside;
    let out = (1..=PROBES).find(|k| !at(*k as f64 / PROBES as f64))?;
    let (mut here, mut there) = ((out - 1) as f64 / PROBES as f64, out as f64 / PROBES as f64);
    for _ in 0..BISECTIONS / 2 {
        let middle = 0.5 * (here + there);
        if at(middle) { here = middle } else { there = middle }
    }
    Some(way * (0.5 * (here + there)))
}

fn inwards(lattice: &Lattice, dual: &[Option<Sym2>], border: &[(usize, Vec<Vec2>)]) -> Vec<f64> {
    let length = |node: usize, way: &Vec2| {
        let metric = dual[node].and_then(Sym2::inverse)?;
        let w = *way / lattice.cell;
        Some(metric.form(w.x, w.y).sqrt())
    };
    let near: Vec<(usize, f64)> = border
        .iter()
        .filter_map(|(node, ways)| {
            let d = ways.iter().filter_map(|w| length(*node, w)).fold(f64::INFINITY, f64::min);
            d.is_finite().then_some((*node, if lattice.inside[*node] { d } else { -d }))
        })
        .collect();
    let within: Vec<Option<Sym2>> =
        dual.iter().zip(&lattice.inside).map(|(d, inside)| d.filter(|_| *inside)).collect();
    let seeds: Vec<(usize, f64)> = near.iter().copied().filter(|(_, d)| *d >= 0.0).collect();
    let mut depth = solve(&Problem { size: lattice.size, dual: &within, seeds: &seeds });
    let outermost = near.iter().map(|n| n.1).fold(0.0, f64::min);
    for (node, value) in depth.iter_mut().enumerate() {
        if !lattice.inside[node] || !value.is_finite() {
            *value = outermost;
        }
    }
    for (node, d) in near {
        depth[node] = d;
    }
    depth
}

/// The spiral and the parameters at which its turns begin, the last end included; `None` where the
/// turns are not rings about one point, so that no single spiral exists.
pub(crate) fn curve(lattice: &Lattice, depth: &[f64]) -> Option<(Curve, Vec<f64>)> {
    let innermost = (0..depth.len()).max_by(|a, b| depth[*a].total_cmp(&depth[*b]))?;
    let centre = lattice.place(innermost);
    let most = depth[innermost];
    let reach = lattice.cell * Vec2::new(lattice.size[0] as f64, lattice.size[1] as f64);
    let rays = Rays { lattice, depth, centre, reach, most };
    rays.are_rings().then_some(())?;
    let inwards = most - LAST - FIRST;
    // the first and the last turn close
    let turns = if inwards > 0.0 { 2.0 + inwards / RAMP } else { 1.0 };
    if turns.is_nan() || turns > MOST_TURNS {
        return None;
    }
    let per_turn = RAYS_PER_NODE * (lattice.size[0] + lattice.size[1]);
    let count = (turns * per_turn as f64).ceil() as usize;
    let units: Vec<Vec2> = {
        use rayon::prelude::*;
        (0..=count)
            .into_par_iter()
            .map(|k| {
                let turn = turns * k as f64 / count as f64;
                let deep = FIRST + (RAMP * (turn - 1.0)).clamp(0.0, inwards.max(0.0));
                rays.at(TAU * turn.fract(), deep) / lattice.cell
            })
            .collect()
    };
    let along = running_length(&units);
    let even = smoothed(&resampled(&units, SPACING), STIFFNESS);
    let per_unit = (even.len() - 1) as f64 / along[count];
    let spline = Spline::through(even.into_iter().map(|q| q * lattice.cell).collect())?;
    let starts = (0..turns.ceil() as usize)
        .map(|t| (count as f64 * t as f64 / turns).round() as usize)
        .chain([count])
        .map(|k| along[k] * per_unit)
        .collect();
    Some((Curve::Smooth(spline), starts))
}

fn running_length(points: &[Vec2]) -> Vec<f64> {
    let mut along = vec![0.0];
    for w in points.windows(2) {
        along.push(along[along.len() - 1] + w[0].distance(w[1]));
    }
    along
}

struct Rays<'a> {
    lattice: &'a Lattice,
    depth: &'a [f64],
    centre: Vec2,
    reach: Vec2,
    most: f64,
}

impl Rays<'_> {
    fn way(&self, angle: f64) -> Vec2 {
        Vec2::from_angle(angle) * self.reach
    }

    fn value(&self, way: Vec2, f: f64) -> f64 {
        self.lattice.value(self.depth, self.centre + way * f)
    }

    /// Place on a ray where the depth falls to `depth`.
    fn at(&self, angle: f64, depth: f64) -> Vec2 {
        let way = self.way(angle);
        let (mut inner, mut outer) = (0.0, 1.0);
        for _ in 0..BISECTIONS {
            let middle = 0.5 * (inner + outer);
            if self.value(way, middle) > depth { inner = middle } else { outer = middle }
        }
        self.centre + way * inner
    }

    /// Whether the depth only falls along every ray.
    fn are_rings(&self) -> bool {
        const PLACES: usize = 200;
        (0..64).all(|k| {
            let way = self.way(TAU * f64::from(k) / 64.0);
            let mut lowest = self.most;
            let mut left = false;
            (1..=PLACES).all(|m| {
                let v = self.value(way, m as f64 / PLACES as f64);
                left |= v < 0.0;
                let falls = v <= lowest + 0.02 * self.most && (!left || v < FIRST);
                lowest = lowest.min(v);
                falls
            })
        })
    }
}
