//! The force over a revolution: at any angle, on a grid of angles, and its peaks.

use super::chain::BY_ANGLE;
use super::harmonic::Turn;
use super::part::{ON_THE_EDGE_RAD, Part, parts};
use super::passage::Passages;
use super::ring::rings;
use super::tally::{Tally, add};
use super::window::teeth_in_cut;
use super::{Cut, Load};
use crate::deflection::At;
use std::f64::consts::TAU;

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
    pub(super) turns: Vec<Turn>,
}

impl Grid {
    /// At least `steps` angles for a cutter of `teeth` teeth.
    pub fn new(teeth: usize, steps: usize) -> Self {
        let teeth = teeth.max(1);
        let steps = steps.div_ceil(teeth).max(1) * teeth;
        let turn = |i: usize| Turn::of(TAU * i as f64 / steps as f64);
        Self { turns: (0..steps).map(turn).collect() }
    }

    /// Number of angles.
    pub fn steps(&self) -> usize {
        self.turns.len()
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
        let rings = rings(cut);
        let chain = cut.chain(&rings, BY_ANGLE);
        let mut passages = Passages::new(cut);
        let parts = (0..different).map(|t| parts(&mut passages, &chain, &rings, t)).collect();
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
        let forces = if self.parts.len() == 1 {
            self.together(&self.apart(grid))
        } else {
            let mut tally = Tally::new(grid);
            for (tooth, parts) in self.parts.iter().enumerate() {
                tally.add(parts, tooth, self.teeth);
            }
            tally.finish()
        };
        forces.into_iter().map(Load::of).collect()
    }

    /// The same of each different tooth alone, its tip standing at the angles of the grid.
    fn apart(&self, grid: &Grid) -> Vec<Vec<[f64; 4]>> {
        let alone = |parts: &Vec<Part>| {
            let mut tally = Tally::new(grid);
            tally.add(parts, 0, self.teeth);
            tally.finish()
        };
        self.parts.iter().map(alone).collect()
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
        let chips = self.parts.iter().flatten().map(Part::chip_mm);
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
