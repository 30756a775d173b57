//! Contour-parallel paths: offsets of the border a fixed width apart, from the middle outwards.

use crate::cutting::{self, still};
use crate::entry::{down, roomiest};
use crate::error::ClearingError;
use crate::ground::{Contact, Ground};
use crate::job::{Hold, Job, Kind, Run};
use crate::link::is_free;
use crate::site::Site;
use geom::Vec2;
use planar::Region;

/// An arc of contact above this is the whole front in the material, rad.
const WHOLE_RAD: f64 = 2.8;

/// Share of the radius within which the cutter surely cuts.
const COVERS: f64 = 0.98;
/// Angle between directions in which clear ground is looked for, rad.
const AROUND_RAD: f64 = std::f64::consts::PI / 18.0;
/// What is thinner than twice this, over the radius, is no place missed.
const THIN: f64 = 0.01;

/// Lays the whole path.
pub(crate) fn lay(job: &Job<'_>, site: &Site) -> Result<(Vec<Run>, Ground), ClearingError> {
    let step_mm = site.steering(job).step_mm;
    let ground = Ground::new(job.stock, site.grid, job.cutter_radius_mm, step_mm);
    let open = open_border(job);
    let walled = open.len() < job.inside.loops().len();
    let mut loops = loops(job, &ground, if walled { open } else { Vec::new() });
    if walled {
        loops.reverse();
    }
    let mut loops: Vec<Vec<Vec2>> = loops.into_iter().flatten().collect();
    let mut laying = Laying { job, site, ground, walled, runs: Vec::new(), at: None };
    while !loops.is_empty() {
        let (k, i) = laying.nearest(&loops);
        let mut line = loops.remove(k);
        line.rotate_left(i);
        if !laying.go_to(line[0]) {
            continue;
        }
        line.push(line[0]);
        laying.cut_along(&line);
    }
    match laying.runs.is_empty() {
        true => Err(site.no_entry(job)),
        false => Ok((laying.runs, laying.ground)),
    }
}

/// Closed lines by level, from the walls inwards (from the border where there is none), each with the
/// border on its right.
fn loops(job: &Job<'_>, ground: &Ground, open: Vec<Vec<[f64; 2]>>) -> Vec<Vec<Vec<Vec2>>> {
    let width = job.cutter_radius_mm * (1.0 - job.arc_rad.cos());
    let least = job.least_corner_radius_mm;
    let radius = job.cutter_radius_mm;
    let framed = Region::of_pieces(&open);
    let mut levels = Vec::new();
    for k in 0..10_000 {
        let depth = radius + planar::ARC_MM + width * f64::from(k);
        let sharp = match open.is_empty() {
            true => job.inside.grown(-depth),
            false => {
                let beyond = Region::around(&open, depth + radius).less(&framed);
                job.inside.or(&beyond).grown(-depth)
            }
        };
        if sharp.is_empty() {
            break;
        }
        // corners rounded, where there is room for that
        let round = sharp.grown(-least).grown(least);
        let level = if round.is_empty() { sharp } else { round };
        // what no longer meets stock is not cut
        let meets = |l: &Vec<[f64; 2]>| {
            let ends = l.iter().zip(l.iter().cycle().skip(1));
            ends.map(|(a, b)| (Vec2::from(*a), Vec2::from(*b))).any(|(a, b)| {
                let pieces = (a.distance(b) / (0.5 * radius)).ceil().max(1.0) as usize;
                let at = |k: usize| a.lerp(b, k as f64 / pieces as f64);
                (0..pieces).any(|k| !ground.is_clear(at(k), 0.02 * radius))
            })
        };
        let missed = missed(&level, width, radius);
        let lines = level.loops().into_iter().chain(missed).filter(|l| l.len() > 2 && meets(l));
        let lines: Vec<Vec<Vec2>> =
            lines.map(|l| l.into_iter().map(Vec2::from).collect()).collect();
        if !open.is_empty() && lines.is_empty() {
            break;
        }
        levels.push(lines);
    }
    levels
}

/// Lines round what neither the cutter on a level's lines nor on those a width further in comes over:
/// what is left in the middle of a shape by a width above the radius.
fn missed(level: &Region, width: f64, radius: f64) -> Vec<Vec<[f64; 2]>> {
    let reach = COVERS * radius;
    if width <= reach {
        return Vec::new();
    }
    let within = level.grown(-reach).less(&level.grown(-width).grown(reach));
    // slivers between arcs are none
    let wide = within.grown(-THIN * radius).grown(THIN * radius);
    wide.loops()
}

/// Loops of the border that are no wall: no stock stands near them.
fn open_border(job: &Job<'_>) -> Vec<Vec<[f64; 2]>> {
    let near = 2.0 * job.cutter_radius_mm;
    let closed = job.inside.loops().into_iter().map(|mut l| {
        l.extend(l.first().copied());
        l
    });
    let far =
        |l: &Vec<[f64; 2]>| Region::around(std::slice::from_ref(l), near).and(job.stock).is_empty();
    closed.filter(far).collect()
}

struct Laying<'a> {
    job: &'a Job<'a>,
    site: &'a Site,
    ground: Ground,
    /// Whether any of the border is a wall: else all of it is open, and lines come from outside.
    walled: bool,
    runs: Vec<Run>,
    at: Option<Vec2>,
}

impl Laying<'_> {
    /// The first line, begun at its point nearest to the cutter.
    fn nearest(&self, loops: &[Vec<Vec2>]) -> (usize, usize) {
        let Some(at) = self.at else { return (0, 0) };
        let line = &loops[0];
        let far = |i: &usize| line[*i].distance_squared(at);
        (0, (0..line.len()).min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0))
    }

    /// Over cleared ground, across a width of stock, or down where none is clear; false if there is
    /// no way in.
    fn go_to(&mut self, to: Vec2) -> bool {
        if let Some(at) = self.at {
            if is_free(&self.ground, &self.site.room, at, to) {
                self.runs.push(still(Kind::Link, &[at, to]));
                self.at = Some(to);
                return true;
            }
            let width = self.job.cutter_radius_mm * (1.0 - self.job.arc_rad.cos());
            if at.distance(to) < 3.0 * width {
                self.cut_along(&[at, to]);
                return true;
            }
        }
        if self.ground.is_clear(to, 0.01 * self.job.cutter_radius_mm) {
            let from = self.at.unwrap_or(to);
            self.runs.push(still(Kind::Lift, &[from, to]));
            self.at = Some(to);
            return true;
        }
        if let Some(from) = self.beside(to).filter(|_| !self.walled) {
            if let Some(at) = self.at {
                self.runs.push(still(Kind::Lift, &[at, from]));
            }
            self.cut_along(&[from, to]);
            return true;
        }
        self.go_down(to)
    }

    /// The nearest of some clear places round one from which the way there is in the room.
    fn beside(&self, to: Vec2) -> Option<Vec2> {
        let radius = self.job.cutter_radius_mm;
        let clear = |p: &Vec2| {
            let room = (0..=8).all(|k| self.site.room.free(p.lerp(to, f64::from(k) / 8.0)) > -1e-3);
            room && self.ground.is_clear(*p, 0.01 * radius)
        };
        let round = |d: i32| {
            let at = move |k: i32| Vec2::from_angle(f64::from(k) * AROUND_RAD);
            (0..36).map(move |k| to + at(k) * (0.1 * radius * f64::from(d)))
        };
        (1..=20).flat_map(round).find(clear)
    }

    fn go_down(&mut self, to: Vec2) -> bool {
        let radius = self.job.cutter_radius_mm;
        let room = roomiest(&self.site.edges, &[to], 0.1 * radius);
        let down = room.and_then(|r| {
            let near = [(to, crate::entry::clearance(&self.site.edges, to)), r];
            near.into_iter()
                .find_map(|r| down(&self.job.entry, &self.site.room, radius, self.job.chord_mm, r))
        });
        let Some(way) = down else { return false };
        if let Some(at) = self.at {
            self.runs.push(still(Kind::Lift, &[at, way.points[0]]));
        }
        let run = cutting::down(&mut self.ground, &way);
        self.runs.push(run);
        let end = way.points[way.points.len() - 1];
        self.at = Some(end);
        self.cut_along(&[end, to]);
        true
    }

    fn cut_along(&mut self, line: &[Vec2]) {
        let whole = |contact: &Contact| match contact.arc_rad > WHOLE_RAD {
            true => Hold::Slot,
            false => Hold::Steered,
        };
        let run = cutting::along(&mut self.ground, line, Kind::Cut, whole);
        self.at = line.last().copied();
        if run.points.len() > 1 {
            self.runs.push(run);
        }
    }
}
