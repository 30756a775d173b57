//! The path of constant engagement: entries, passes and links until nothing is left.

use crate::cutting::{self, still};
use crate::entry::{Down, down, roomiest};
use crate::error::ClearingError;
use crate::front::{Front, Start};
use crate::grid::Grid;
use crate::ground::{Contact, Ground, Side};
use crate::job::{Hold, Job, Kind, Run};
use crate::link;
use crate::march::{Pass, Steering, TOUCH_RAD, drive};
use crate::neck::Necks;
use crate::room::Room;
use crate::site::Site;
use geom::Vec2;

/// Thickness on a link that is let pass, over what passes leave.
const FILM: f64 = 0.4;

/// State while a level is cleared.
pub(crate) struct Laying<'a> {
    pub(crate) job: &'a Job<'a>,
    pub(crate) site: &'a Site,
    pub(crate) ground: Ground,
    pub(crate) room: &'a Room,
    pub(crate) front: Front,
    pub(crate) steering: Steering,
    pub(crate) at: Option<Vec2>,
    pub(crate) runs: Vec<Run>,
    /// Places of the last way down.
    entered: Vec<Vec2>,
}

/// Lays the whole path.
pub(crate) fn lay(job: &Job<'_>, site: &Site) -> Result<(Vec<Run>, Ground), ClearingError> {
    let mut laying = Laying::new(job, site);
    let mut necks = Necks::new(site.grid);
    laying.clear_fronts();
    // a neck may open a chamber, an entry necks
    loop {
        if !laying.runs.is_empty() && laying.neck(&mut necks) {
            laying.clear_fronts();
        } else if laying.enter() {
            necks.has_been(&laying.entered);
            laying.clear_fronts();
        } else {
            break;
        }
    }
    if laying.runs.is_empty() {
        return Err(site.no_entry(job));
    }
    laying.walls();
    Ok((laying.runs, laying.ground))
}

impl<'a> Laying<'a> {
    fn new(job: &'a Job<'a>, site: &'a Site) -> Self {
        let radius = job.cutter_radius_mm;
        let steering = site.steering(job);
        let ground = Ground::new(job.stock, site.grid, radius, steering.step_mm);
        let pitch = site.grid.cell_mm * (0.2 * radius / site.grid.cell_mm).round().max(2.0);
        let box_mm = Vec2::new(site.grid.nx as f64, site.grid.ny as f64) * site.grid.cell_mm;
        let coarse = Grid::over(site.grid.origin, site.grid.origin + box_mm, pitch);
        let front = Front::new(coarse, site.left_mm(job), job.both_ways);
        let (at, runs, entered) = (None, Vec::new(), Vec::new());
        Self { job, site, ground, room: &site.room, front, steering, at, runs, entered }
    }

    /// Passes until no front is left that can be come at.
    fn clear_fronts(&mut self) {
        let least = 0.004 * self.job.cutter_radius_mm * self.job.cutter_radius_mm;
        let most = 40 * self.front.grid.len();
        for _ in 0..most {
            let Some(start) = self.front.next(&self.ground, self.room, self.at) else { return };
            if !self.pass(&start, least) {
                self.front.give_up(&self.ground, &start);
            }
        }
    }

    /// Links to a start and drives a pass; false if next to nothing came of it.
    fn pass(&mut self, start: &Start, least_mm2: f64) -> bool {
        let Some(&from) = start.way.last() else { return false };
        // over what is clear before the pass
        let way = self.smooth(&start.way, Some(start.feed));
        let free = start.lifted || self.is_free(&way);
        if !free {
            self.cut_over(&way);
        }
        let to = (from, start.feed, start.side);
        let pass = drive(&mut self.ground, self.room, &self.steering, to);
        if pass.points.len() < 2 {
            return false;
        }
        match (start.lifted, free) {
            (true, _) => {
                self.runs.push(still(Kind::Lift, &[self.at.unwrap_or(from), from]));
            }
            (false, true) if way.len() > 1 => self.runs.push(still(Kind::Link, &way)),
            _ => {}
        }
        self.push(&pass);
        pass.area_mm2 > least_mm2
    }

    /// Whether nothing that counts stands on a way.
    pub(crate) fn is_free(&self, way: &[Vec2]) -> bool {
        let left = FILM * self.site.left_mm(self.job);
        way.windows(2).all(|w| link::is_driven_free(&self.ground, self.room, w[0], w[1], left))
    }

    /// A way on which a film stands is a cut like any other.
    pub(crate) fn cut_over(&mut self, way: &[Vec2]) {
        if way.len() < 2 {
            return;
        }
        let name = |c: &Contact| if c.arc_rad > TOUCH_RAD { Hold::Remnant } else { Hold::Air };
        let run = cutting::along(&mut self.ground, way, Kind::Cut, name);
        self.runs.push(run);
        self.at = way.last().copied();
    }

    /// A way over cleared ground made smooth, from the feed of the last run to that of the next.
    fn smooth(&self, way: &[Vec2], after: Option<Vec2>) -> Vec<Vec2> {
        let before = self.runs.last().filter(|r| r.kind != Kind::Lift).and_then(|r| {
            let n = r.points.len();
            let p = |k: usize| Vec2::from(r.points[k]);
            (n > 1).then(|| (p(n - 1) - p(n - 2)).try_normalize()).flatten()
        });
        let limits = (self.job.chord_mm, FILM * self.site.left_mm(self.job));
        link::smooth(&self.ground, self.room, way, (before, after), limits)
    }

    fn push(&mut self, pass: &Pass) {
        self.at = pass.points.last().copied();
        self.runs.push(Run {
            kind: Kind::Cut,
            points: pass.points.iter().map(|p| p.to_array()).collect(),
            arc_of_contact_rad: pass.contact.iter().map(|c| c.arc_rad).collect(),
            width_mm: pass.contact.iter().map(|c| c.width_mm).collect(),
            hold: pass.hold.clone(),
        });
    }

    /// Goes down in the roomiest place that is not clear; false if there is none.
    fn enter(&mut self) -> bool {
        loop {
            let nodes = self.front.untouched(&self.ground, self.room);
            let places: Vec<Vec2> = nodes.iter().map(|n| self.front.grid.place(*n)).collect();
            let pitch = self.front.grid.cell_mm;
            let Some(at) = roomiest(&self.site.edges, &places, pitch) else { return false };
            let (job, radius) = (self.job, self.job.cutter_radius_mm);
            // not where the cutter stands clear already: that is what passes and loops left
            let fresh = !self.ground.is_clear(at.0, self.site.left_mm(job));
            let way = down(&job.entry, self.room, radius, job.chord_mm, at).filter(|_| fresh);
            let Some(way) = way else {
                let near = |n: &&usize| self.front.grid.place(**n).distance(at.0) < 2.0 * radius;
                let mut given: Vec<usize> = nodes.iter().filter(near).copied().collect();
                if given.is_empty() {
                    given = nodes;
                }
                self.front.give_up_at(&given);
                continue;
            };
            self.go_down(&way);
            return true;
        }
    }

    /// Over cleared ground to a place that is clear and the feed there, up and over if there is no way.
    pub(crate) fn go_over(&mut self, to: Vec2, feed: Option<Vec2>) {
        let way = self.at.and_then(|at| match link::is_free(&self.ground, self.room, at, to) {
            true => Some(vec![at, to]),
            false => self.front.way(&self.ground, self.room, at, to),
        });
        match (way, self.at) {
            (Some(way), _) => {
                let points = link::shorten(&self.ground, self.room, &way);
                let points = self.smooth(&points, feed);
                match self.is_free(&points) {
                    true if points.len() > 1 => self.runs.push(still(Kind::Link, &points)),
                    true => {}
                    false => self.cut_over(&points),
                }
            }
            (None, at) => self.runs.push(still(Kind::Lift, &[at.unwrap_or(to), to])),
        }
        self.at = Some(to);
    }

    fn go_down(&mut self, way: &Down) {
        let first = way.points[0];
        self.entered.clone_from(&way.points);
        if let Some(at) = self.at {
            self.runs.push(still(Kind::Lift, &[at, first]));
        }
        let run = cutting::down(&mut self.ground, way);
        self.runs.push(run);
        let end = way.points[way.points.len() - 1];
        self.at = Some(end);
        let start = (end, way.feed, Side::Right);
        let pass = drive(&mut self.ground, self.room, &self.steering, start);
        if pass.points.len() > 1 {
            self.push(&pass);
        }
    }
}
