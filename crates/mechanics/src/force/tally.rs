//! The forces of many parts on a grid of angles.
//!
//! Where all of a part is in the cut its harmonics count as a whole: they are added where that begins
//! and taken away where it ends, and summed up once; where only some of it is in the cut it is
//! integrated there. Teeth that differ meet in one sum, each turned by its pitch.

use super::harmonic::{Wave, value};
use super::part::{ON_THE_EDGE_RAD, Part};
use super::revolution::Grid;
use std::f64::consts::TAU;

pub(super) struct Tally<'a> {
    grid: &'a Grid,
    forces: Vec<[f64; 4]>,
    /// What begins at every angle.
    begins: Vec<Wave>,
}

impl<'a> Tally<'a> {
    pub(super) fn new(grid: &'a Grid) -> Self {
        let steps = grid.steps();
        Self { grid, forces: vec![[0.0; 4]; steps], begins: vec![[0.0; 12]; steps + 1] }
    }

    /// Adds what a tooth of `teeth` cuts.
    pub(super) fn add(&mut self, parts: &[Part], tooth: usize, teeth: usize) {
        let steps = self.grid.steps() as i64;
        let per_rad = steps as f64 / TAU;
        let step_rad = TAU / steps as f64;
        let later = steps / teeth as i64 * tooth as i64;
        let pitch = (TAU * tooth as f64 / teeth as f64).sin_cos();
        for part in parts {
            let (open, whole) = (part.open(), part.whole());
            let first = up((open.from_rad - ON_THE_EDGE_RAD) * per_rad);
            let last = down((open.to_rad + ON_THE_EDGE_RAD) * per_rad);
            let (from, to) = (up(whole.from_rad * per_rad), down(whole.to_rad * per_rad));
            let all = from <= to;
            let (until, since) = if all { (from, to + 1) } else { (last + 1, last + 1) };
            for i in (first..until).chain(since..=last) {
                let turn = &self.grid.turns[within(i, steps)];
                add(
                    &mut self.forces[within(i + later, steps)],
                    part.in_turn(i as f64 * step_rad, turn),
                );
            }
            if all {
                self.whole(
                    &part.wave(pitch),
                    within(from + later, steps),
                    within(to + later, steps),
                );
            }
        }
    }

    /// Counts harmonics from one angle to another, both in.
    fn whole(&mut self, wave: &Wave, from: usize, to: usize) {
        more(&mut self.begins[from], wave);
        self.begins[to + 1].iter_mut().zip(wave).for_each(|(b, w)| *b -= w);
        if to < from {
            // past the end of the grid and on from its start
            more(&mut self.begins[0], wave);
        }
    }

    /// The forces at the angles of the grid.
    pub(super) fn finish(mut self) -> Vec<[f64; 4]> {
        let mut now: Wave = [0.0; 12];
        for ((force, turn), begin) in self.forces.iter_mut().zip(&self.grid.turns).zip(&self.begins)
        {
            more(&mut now, begin);
            add(force, value(&now, turn));
        }
        self.forces
    }
}

fn more(sum: &mut Wave, wave: &Wave) {
    sum.iter_mut().zip(wave).for_each(|(s, w)| *s += w);
}

pub(super) fn add(sum: &mut [f64; 4], more: [f64; 4]) {
    sum.iter_mut().zip(more).for_each(|(s, m)| *s += m);
}

/// The least whole number that is not below.
fn up(x: f64) -> i64 {
    let whole = x as i64;
    whole + i64::from((whole as f64) < x)
}

/// The greatest whole number that is not above.
fn down(x: f64) -> i64 {
    let whole = x as i64;
    whole - i64::from(whole as f64 > x)
}

/// The place on a grid of a step of any turn.
fn within(i: i64, steps: i64) -> usize {
    (if (0..steps).contains(&i) { i } else { i.rem_euclid(steps) }) as usize
}
