//! The force over a revolution: at any angle, on a grid of angles, and its peaks.

use super::harmonic::{self, Harmonics};
use super::passage::{self, Piece, pieces};
use super::{Cut, Load};
use crate::engagement::Slice;
use std::f64::consts::TAU;

/// One piece of one slice as one tooth cuts it.
struct Part {
    piece: Piece,
    /// By width of the slice.
    element: Harmonics,
    radius_mm: f64,
    width_mm: f64,
    lag_rad: f64,
    span_rad: f64,
}

impl Part {
    /// Force where the tooth's tip stands at `angle_rad`, whatever the turn.
    fn at(&self, angle_rad: f64) -> [f64; 4] {
        let (first, last) = self.window();
        let least = ((first - angle_rad) / TAU).ceil() as i64;
        let most = ((last - angle_rad) / TAU).floor() as i64;
        let mut sum = [0.0; 4];
        for turn in least..=most {
            add(&mut sum, self.in_turn(angle_rad + TAU * turn as f64));
        }
        sum
    }

    /// Angles of the tip between which some of the part is in the cut, rad.
    fn window(&self) -> (f64, f64) {
        let reach = 0.5 * self.span_rad.abs() + ON_THE_EDGE_RAD;
        (self.piece.entry_rad + self.lag_rad - reach, self.piece.exit_rad + self.lag_rad + reach)
    }

    /// The same in the turn in which the part passes the cut.
    fn in_turn(&self, angle_rad: f64) -> [f64; 4] {
        let (entry, exit) = (self.piece.entry_rad, self.piece.exit_rad);
        let middle = angle_rad - self.lag_rad;
        if self.span_rad.abs() < SPAN_RAD {
            let inside = middle >= entry - ON_THE_EDGE_RAD && middle <= exit + ON_THE_EDGE_RAD;
            let share = if inside { self.width_mm } else { 0.0 };
            return harmonic::at(&self.element, middle).map(|v| v * share);
        }
        let half = 0.5 * self.span_rad.abs();
        let (from, to) = ((middle - half).max(entry), (middle + half).min(exit));
        if to <= from {
            return [0.0; 4];
        }
        let density = self.width_mm / self.span_rad.abs();
        harmonic::integral(&self.element, from, to).map(|v| v * density)
    }
}

/// A lag this small over a slice is none, rad.
const SPAN_RAD: f64 = 1e-9;
/// A helix that winds closer than this over a slice is as good as an even ring, rad.
const DENSEST_RAD: f64 = 1e3;
/// Rounding at entry and exit of an edge without lag, rad.
const ON_THE_EDGE_RAD: f64 = 1e-9;
/// Angles of the grid that peaks are looked for on, per revolution at least.
const FINE: usize = 3600;

/// Peaks over a revolution.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Peaks {
    /// Largest absolute value of every component.
    pub load: Load,
    /// Largest magnitude across the axis, N.
    pub across_n: f64,
    /// Mean magnitude across the axis, N.
    pub mean_across_n: f64,
    /// Fewest teeth in the cut.
    pub teeth_min: usize,
    /// Most teeth in the cut.
    pub teeth_max: usize,
    /// Largest tangential force on one tooth, N.
    pub tooth_n: f64,
    /// Thickest chip of any tooth, mm.
    pub chip_mm: f64,
}

/// Even angles of a revolution from 0 on, a whole number of them for each tooth.
#[derive(Debug, Clone)]
pub struct Grid {
    /// 1, sin φ, cos φ, sin 2φ, cos 2φ.
    waves: Vec<[f64; 5]>,
}

impl Grid {
    /// At least `steps` angles for a cutter of `teeth` teeth.
    pub fn new(teeth: usize, steps: usize) -> Self {
        let teeth = teeth.max(1);
        let steps = steps.div_ceil(teeth).max(1) * teeth;
        let wave = |i: usize| {
            let (s, c) = (TAU * i as f64 / steps as f64).sin_cos();
            [1.0, s, c, 2.0 * s * c, c * c - s * s]
        };
        Self { waves: (0..steps).map(wave).collect() }
    }

    /// Number of angles.
    pub fn steps(&self) -> usize {
        self.waves.len()
    }
}

/// A cut prepared for angles.
pub struct Revolution {
    teeth: usize,
    /// What every tooth cuts; one list for all where they cut alike.
    parts: Vec<Vec<Part>>,
}

impl Revolution {
    /// Prepares a cut.
    pub fn new(cut: &Cut<'_>) -> Self {
        let alike = cut.runout.offset_mm == 0.0 && cut.breaker.is_none();
        let different = if alike { 1 } else { cut.teeth };
        let parts = (0..different).map(|tooth| parts(cut, tooth)).collect();
        Self { teeth: cut.teeth.max(1), parts }
    }

    fn of_tooth(&self, tooth: usize) -> &[Part] {
        &self.parts[if self.parts.len() == 1 { 0 } else { tooth }]
    }

    /// Force while the first tooth's tip stands at `angle_rad`.
    pub fn at(&self, angle_rad: f64) -> Load {
        let pitch = TAU / self.teeth as f64;
        let mut sum = [0.0; 4];
        for tooth in 0..self.teeth {
            add(&mut sum, self.tooth_at(tooth, angle_rad - pitch * tooth as f64));
        }
        Load::of(sum)
    }

    fn tooth_at(&self, tooth: usize, angle_rad: f64) -> [f64; 4] {
        let mut sum = [0.0; 4];
        for part in self.of_tooth(tooth) {
            add(&mut sum, part.at(angle_rad));
        }
        sum
    }

    /// Forces at the angles of a grid made for as many teeth.
    pub fn history(&self, grid: &Grid) -> Vec<Load> {
        let (steps, waves) = (grid.waves.len(), &grid.waves);
        let per_tooth = steps / self.teeth;
        let mut sum = vec![[0.0; 4]; steps];
        if self.parts.len() == 1 {
            let own = single(&self.parts[0], waves);
            for (i, s) in sum.iter_mut().enumerate().take(per_tooth) {
                for tooth in 0..self.teeth {
                    add(s, own[i + per_tooth * tooth]);
                }
            }
            for i in per_tooth..steps {
                sum[i] = sum[i - per_tooth];
            }
        } else {
            for (tooth, parts) in self.parts.iter().enumerate() {
                let own = single(parts, waves);
                let shift = per_tooth * tooth;
                for (i, s) in sum.iter_mut().enumerate() {
                    add(s, own[(i + steps - shift) % steps]);
                }
            }
        }
        sum.into_iter().map(Load::of).collect()
    }

    /// Peaks: on a fine grid, and wherever an edge enters or leaves.
    pub fn peaks(&self) -> Peaks {
        let fine = Grid::new(self.teeth, FINE);
        let grid = self.history(&fine);
        let mut out = Peaks::default();
        let mut see = |load: &Load| {
            let l = &mut out.load;
            l.x_n = l.x_n.max(load.x_n.abs());
            l.y_n = l.y_n.max(load.y_n.abs());
            l.z_n = l.z_n.max(load.z_n.abs());
            l.torque_n_mm = l.torque_n_mm.max(load.torque_n_mm.abs());
            out.across_n = out.across_n.max(load.across_n());
        };
        grid.iter().for_each(&mut see);
        let corners = self.corners();
        corners.iter().map(|angle| self.at(*angle)).for_each(|load| see(&load));
        out.mean_across_n = grid.iter().map(Load::across_n).sum::<f64>() / grid.len() as f64;
        (out.teeth_min, out.teeth_max) = self.teeth_in_cut(&corners);
        out.tooth_n = self.tooth_peak_n(&fine);
        let chips = self.parts.iter().flatten().map(|p| passage::thickest_mm(&p.piece));
        out.chip_mm = chips.fold(0.0, f64::max);
        out
    }

    /// Angles at which an end of some part passes entry or exit, of all teeth, within a turn.
    fn corners(&self) -> Vec<f64> {
        let pitch = TAU / self.teeth as f64;
        let mut out = Vec::new();
        for tooth in 0..self.teeth {
            for part in self.of_tooth(tooth) {
                let half = 0.5 * part.span_rad.abs();
                for end in [part.piece.entry_rad, part.piece.exit_rad] {
                    for side in [-half, half] {
                        let angle = end + part.lag_rad + side + pitch * tooth as f64;
                        out.push(angle.rem_euclid(TAU));
                    }
                }
            }
        }
        out.sort_by(f64::total_cmp);
        out.dedup_by(|a, b| (*a - *b).abs() < ON_THE_EDGE_RAD);
        out
    }

    fn teeth_in_cut(&self, corners: &[f64]) -> (usize, usize) {
        if corners.is_empty() {
            return (0, 0);
        }
        let pitch = TAU / self.teeth as f64;
        let next = |i: usize| if i + 1 < corners.len() { corners[i + 1] } else { corners[0] + TAU };
        let middles = (0..corners.len()).map(|i| 0.5 * (corners[i] + next(i)));
        let counts = middles.map(|angle| {
            let cutting =
                |t: &usize| self.tooth_at(*t, angle - pitch * *t as f64).iter().any(|v| *v != 0.0);
            (0..self.teeth).filter(cutting).count()
        });
        counts.fold((usize::MAX, 0), |(low, high), n| (low.min(n), high.max(n)))
    }

    /// Largest torque of one tooth over its radius, N.
    fn tooth_peak_n(&self, grid: &Grid) -> f64 {
        let lever = self.parts.iter().flatten().map(|p| p.radius_mm).fold(0.0, f64::max);
        if lever <= 0.0 {
            return 0.0;
        }
        let torque = self.parts.iter().flat_map(|p| single(p, &grid.waves)).map(|v| v[3].abs());
        torque.fold(0.0, f64::max) / lever
    }
}

fn parts(cut: &Cut<'_>, tooth: usize) -> Vec<Part> {
    let of = |slice: Slice| {
        let dense = |angle: f64| angle.clamp(-DENSEST_RAD, DENSEST_RAD);
        let (lag_rad, span_rad) = (dense(slice.lag_rad), dense(slice.lag_span_rad));
        let width_mm = slice.width_mm;
        pieces(cut, tooth, &slice).into_iter().map(move |piece| Part {
            element: harmonic::element(
                &cut.law,
                slice.kappa_rad,
                slice.radius_mm,
                piece.slope_mm,
                piece.base_mm,
            ),
            radius_mm: slice.radius_mm,
            piece,
            width_mm,
            lag_rad,
            span_rad,
        })
    };
    cut.fine_slices().into_iter().flat_map(of).collect()
}

fn add(sum: &mut [f64; 4], more: [f64; 4]) {
    for (s, m) in sum.iter_mut().zip(more) {
        *s += m;
    }
}

/// Force of one tooth at every angle of the grid. Where all of a part is in the cut its harmonics
/// count as a whole: they are added where that begins and taken away where it ends, and summed up
/// once; where only some of it is in the cut it is integrated there.
fn single(parts: &[Part], waves: &[[f64; 5]]) -> Vec<[f64; 4]> {
    let steps = waves.len();
    let step = TAU / steps as f64;
    let mut out = vec![[0.0; 4]; steps];
    let mut begins: Vec<Harmonics> = vec![[[0.0; 5]; 4]; steps + 1];
    for part in parts {
        let half = 0.5 * part.span_rad.abs();
        let (entry, exit) = (part.piece.entry_rad, part.piece.exit_rad);
        let (opens, closes) = part.window();
        let (first, last) = ((opens / step).ceil() as i64, (closes / step).floor() as i64);
        let whole_from = ((entry + part.lag_rad + half) / step).ceil() as i64;
        let whole_to = ((exit + part.lag_rad - half) / step).floor() as i64;
        let index = |i: i64| i.rem_euclid(steps as i64) as usize;
        let partial = |out: &mut Vec<[f64; 4]>, i: i64| {
            add(&mut out[index(i)], part.in_turn(i as f64 * step));
        };
        if whole_from > whole_to {
            (first..=last).for_each(|i| partial(&mut out, i));
            continue;
        }
        (first..whole_from).chain(whole_to + 1..=last).for_each(|i| partial(&mut out, i));
        let mean = harmonic::averaged(&part.element, part.lag_rad, part.span_rad);
        let (from, to) = (index(whole_from), index(whole_to));
        apply(&mut begins[from], &mean, part.width_mm);
        apply(&mut begins[to + 1], &mean, -part.width_mm);
        if to < from {
            // past the end of the grid and on from its start
            apply(&mut begins[0], &mean, part.width_mm);
        }
    }
    let mut now: Harmonics = [[0.0; 5]; 4];
    for ((force, wave), begin) in out.iter_mut().zip(waves).zip(&begins) {
        apply(&mut now, begin, 1.0);
        for (f, row) in force.iter_mut().zip(&now) {
            *f += row.iter().zip(wave).map(|(a, b)| a * b).sum::<f64>();
        }
    }
    out
}

fn apply(sum: &mut Harmonics, more: &Harmonics, times: f64) {
    for (s, m) in sum.iter_mut().flatten().zip(more.iter().flatten()) {
        *s += times * m;
    }
}
