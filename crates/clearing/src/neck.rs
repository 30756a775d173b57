//! Necks, slots and sharp corners: what passes have no room for, cleared by loops along its middle.

use crate::cutting::{self, still};
use crate::engaged::Laying;
use crate::front::Front;
use crate::grid::Grid;
use crate::ground::Ground;
use crate::job::{Hold, Kind, Run};
use crate::room::Room;
use crate::trochoid::{Slot, trochoid};
use geom::Vec2;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// What reaches less far out than this, in radii of the cutter, is left to the round along the
/// walls.
const SHORT: f64 = 0.12;
/// Loops begin no pass below this radius, in radii of the cutter.
const WIDE: f64 = 0.5;

/// A way through the middle of a neck: places and the room round each, mm.
#[derive(Debug, Clone, Default)]
pub(crate) struct Middle {
    places: Vec<Vec2>,
    room_mm: Vec<f64>,
}

/// Places in necks that are not clear, and which of them are given up.
#[derive(Debug)]
pub(crate) struct Necks {
    grid: Grid,
    clear: Vec<bool>,
    given_up: Vec<bool>,
}

impl Necks {
    pub(crate) fn new(fine: Grid) -> Self {
        let pitch = 2.0 * fine.cell_mm;
        let size = Vec2::new(fine.nx as f64, fine.ny as f64) * fine.cell_mm;
        let grid = Grid::over(fine.origin, fine.origin + size, pitch);
        Self { grid, clear: vec![false; grid.len()], given_up: vec![false; grid.len()] }
    }

    /// Takes places where the cutter has been as clear.
    pub(crate) fn has_been(&mut self, places: &[Vec2]) {
        let near = 0.75 * self.grid.cell_mm;
        for p in places {
            for j in self.grid.rows(p.y - near, p.y + near) {
                for i in self.grid.columns(p.x - near, p.x + near) {
                    self.clear[j * self.grid.nx + i] = true;
                }
            }
        }
    }

    fn stands_clear(&mut self, ground: &Ground, front: &Front, node: usize, left_mm: f64) -> bool {
        if !self.clear[node] {
            let p = self.grid.place(node);
            self.clear[node] = front.is_clear_round(p) || ground.is_clear(p, left_mm);
        }
        self.clear[node]
    }

    fn neighbours(&self, node: usize) -> impl Iterator<Item = (usize, f64)> + use<> {
        let (nx, ny) = (self.grid.nx as i64, self.grid.ny as i64);
        let (i, j) = (node as i64 % nx, node as i64 / nx);
        (-1..=1).flat_map(move |dj| (-1..=1).map(move |di| (di, dj))).filter_map(move |(di, dj)| {
            let (x, y) = (i + di, j + dj);
            let on = (di, dj) != (0, 0) && x >= 0 && y >= 0 && x < nx && y < ny;
            on.then(|| ((y * nx + x) as usize, ((di * di + dj * dj) as f64).sqrt()))
        })
    }

    /// The middle of the nearest neck that begins on clear ground.
    pub(crate) fn next(
        &mut self,
        ground: &Ground,
        front: &Front,
        room: &Room,
        left_mm: f64,
    ) -> Option<Middle> {
        let radius = ground.radius_mm;
        let tight = 0.02 * radius;
        let mut cost = vec![f64::INFINITY; self.grid.len()];
        let mut length = vec![0.0; self.grid.len()];
        let mut parent = vec![usize::MAX; self.grid.len()];
        let mut queue = BinaryHeap::new();
        let key = |d: f64| (d * 4096.0) as u64;
        let mut blocked = Vec::new();
        for node in 0..self.grid.len() {
            if room.free(self.grid.place(node)) < tight || self.given_up[node] {
                continue;
            }
            if !self.stands_clear(ground, front, node, left_mm) {
                blocked.push(node);
            }
        }
        // from the clear places beside what is not
        for node in &blocked {
            for (n, _) in self.neighbours(*node) {
                if self.clear[n] && room.free(self.grid.place(n)) >= tight && cost[n] > 0.0 {
                    cost[n] = 0.0;
                    queue.push(Reverse((0, n)));
                }
            }
        }
        let mut last: Option<usize> = None;
        while let Some(Reverse((at, node))) = queue.pop() {
            if at > key(cost[node]) {
                continue;
            }
            if !self.clear[node] {
                if room.free(self.grid.place(node)) > WIDE * radius {
                    last = Some(node);
                    break;
                }
                if last.is_none_or(|l| length[node] > length[l]) {
                    last = Some(node);
                }
            }
            for (next, steps) in self.neighbours(node) {
                let free = room.free(self.grid.place(next));
                if self.clear[next] || self.given_up[next] || free < tight {
                    continue;
                }
                let step = steps * self.grid.cell_mm;
                let dear = step * (1.0 + (0.3 * radius / free).powi(2));
                if cost[node] + dear < cost[next] {
                    cost[next] = cost[node] + dear;
                    length[next] = length[node] + step;
                    parent[next] = node;
                    queue.push(Reverse((key(cost[next]), next)));
                }
            }
        }
        let last = last?;
        let mut chain = vec![last];
        while parent[chain[chain.len() - 1]] != usize::MAX {
            chain.push(parent[chain[chain.len() - 1]]);
        }
        chain.reverse();
        let wide = room.free(self.grid.place(last)) > WIDE * radius;
        // what no clear place leads to may be entered later
        blocked.retain(|n| cost[*n].is_finite());
        self.forget(&blocked, &chain, wide || length[last] > SHORT * radius);
        (wide || length[last] > SHORT * radius).then(|| self.middle(room, &chain))
    }

    /// What a way has been tried through is not tried again; all of it where nothing is long.
    fn forget(&mut self, blocked: &[usize], chain: &[usize], long: bool) {
        let some = if long { chain } else { blocked };
        for node in some {
            self.given_up[*node] = true;
        }
        if long {
            let around: Vec<usize> =
                chain.iter().flat_map(|n| self.neighbours(*n)).map(|(n, _)| n).collect();
            for n in around {
                self.given_up[n] = true;
            }
        }
    }

    /// A chain of nodes smoothed.
    fn middle(&self, room: &Room, chain: &[usize]) -> Middle {
        let mut places: Vec<Vec2> = chain.iter().map(|n| self.grid.place(*n)).collect();
        for _ in 0..4 {
            let old = places.clone();
            for k in 1..places.len().saturating_sub(1) {
                let mean = (old[k - 1] + old[k] * 2.0 + old[k + 1]) / 4.0;
                if room.free(mean) > 0.0 {
                    places[k] = mean;
                }
            }
        }
        // straight in between, as finely as the room may change
        let mut out = Middle::default();
        for pair in places.windows(2) {
            for k in 0..4 {
                out.places.push(pair[0].lerp(pair[1], f64::from(k) / 4.0));
            }
        }
        out.places.extend(places.last());
        out.room_mm = out.places.iter().map(|p| room.free(*p).max(0.0)).collect();
        out
    }
}

/// The first loops round a place where the cutter went down widen the hole: part of the entry.
fn name_widening(run: &mut Run, place: Vec2, within_mm: f64) {
    let out = |p: &[f64; 2]| Vec2::from(*p).distance(place) > within_mm;
    let n = run.points.iter().position(out).unwrap_or(run.points.len());
    run.hold[..n].fill(Hold::Entry);
}

impl Laying<'_> {
    /// Loops through one neck; false if there is none.
    pub(crate) fn neck(&mut self, necks: &mut Necks) -> bool {
        let left = self.site.left_mm(self.job);
        let Some(middle) = necks.next(&self.ground, &self.front, self.room, left) else {
            return false;
        };
        let radius = self.job.cutter_radius_mm;
        let middle = self.begun_on_clear(middle);
        let line: Vec<[f64; 2]> = middle.places.iter().map(|p| p.to_array()).collect();
        let near = self.ground.nearest(middle.places[0], 1.8 * radius, left);
        let clear = near.map_or(0.8 * radius, |(_, d)| d - radius).max(0.0);
        let clear = clear.min(middle.room_mm[0]);
        let points = trochoid(&Slot {
            centreline: &line,
            room_mm: &middle.room_mm,
            cutter_radius_mm: radius,
            arc_rad: self.job.arc_rad,
            clear_mm: clear,
            most_mm: 0.6 * radius,
            chord_mm: self.job.chord_mm,
        });
        let points: Vec<Vec2> = points.into_iter().map(Vec2::from).collect();
        if points.len() < 2 {
            return true;
        }
        self.go_over(points[0], (points[1] - points[0]).try_normalize());
        let mut run = self.cut_along(&points, Kind::Trochoid, Hold::Neck);
        if clear < 0.05 * radius {
            name_widening(&mut run, middle.places[0], 0.3 * radius);
        }
        self.runs.push(run);
        self.back_out(&middle);
        true
    }

    /// The middle of a neck, begun as far back on clear ground as makes room for a first loop.
    fn begun_on_clear(&self, mut middle: Middle) -> Middle {
        let radius = self.job.cutter_radius_mm;
        let left = self.site.left_mm(self.job);
        let [first, second] = middle.places[..2] else { return middle };
        let Some(back) = (first - second).try_normalize() else { return middle };
        let wanted = middle.room_mm[0].min(0.4 * radius);
        let mut added = Vec::new();
        let mut best = (0.0, 0);
        for k in 1..=12 {
            let p = first + back * (0.1 * radius * f64::from(k));
            if self.room.free(p) < 0.1 * radius || !self.ground.is_clear(p, left) {
                break;
            }
            added.push(p);
            let clear = self.ground.nearest(p, 1.8 * radius, left).map_or(radius, |n| n.1 - radius);
            let clear = clear.min(self.room.free(p));
            if clear > best.0 {
                best = (clear, added.len());
            }
            if clear > wanted {
                break;
            }
        }
        added.truncate(best.1);
        for p in added {
            middle.places.insert(0, p);
            middle.room_mm.insert(0, self.room.free(p));
        }
        middle
    }

    /// Back along the middle of a neck that leads nowhere.
    fn back_out(&mut self, middle: &Middle) {
        let Some(at) = self.at else { return };
        let wide = 0.9 * WIDE * self.job.cutter_radius_mm;
        if middle.room_mm.last().is_some_and(|r| *r > wide) {
            return;
        }
        let far = |k: &usize| middle.places[*k].distance_squared(at);
        let last = (0..middle.places.len()).min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0);
        let mut way = vec![at];
        way.extend(middle.places[..=last].iter().rev());
        // loops clear the ground round their middles, but the first is where the cutter stood
        match self.is_free(&way) {
            true => self.runs.push(still(Kind::Link, &way)),
            false => self.cut_over(&way),
        }
        self.at = way.last().copied();
    }

    /// Cuts along a line.
    pub(crate) fn cut_along(&mut self, line: &[Vec2], kind: Kind, hold: Hold) -> Run {
        let run = cutting::along(&mut self.ground, line, kind, |_| hold);
        self.at = line.last().copied();
        run
    }
}
