//! The last round: along the walls, where something stands.
//!
//! What stands too thick for one cut is peeled first, in slices: along the wall at a distance, then
//! through the corners on ever tighter curves.

use crate::engaged::Laying;
use crate::job::{Hold, Kind};
use crate::march::TOUCH_RAD;
use crate::walk::densely;
use geom::Vec2;
use planar::Region;

/// More contact than this is left standing where corners are to be sharp, rad: one of 90° takes a
/// little over a right angle however little stands in it.
const SHARP_RAD: f64 = 1.9;
/// Over the target by this a stretch is peeled first, rad.
const PEEL_RAD: f64 = 8.0 * std::f64::consts::PI / 180.0;
/// Over the target by this it is left standing, rad.
const MOST_RAD: f64 = 14.5 * std::f64::consts::PI / 180.0;
/// Slices before the last cut: roundings over the cutter's radius, distances from the wall over the
/// width of cut.
const SLICES: [(f64, f64); 11] = [
    (0.5, 1.0),
    (0.5, 0.6),
    (0.5, 0.3),
    (0.9, 0.0),
    (0.65, 0.0),
    (0.48, 0.0),
    (0.36, 0.0),
    (0.27, 0.0),
    (0.2, 0.0),
    (0.155, 0.0),
    (0.125, 0.0),
];
/// How far from a place with too much contact slices reach, in radii of the cutter.
const NEAR: f64 = 2.5;

/// A stretch of a line along the walls.
struct Stretch {
    line: Vec<Vec2>,
    /// Largest arc of contact, rad, and where it is too large.
    most_rad: f64,
    hot: Vec<Vec2>,
}

impl Laying<'_> {
    /// Cuts what stands along the walls.
    pub(crate) fn walls(&mut self) {
        let radius = self.job.cutter_radius_mm;
        let width = radius * (1.0 - self.job.arc_rad.cos());
        let least = self.job.least_corner_radius_mm.min(self.room.rounding_mm);
        let target = self.job.arc_rad;
        let last = self.lines(self.job.inside, least, 0.0);
        let hot: Vec<Vec2> = self.stretches(&last, None).into_iter().flat_map(|s| s.hot).collect();
        let most = if least > 0.0 { target + MOST_RAD } else { SHARP_RAD.max(target) };
        let mut places = clusters(&hot, NEAR * radius);
        while !places.is_empty() {
            let at = self.at.unwrap_or(places[0][0]);
            let far = |k: &usize| places[*k][0].distance_squared(at);
            let nearest = (0..places.len()).min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0);
            let place = places.swap_remove(nearest);
            // borders of what is looked at are too far from there to be taken for walls
            let points: Vec<Vec<[f64; 2]>> = place.iter().map(|p| vec![p.to_array()]).collect();
            let inside = Region::around(&points, 2.5 * NEAR * radius).and(self.job.inside);
            for (rounding, off) in SLICES {
                if rounding * radius > 1.2 * least {
                    let lines = self.lines(&inside, rounding * radius, off * width);
                    let stretches = self.stretches(&lines, Some(&place));
                    self.cut_all(stretches, target + PEEL_RAD);
                }
            }
            let stretches = self.stretches(&last, Some(&place));
            self.cut_all(stretches, most);
        }
        let stretches = self.stretches(&last, None);
        self.cut_all(stretches, most);
    }

    /// Closed lines at a distance from where the cutter touches the walls, rounded.
    fn lines(&self, inside: &Region, rounding: f64, off: f64) -> Vec<Vec<Vec2>> {
        let by = self.job.cutter_radius_mm + self.room.grains_mm + off;
        let room = inside.grown(-(by + rounding)).grown(rounding);
        let dense = |line: Vec<[f64; 2]>| {
            let points: Vec<Vec2> = line.into_iter().map(Vec2::from).collect();
            densely(&points, self.steering.step_mm)
        };
        room.loops().into_iter().map(dense).collect()
    }

    /// Stretches of the lines along which something is cut; near some places only, if they are given.
    fn stretches(&self, lines: &[Vec<Vec2>], near: Option<&[Vec2]>) -> Vec<Stretch> {
        let mut out = Vec::new();
        for points in lines {
            for (from, to) in self.standing(points, near) {
                let line: Vec<Vec2> = (from..=to).map(|k| points[k % points.len()]).collect();
                if line.len() > 1 {
                    out.push(self.tried(line));
                }
            }
        }
        out
    }

    /// Stretches of a closed line along which something is cut.
    fn standing(&self, points: &[Vec2], near: Option<&[Vec2]>) -> Vec<(usize, usize)> {
        let n = points.len();
        let reach = NEAR * self.job.cutter_radius_mm;
        let is_near = |p: Vec2| near.is_none_or(|n| n.iter().any(|q| q.distance(p) < reach));
        let touches = |k: usize| {
            let (a, b) = (points[k % n], points[(k + 1) % n]);
            if !is_near(b) {
                return false;
            }
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

    /// The arc of contact along a line, were it cut now.
    fn tried(&self, line: Vec<Vec2>) -> Stretch {
        let mut ground = self.ground.clone();
        let (mut most_rad, mut hot) = (0.0f64, Vec::new());
        for w in line.windows(2) {
            let feed = (w[1] - w[0]).normalize_or_zero();
            let arc = ground.contact(w[1], feed).arc_rad;
            ground.cut(w[0], w[1]);
            most_rad = most_rad.max(arc);
            if arc > self.job.arc_rad + PEEL_RAD {
                hot.push(w[1]);
            }
        }
        Stretch { line, most_rad, hot }
    }

    /// Cuts stretches with no more contact than `most_rad`, the nearest first.
    fn cut_all(&mut self, mut stretches: Vec<Stretch>, most_rad: f64) {
        stretches.retain(|s| s.most_rad <= most_rad);
        while !stretches.is_empty() {
            let at = self.at.unwrap_or(stretches[0].line[0]);
            let far = |s: &Stretch| s.line[0].distance_squared(at);
            let nearest = (0..stretches.len())
                .min_by(|a, b| far(&stretches[*a]).total_cmp(&far(&stretches[*b])));
            let stretch = stretches.swap_remove(nearest.unwrap_or(0));
            self.stretch(&stretch.line);
        }
    }

    fn stretch(&mut self, line: &[Vec2]) {
        self.go_over(line[0], (line[1] - line[0]).try_normalize());
        let mut run = self.cut_along(line, Kind::Cut, Hold::Remnant);
        for (hold, arc) in run.hold.iter_mut().zip(&run.arc_of_contact_rad) {
            if *arc <= TOUCH_RAD {
                *hold = Hold::Air;
            }
        }
        self.runs.push(run);
    }
}

/// Points in groups that lie farther apart than `apart_mm`.
fn clusters(points: &[Vec2], apart_mm: f64) -> Vec<Vec<Vec2>> {
    let mut out: Vec<Vec<Vec2>> = Vec::new();
    for p in points {
        let near = |c: &Vec<Vec2>| c.iter().any(|q| q.distance(*p) < apart_mm);
        let (joined, mut apart): (Vec<_>, Vec<_>) = out.into_iter().partition(near);
        let mut cluster = joined.concat();
        cluster.push(*p);
        apart.push(cluster);
        out = apart;
    }
    out
}
