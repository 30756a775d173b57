//! The force over a revolution: at any angle, on a grid of angles, and its peaks.

use super::chain::{BY_ANGLE, Chain};
use super::harmonic::{self, Harmonics};
use super::passage::{Piece, pieces};
use super::window::{Window, teeth_in_cut};
use super::{Cut, Load};
use crate::deflection::At;
use crate::engagement::Slice;
use std::f64::consts::TAU;

/// One piece of one slice as one tooth cuts it.
struct Part {
    /// By width of the slice.
    element: Harmonics,
    /// Thickest chip, mm.
    chip_mm: f64,
    radius_mm: f64,
    z_mm: f64,
    width_mm: f64,
    lag_rad: f64,
    span_rad: f64,
    /// What must have come.
    after: [Passing; 2],
    /// What must not have come.
    before: [Passing; 2],
}

/// When an angle is passed: where the tip stands as the middle of the slice passes it, and how much
/// that grows over the slice, rad.
#[derive(Clone, Copy)]
struct Passing {
    middle_rad: f64,
    span_rad: f64,
}

impl Passing {
    fn first_rad(&self) -> f64 {
        self.middle_rad - 0.5 * self.span_rad.abs()
    }

    fn last_rad(&self) -> f64 {
        self.middle_rad + 0.5 * self.span_rad.abs()
    }

    /// Keeps of the places of a slice those that have passed, or those that have not.
    fn keep(&self, angle_rad: f64, passed: bool, (from, to): (f64, f64)) -> (f64, f64) {
        let ahead = angle_rad - self.middle_rad;
        if self.span_rad.abs() < SPAN_RAD {
            let stays = if passed { ahead >= -ON_THE_EDGE_RAD } else { ahead <= ON_THE_EDGE_RAD };
            return if stays { (from, to) } else { (0.0, 0.0) };
        }
        let place = ahead / self.span_rad;
        if passed == (self.span_rad > 0.0) { (from, to.min(place)) } else { (from.max(place), to) }
    }
}

impl Part {
    fn new(piece: &Piece, slice: &Slice, law: Harmonics) -> Self {
        let dense = |angle: f64| angle.clamp(-DENSEST_RAD, DENSEST_RAD);
        let (lag_rad, span_rad) = (dense(slice.lag_rad), dense(slice.lag_span_rad));
        let passing = |angle: f64, span: f64| Passing {
            middle_rad: angle + lag_rad,
            span_rad: span + span_rad,
        };
        Self {
            element: law,
            chip_mm: piece.thickest_mm(slice),
            radius_mm: slice.radius_mm,
            z_mm: slice.z_mm,
            width_mm: slice.width_mm,
            lag_rad,
            span_rad,
            after: [passing(piece.from_rad, 0.0), passing(slice.entry_rad, slice.entry_span_rad)],
            before: [passing(piece.to_rad, 0.0), passing(slice.exit_rad, slice.exit_span_rad)],
        }
    }

    /// Force where the tooth's tip stands at `angle_rad`, whatever the turn.
    fn at(&self, angle_rad: f64) -> [f64; 4] {
        let open = self.open();
        let least = ((open.from_rad - ON_THE_EDGE_RAD - angle_rad) / TAU).ceil() as i64;
        let most = ((open.to_rad + ON_THE_EDGE_RAD - angle_rad) / TAU).floor() as i64;
        let mut sum = [0.0; 4];
        for turn in least..=most {
            add(&mut sum, self.in_turn(angle_rad + TAU * turn as f64));
        }
        sum
    }

    /// Angles of the tip between which some of the part is in the cut; the wrong way round where none
    /// ever is.
    fn open(&self) -> Window {
        let [a, b] = self.after.map(|p| p.first_rad());
        let [c, d] = self.before.map(|p| p.last_rad());
        Window { from_rad: a.max(b), to_rad: c.min(d) }
    }

    /// Angles of the tip between which all of it is; the wrong way round where not all ever is.
    fn whole(&self) -> Window {
        let [a, b] = self.after.map(|p| p.last_rad());
        let [c, d] = self.before.map(|p| p.first_rad());
        Window { from_rad: a.max(b), to_rad: c.min(d) }
    }

    /// Angles of the tip at which the force bends or jumps.
    fn corners(&self) -> [f64; 8] {
        let [a, b] = self.after;
        let [c, d] = self.before;
        let [e, f, g, h] = [a, b, c, d].map(|p| p.first_rad());
        let [i, j, k, l] = [a, b, c, d].map(|p| p.last_rad());
        [e, f, g, h, i, j, k, l]
    }

    /// The same in the turn in which the part passes the cut.
    fn in_turn(&self, angle_rad: f64) -> [f64; 4] {
        let mut places = (-0.5, 0.5);
        for p in &self.after {
            places = p.keep(angle_rad, true, places);
        }
        for p in &self.before {
            places = p.keep(angle_rad, false, places);
        }
        let (from, to) = places;
        if to <= from {
            return [0.0; 4];
        }
        let middle = angle_rad - self.lag_rad;
        if self.span_rad.abs() < SPAN_RAD {
            let share = self.width_mm * (to - from);
            return harmonic::at(&self.element, middle).map(|v| v * share);
        }
        let density = self.width_mm / self.span_rad;
        let (early, late) = (middle - to * self.span_rad, middle - from * self.span_rad);
        harmonic::integral(&self.element, early, late).map(|v| v * density)
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
/// Corners up to which each is looked at for peaks; of more, those beside the largest of the grid.
const ALL_CORNERS: usize = 400;
/// Corners looked at beside one of the largest of the grid.
const BESIDE: usize = 12;

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
    /// Root of the mean square of the torque, N mm: what heats a spindle.
    pub rms_torque_n_mm: f64,
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
        let different = if alike { 1 } else { cut.teeth.max(1) };
        let slices = cut.fine_slices();
        let chain = cut.chain(&slices, BY_ANGLE);
        let parts = (0..different).map(|tooth| parts(cut, &chain, &slices, tooth)).collect();
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

    /// The parts of the force across the feed (y) while the first tooth's tip stands at `angle_rad`,
    /// by the height over the tip at which they act.
    pub fn across_by_height(&self, angle_rad: f64) -> Vec<At> {
        let pitch = TAU / self.teeth as f64;
        let of = |tooth: usize| {
            let turned = angle_rad - pitch * tooth as f64;
            let at = move |p: &Part| At { z_mm: p.z_mm, force_n: p.at(turned)[1] };
            self.of_tooth(tooth).iter().map(at).filter(|a| a.force_n != 0.0)
        };
        (0..self.teeth).flat_map(of).collect()
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
        self.together(&self.apart(grid)).into_iter().map(Load::of).collect()
    }

    /// The same of each different tooth alone, its tip standing at the angles of the grid.
    fn apart(&self, grid: &Grid) -> Vec<Vec<[f64; 4]>> {
        self.parts.iter().map(|parts| single(parts, &grid.waves)).collect()
    }

    /// All teeth together.
    fn together(&self, apart: &[Vec<[f64; 4]>]) -> Vec<[f64; 4]> {
        let steps = apart[0].len();
        let per_tooth = steps / self.teeth;
        let mut sum = vec![[0.0; 4]; steps];
        if let [own] = apart {
            for (i, s) in sum.iter_mut().enumerate().take(per_tooth) {
                for tooth in 0..self.teeth {
                    add(s, own[i + per_tooth * tooth]);
                }
            }
            for i in per_tooth..steps {
                sum[i] = sum[i - per_tooth];
            }
        } else {
            for (tooth, own) in apart.iter().enumerate() {
                let (end, start) = own.split_at(steps - per_tooth * tooth);
                let turned = start.iter().chain(end);
                sum.iter_mut().zip(turned).for_each(|(s, own)| add(s, *own));
            }
        }
        sum
    }

    /// Peaks: on a fine grid, and where an edge enters or leaves.
    pub fn peaks(&self) -> Peaks {
        let fine = Grid::new(self.teeth, FINE);
        let apart = self.apart(&fine);
        let grid: Vec<Load> = self.together(&apart).into_iter().map(Load::of).collect();
        let chips = self.parts.iter().flatten().map(|p| p.chip_mm);
        let mut out = Peaks { chip_mm: chips.fold(0.0, f64::max), ..Peaks::default() };
        let mut see = |load: &Load| {
            let l = &mut out.load;
            l.x_n = l.x_n.max(load.x_n.abs());
            l.y_n = l.y_n.max(load.y_n.abs());
            l.z_n = l.z_n.max(load.z_n.abs());
            l.torque_n_mm = l.torque_n_mm.max(load.torque_n_mm.abs());
            out.across_n = out.across_n.max(load.across_n());
        };
        grid.iter().for_each(&mut see);
        let corners = worth_a_look(&self.corners(), &grid);
        corners.into_iter().map(|angle| self.at(angle)).for_each(|load| see(&load));
        let mean = |f: &dyn Fn(&Load) -> f64| grid.iter().map(f).sum::<f64>() / grid.len() as f64;
        out.mean_across_n = mean(&Load::across_n);
        out.rms_torque_n_mm = mean(&|l| l.torque_n_mm * l.torque_n_mm).sqrt();
        (out.teeth_min, out.teeth_max) =
            teeth_in_cut(self.teeth, |tooth| self.of_tooth(tooth).iter().map(Part::open).collect());
        let lever = self.parts.iter().flatten().map(|p| p.radius_mm).fold(0.0, f64::max);
        if lever > 0.0 {
            let torques = apart.iter().flatten().map(|v| v[3].abs());
            out.tooth_n = torques.fold(0.0, f64::max) / lever;
        }
        out
    }

    /// Angles at which an end of some part passes entry or exit, of all teeth, within a turn.
    fn corners(&self) -> Vec<f64> {
        let pitch = TAU / self.teeth as f64;
        let mut out = Vec::new();
        for tooth in 0..self.teeth {
            for part in self.of_tooth(tooth) {
                let ahead = pitch * tooth as f64;
                out.extend(part.corners().map(|angle| (angle + ahead).rem_euclid(TAU)));
            }
        }
        out.sort_by(f64::total_cmp);
        out.dedup_by(|a, b| (*a - *b).abs() < ON_THE_EDGE_RAD);
        out
    }
}

/// The corners that may hold a peak. Of a few, all. Of many, each matters little and the grid is
/// nearly met: some of those within a step of the largest value of each kind.
fn worth_a_look(corners: &[f64], grid: &[Load]) -> Vec<f64> {
    if corners.len() <= ALL_CORNERS {
        return corners.to_vec();
    }
    let step = TAU / grid.len() as f64;
    let kinds: [&dyn Fn(&Load) -> f64; 5] = [
        &|l| l.x_n.abs(),
        &|l| l.y_n.abs(),
        &|l| l.z_n.abs(),
        &|l| l.torque_n_mm.abs(),
        &Load::across_n,
    ];
    let mut out = Vec::new();
    for kind in kinds {
        let largest = (0..grid.len()).max_by(|a, b| kind(&grid[*a]).total_cmp(&kind(&grid[*b])));
        let angle = largest.unwrap_or(0) as f64 * step;
        let from = corners.partition_point(|c| *c < angle - step);
        let to = corners.partition_point(|c| *c <= angle + step);
        let every = (to - from).div_ceil(BESIDE).max(1);
        out.extend(corners[from..to].iter().step_by(every));
    }
    out
}

fn parts(cut: &Cut<'_>, chain: &Chain, slices: &[Slice], tooth: usize) -> Vec<Part> {
    let of = |slice: &Slice, piece: &Piece| {
        let (kappa, radius) = (slice.kappa_rad, slice.radius_mm);
        let element = harmonic::element(&piece.law, kappa, radius, piece.slope_mm, piece.base_mm);
        Part::new(piece, slice, element)
    };
    let mut out = Vec::new();
    for slice in slices {
        out.extend(pieces(cut, chain, tooth, slice).iter().map(|p| of(slice, p)));
    }
    out
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
        let (open, whole) = (part.open(), part.whole());
        let first = ((open.from_rad - ON_THE_EDGE_RAD) / step).ceil() as i64;
        let last = ((open.to_rad + ON_THE_EDGE_RAD) / step).floor() as i64;
        let whole_from = (whole.from_rad / step).ceil() as i64;
        let whole_to = (whole.to_rad / step).floor() as i64;
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
