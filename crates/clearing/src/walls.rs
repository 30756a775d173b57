//! The last round: along the walls, where something stands.

use crate::engaged::Laying;
use crate::job::{Hold, Kind};
use crate::march::TOUCH_RAD;
use crate::walk::densely;
use geom::Vec2;

/// More contact than this is left standing, rad: a sharp corner of 90° takes a little over a right
/// angle however little stands in it.
const MOST_RAD: f64 = 1.9;

impl Laying<'_> {
    /// Cuts what stands along the walls.
    pub(crate) fn walls(&mut self) {
        let radius = self.job.cutter_radius_mm;
        let least = self.job.least_corner_radius_mm.min(self.room.rounding_mm);
        let room = self.job.inside.grown(-(radius + self.room.grains_mm + least)).grown(least);
        for line in room.loops() {
            let points: Vec<Vec2> = line.into_iter().map(Vec2::from).collect();
            let points = densely(&points, self.steering.step_mm);
            for (from, to) in self.standing(&points) {
                self.stretch(&points, from, to);
            }
        }
    }

    /// Stretches of a closed line along which something is cut.
    fn standing(&self, points: &[Vec2]) -> Vec<(usize, usize)> {
        let n = points.len();
        let touches = |k: usize| {
            let (a, b) = (points[k % n], points[(k + 1) % n]);
            let feed = (b - a).normalize_or_zero();
            let arc = self.ground.contact(b, feed).arc_rad;
            arc > TOUCH_RAD && !self.ground.is_clear(b, 0.3 * self.site.left_mm(self.job))
        };
        let marks: Vec<bool> = (0..n).map(touches).collect();
        let Some(gap) = (0..n).find(|k| !marks[*k] && self.room.depth(points[*k]) > -2e-3) else {
            return vec![];
        };
        let mut out: Vec<(usize, usize)> = Vec::new();
        for k in gap..gap + n {
            if !marks[k % n] {
                continue;
            }
            match out.last_mut() {
                // a short way without is not worth a link
                Some((_, to)) if k - *to < 12 => *to = k,
                _ => out.push((k, k)),
            }
        }
        // ends where passes have been
        let ends = |k: usize| self.room.depth(points[k % n]) > -2e-3 && !marks[k % n];
        for (from, to) in &mut out {
            *from = (gap..=*from).rev().find(|k| ends(*k)).unwrap_or(gap);
            *to = (*to..gap + n).find(|k| ends(*k)).unwrap_or(gap + n);
        }
        out.dedup_by(|b, a| {
            let joined = b.0 <= a.1;
            if joined {
                a.1 = a.1.max(b.1);
            }
            joined
        });
        out
    }

    fn stretch(&mut self, points: &[Vec2], from: usize, to: usize) {
        let n = points.len();
        let line: Vec<Vec2> = (from..=to).map(|k| points[k % n]).collect();
        if line.len() < 2 || !self.is_easy(&line) {
            return;
        }
        self.go_over(line[0]);
        let mut run = self.cut_along(&line, Kind::Cut, Hold::Remnant);
        for (hold, arc) in run.hold.iter_mut().zip(&run.arc_of_contact_rad) {
            if *arc <= TOUCH_RAD {
                *hold = Hold::Air;
            }
        }
        self.runs.push(run);
    }

    /// Whether no place along a line asks for far more than the target.
    fn is_easy(&self, line: &[Vec2]) -> bool {
        let mut ground = self.ground.clone();
        line.windows(2).all(|w| {
            let feed = (w[1] - w[0]).normalize_or_zero();
            let arc = ground.contact(w[1], feed).arc_rad;
            ground.cut(w[0], w[1]);
            arc < MOST_RAD.max(self.job.arc_rad)
        })
    }
}
