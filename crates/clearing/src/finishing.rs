//! Once along the walls: what a roughing cutter left on them is taken off in one round, or in several.
//!
//! Each line begins and ends on a quarter circle that leads away from the wall. Its arc of contact is
//! found on the stock's own outline, since what stands there is far thinner than a cell of the grid on
//! which levels are cleared.

use crate::cutting::still;
use crate::distance::edges;
use crate::error::ClearingError;
use crate::job::{Clearing, Hold, Kind, Run, Shares};
use crate::outline::Outline;
use crate::{shares, walk};
use geom::Vec2;
use planar::Region;
use std::f64::consts::{FRAC_PI_2, PI};

/// Stock thinner than this is finished, mm.
const THIN_MM: f64 = 2.0 * planar::ARC_MM;
/// A step of the path over the cutter's radius.
const STEP: f64 = 0.08;
/// Longest piece without stock that is cut through rather than left out, over the radius.
const GAP: f64 = 4.0;
/// How far a closed line runs on past its start, over the radius.
const OVERLAP: f64 = 0.1;
/// Chords of a lead.
const CHORDS: usize = 16;
/// Leads that are tried, over the one asked for.
const LEADS: [f64; 4] = [1.0, 0.5, 0.25, 0.1];
/// What stays farther from the walls than this, over the radius, is no matter of theirs: a square corner
/// keeps `√2 − 1` of it.
const BESIDE: f64 = 0.5;
/// Contact below this is none, rad.
const TOUCH_RAD: f64 = 1e-3;

/// Walls to finish at one level, mm, in the plan of the set-up.
#[derive(Debug, Clone, Copy)]
pub struct Walls<'a> {
    /// Where material may be cut: the cutter's edge stays in it, and its border is the wall.
    pub inside: &'a Region,
    /// Where stock stands.
    pub stock: &'a Region,
    /// Radius of the cutter, mm.
    pub cutter_radius_mm: f64,
    /// Whether the wall lies on the right of the feed (climb, spindle clockwise).
    pub climb: bool,
    /// Radius of the quarter circles that lead to the wall and away, mm; shorter where there is no
    /// room, none where there is none at all.
    pub lead_radius_mm: f64,
    /// Whether the cutter may ramp down into stock along a lead, where no ground is clear: into thin
    /// layers alone.
    pub may_ramp: bool,
    /// Rounds along each line: the first cuts, those after it take what the cutter gave way by.
    pub rounds: usize,
}

/// Lays a path along all walls on which stock stands.
///
/// # Errors
/// A cutter that fits nowhere, walls without stock, or stock wherever the cutter could go down.
pub fn along_walls(job: &Walls<'_>) -> Result<Clearing, ClearingError> {
    let radius = job.cutter_radius_mm;
    let room = job.inside.grown(-(radius + planar::ARC_MM));
    if room.is_empty() {
        let would_do_mm = 2.0 * crate::site::widest(job.inside, radius);
        return Err(ClearingError::TooWide { diameter_mm: 2.0 * radius, would_do_mm });
    }
    let stock = job.inside.and(job.stock);
    let free = room.grown(-THIN_MM);
    let mut laying = Laying {
        job,
        stock: Outline::new(edges(&stock)),
        free: Outline::new(edges(&free)),
        step_mm: STEP * radius,
        runs: Vec::new(),
        lines: Vec::new(),
        shut: false,
    };
    let wanted = stock.area_mm2() > 1e-6;
    for line in room.loops() {
        let line: Vec<Vec2> = line.into_iter().map(Vec2::from).collect();
        if wanted {
            laying.line(walk::densely(&line, laying.step_mm));
        }
    }
    if laying.lines.is_empty() {
        if !laying.shut {
            return Err(ClearingError::Nothing);
        }
        return Err(ClearingError::Full { diameter_mm: 2.0 * radius });
    }
    let swept = Region::around(&laying.lines, radius + planar::ARC_MM);
    // what lies in the middle is no wall
    let beside = job.inside.less(&job.inside.grown(-BESIDE * radius));
    let (reached, rest) = (stock.and(&swept), stock.and(&beside).less(&swept));
    let largest = laying.runs.iter().flat_map(|r| &r.arc_of_contact_rad);
    let shares: Shares = shares::of(&laying.runs, largest.copied().fold(0.0, f64::max));
    Ok(Clearing { runs: laying.runs, reached, rest, shares })
}

/// A way to a line.
struct Lead {
    /// Its last point is the first of the line.
    points: Vec<Vec2>,
    /// Whether the cutter goes down along it into stock.
    ramps: bool,
}

struct Laying<'a> {
    job: &'a Walls<'a>,
    stock: Outline,
    /// Where the centre may be, off the walls.
    free: Outline,
    step_mm: f64,
    runs: Vec<Run>,
    /// What was driven along the walls.
    lines: Vec<Vec<[f64; 2]>>,
    /// Whether a line was left out, since nothing leads to it.
    shut: bool,
}

impl Laying<'_> {
    /// All of a closed line on which stock stands, its wall on the right.
    fn line(&mut self, mut line: Vec<Vec2>) {
        if !self.job.climb {
            line.reverse();
        }
        let n = line.len();
        let fresh = self.trail();
        let touches = |k: usize| {
            let feed = (line[(k + 1) % n] - line[k % n]).normalize_or_zero();
            self.contact(line[(k + 1) % n], feed, &fresh).0 > TOUCH_RAD
        };
        let marks: Vec<bool> = (0..n).map(touches).collect();
        let gap = (GAP * self.job.cutter_radius_mm / self.step_mm) as usize;
        match walk::stretches(&marks, gap) {
            walk::Stretches::None => {}
            walk::Stretches::Closed => self.closed(&line),
            walk::Stretches::Open(all) => {
                for (from, to) in all {
                    let piece: Vec<Vec2> = (from..=to + 1).map(|k| line[k % n]).collect();
                    self.open(&piece);
                }
            }
        }
    }

    /// Round and round, from a place from which a lead has room.
    fn closed(&mut self, line: &[Vec2]) {
        let n = line.len();
        let past = (OVERLAP * self.job.cutter_radius_mm / self.step_mm).ceil() as usize;
        let feed = |k: usize| (line[(k + 1) % n] - line[k % n]).normalize_or_zero();
        let ends = |k: usize| {
            let into = self.lead_in(line[k], feed(k))?;
            Some((k, into, self.lead_out(line[(k + past) % n], feed(k + past + n - 1))))
        };
        let Some((start, into, out)) = walk::from_long_edges(line).find_map(ends) else {
            self.shut = true;
            return;
        };
        let last = n * self.job.rounds.max(1) + past;
        let on: Vec<Vec2> = (0..=last).map(|k| line[(start + k) % n]).collect();
        self.lines.push(line.iter().chain(line.first()).map(|p| p.to_array()).collect());
        self.push(&on, &into, &out);
    }

    /// To the end, and back through the air for every further round.
    fn open(&mut self, line: &[Vec2]) {
        let (n, ahead) = (line.len(), |a: Vec2, b: Vec2| (b - a).normalize_or_zero());
        let Some(into) = self.lead_in(line[0], ahead(line[0], line[1])) else {
            self.shut = true;
            return;
        };
        let out = self.lead_out(line[n - 1], ahead(line[n - 2], line[n - 1]));
        self.lines.push(line.iter().map(|p| p.to_array()).collect());
        for _ in 0..self.job.rounds.max(1) {
            self.push(line, &into, &out);
        }
    }

    /// The widest quarter circle to a place that has room and begins over clear ground, or down which
    /// the cutter may ramp.
    fn lead_in(&self, at: Vec2, feed: Vec2) -> Option<Lead> {
        let arcs = self.arcs(at, feed);
        let clear = arcs.iter().position(|arc| self.is_clear(arc[0]));
        if let Some(k) = clear {
            return Some(Lead { points: arcs[k].clone(), ramps: false });
        }
        if self.is_clear(at) {
            return Some(Lead { points: vec![at], ramps: false });
        }
        let widest = arcs.into_iter().next().filter(|_| self.job.may_ramp)?;
        Some(Lead { points: widest, ramps: true })
    }

    /// The widest quarter circle from a place that has room.
    fn lead_out(&self, at: Vec2, feed: Vec2) -> Vec<Vec2> {
        let mirrored = |p: Vec2| p - feed * (2.0 * (p - at).dot(feed));
        let back = |arc: Vec<Vec2>| arc.into_iter().rev().map(mirrored).collect::<Vec<Vec2>>();
        let leads =
            LEADS.iter().map(|share| back(self.arc(at, feed, share * self.job.lead_radius_mm)));
        leads.into_iter().find(|arc| self.has_room(&arc[1..])).unwrap_or_default()
    }

    /// Quarter circles to a place that have room, the widest first.
    fn arcs(&self, at: Vec2, feed: Vec2) -> Vec<Vec<Vec2>> {
        let all = LEADS.iter().map(|share| self.arc(at, feed, share * self.job.lead_radius_mm));
        all.filter(|arc| self.has_room(&arc[..CHORDS])).collect()
    }

    fn has_room(&self, points: &[Vec2]) -> bool {
        points.iter().all(|p| self.free.holds(*p))
    }

    fn is_clear(&self, c: Vec2) -> bool {
        self.stock.keeps_off(c, self.job.cutter_radius_mm - THIN_MM)
    }

    /// A quarter circle on the side away from the wall, ending at `at` along `feed`.
    fn arc(&self, at: Vec2, feed: Vec2, radius: f64) -> Vec<Vec2> {
        let away = if self.job.climb { feed.perp() } else { -feed.perp() };
        let angle = |k: usize| FRAC_PI_2 * (1.0 - k as f64 / CHORDS as f64);
        let place = |t: f64| at + away * (radius * (1.0 - t.cos())) - feed * (radius * t.sin());
        (0..=CHORDS).map(|k| place(angle(k))).collect()
    }

    fn push(&mut self, line: &[Vec2], into: &Lead, out: &[Vec2]) {
        let first = into.points[0];
        let from = self.runs.last().and_then(|r| r.points.last()).map_or(first, |p| Vec2::from(*p));
        self.runs.push(still(Kind::Lift, &[from, first]));
        let mut points: Vec<(Vec2, Hold)> = Vec::new();
        if into.ramps {
            let mut down = still(Kind::Entry, &into.points);
            down.hold.fill(Hold::Entry);
            self.runs.push(down);
        } else {
            points.extend(into.points.iter().map(|p| (*p, Hold::Entering)));
        }
        let on = if points.is_empty() { line } else { &line[1..] };
        points.extend(on.iter().map(|p| (*p, Hold::Wall)));
        points.extend(out.iter().skip(1).map(|p| (*p, Hold::Leaving)));
        let run = self.cut(&points);
        self.runs.push(run);
    }

    fn cut(&self, points: &[(Vec2, Hold)]) -> Run {
        let mut run = still(Kind::Cut, &[points[0].0]);
        let mut trail = self.trail();
        let mut from = points[0].0;
        for (to, hold) in &points[1..] {
            let Some(feed) = (*to - from).try_normalize() else { continue };
            let (arc, width) = self.contact(*to, feed, &trail);
            trail.push(from, *to);
            from = *to;
            run.points.push(to.to_array());
            run.arc_of_contact_rad.push(arc);
            run.width_mm.push(width);
            run.hold.push(if arc > TOUCH_RAD { *hold } else { Hold::Air });
        }
        run
    }

    fn trail(&self) -> walk::Trail {
        walk::Trail::new(2.0 * self.job.cutter_radius_mm)
    }

    /// Arc of contact and width of cut of the cutter standing at `c`, after what it has swept.
    fn contact(&self, c: Vec2, feed: Vec2, trail: &walk::Trail) -> (f64, f64) {
        let radius = self.job.cutter_radius_mm;
        let swept = trail.near(c);
        let at = |angle: f64| c + feed.rotate(Vec2::from_angle(angle)) * radius;
        let stands = |angle: f64| {
            let p = at(angle);
            let gone = |(a, b): &(Vec2, Vec2)| {
                geom::segment::distance_in_plane(p, [*a, *b]) < radius - 1e-9
            };
            self.stock.holds(p) && !swept.iter().any(gone)
        };
        walk::arcs(-FRAC_PI_2, FRAC_PI_2, PI / 360.0, stands)
            .into_iter()
            .fold((0.0, 0.0), |(arc, width), (a, b)| {
                (arc + b - a, width + radius * (b.sin() - a.sin()))
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(x: f64, y: f64) -> Region {
        let (a, b) = (0.5 * x, 0.5 * y);
        Region::of_loops(&[vec![[-a, -b], [a, -b], [a, b], [-a, b]]])
    }

    fn job<'a>(inside: &'a Region, stock: &'a Region, climb: bool, rounds: usize) -> Walls<'a> {
        Walls {
            inside,
            stock,
            cutter_radius_mm: 5.0,
            climb,
            lead_radius_mm: 2.0,
            may_ramp: false,
            rounds,
        }
    }

    #[test]
    fn an_even_layer_is_cut_at_the_arc_of_its_width() {
        let inside = rectangle(80.0, 50.0);
        let ring = inside.less(&inside.grown(-0.3));
        for climb in [true, false] {
            let found = along_walls(&job(&inside, &ring, climb, 1)).expect("a path");
            let cut: Vec<&Run> = found.runs.iter().filter(|r| r.kind == Kind::Cut).collect();
            assert_eq!(cut.len(), 1);
            // derived: cos φ = 1 − ae / R on a straight wall
            let right = (1.0_f64 - 0.3 / 5.0).acos();
            let straight = |i: &usize| {
                let [x, y] = cut[0].points[*i];
                (x.abs() < 25.0 && y.abs() > 19.0) || (y.abs() < 10.0 && x.abs() > 34.0)
            };
            // before it comes back to what its lead has cut
            let held: Vec<usize> = (0..cut[0].points.len() * 9 / 10)
                .filter(straight)
                .filter(|i| cut[0].hold[*i] == Hold::Wall)
                .collect();
            assert!(held.len() > 100);
            for i in &held {
                let (arc, width) = (cut[0].arc_of_contact_rad[*i], cut[0].width_mm[*i]);
                assert!((arc - right).abs() < 2e-3, "{arc} {right}");
                assert!((width - 0.3).abs() < 2e-3, "{width}");
            }
            // the wall stands on the right where it climbs
            let signed: f64 =
                cut[0].points.windows(2).map(|w| w[0][0] * w[1][1] - w[1][0] * w[0][1]).sum();
            assert_eq!(signed > 0.0, climb, "{signed}");
            // a square corner keeps what a round cutter leaves: (1 − π/4) r² each
            let corners = 4.0 * (1.0 - PI / 4.0) * 25.0;
            let thin = ring.area_mm2() - found.reached.area_mm2();
            assert!((thin - found.rest.area_mm2()).abs() < 1e-2);
            assert!(found.rest.area_mm2() < corners + 0.1, "{}", found.rest.area_mm2());
        }
    }

    #[test]
    fn leads_stay_off_the_walls_and_rounds_add_up() {
        let inside = rectangle(60.0, 40.0);
        let ring = inside.less(&inside.grown(-0.2));
        let length = |rounds| {
            let found = along_walls(&job(&inside, &ring, true, rounds)).expect("a path");
            for p in found.runs.iter().flat_map(|r| &r.points) {
                assert!(p[0].abs() < 25.0 + 1e-9 && p[1].abs() < 15.0 + 1e-9, "{p:?}");
            }
            let cut = found.runs.iter().filter(|r| r.kind == Kind::Cut);
            cut.map(Run::length_mm).sum::<f64>()
        };
        // derived: a round of the centre is 2 (50 + 30) mm
        assert!((length(2) - length(1) - 160.0).abs() < 0.01, "{}", length(2) - length(1));
    }

    #[test]
    fn an_island_has_its_own_line_and_an_open_side_none() {
        let around = rectangle(80.0, 60.0).less(&rectangle(20.0, 10.0));
        let ring = around.less(&around.grown(-0.2));
        let found = along_walls(&job(&around, &ring, true, 1)).expect("a path");
        assert_eq!(found.runs.iter().filter(|r| r.kind == Kind::Cut).count(), 2);
        // stock along one side alone
        let inside = rectangle(80.0, 60.0);
        let strip =
            Region::of_loops(&[vec![[-40.0, -30.0], [40.0, -30.0], [40.0, -29.8], [-40.0, -29.8]]]);
        let found = along_walls(&job(&inside, &strip, true, 1)).expect("a path");
        let cut = found.runs.iter().find(|r| r.kind == Kind::Cut).expect("a cut");
        assert!(cut.points.iter().all(|p| p[1] < -20.0), "{:?}", cut.points);
    }

    #[test]
    fn what_cannot_be_finished_is_said() {
        let inside = rectangle(40.0, 30.0);
        let none = Region::of_loops(&[]);
        assert_eq!(along_walls(&job(&inside, &none, true, 1)), Err(ClearingError::Nothing));
        let full = along_walls(&job(&inside, &inside, true, 1));
        assert_eq!(full, Err(ClearingError::Full { diameter_mm: 10.0 }));
        let narrow = rectangle(9.0, 30.0);
        let wide = along_walls(&job(&narrow, &narrow, true, 1)).expect_err("too wide");
        assert!(wide.to_string().contains("fits nowhere"), "{wide}");
    }
}
