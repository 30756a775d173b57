//! Where the next pass begins: the nearest material, at the end of it where a pass can run along.
//!
//! Places where the cutter stands clear are searched outwards from where it is. Ground once clear
//! stays so, and is not looked at again.

use crate::grid::Grid;
use crate::ground::{Ground, Side};
use crate::link::{is_free, is_nearly_free, shorten};
use crate::room::Room;
use geom::Vec2;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// The next pass: a way over cleared ground and the feed at its end.
#[derive(Debug, Clone)]
pub(crate) struct Start {
    /// From where the cutter is to the start; one point if it must be lifted over.
    pub(crate) way: Vec<Vec2>,
    pub(crate) feed: Vec2,
    pub(crate) side: Side,
    pub(crate) lifted: bool,
    node: usize,
}

/// What is known about places for the cutter.
#[derive(Debug)]
pub(crate) struct Front {
    pub(crate) grid: Grid,
    clear: Vec<bool>,
    /// A node of the ground that stood in the way the last time.
    blocked_by: Vec<u32>,
    given_up: Vec<bool>,
    /// Material thinner than this is left for the last round, mm.
    left_mm: f64,
    /// Sides of the feed on which material may lie.
    sides: &'static [Side],
}

impl Front {
    pub(crate) fn new(grid: Grid, left_mm: f64, both: bool) -> Self {
        let sides: &[Side] = if both { &[Side::Right, Side::Left] } else { &[Side::Right] };
        let (clear, given_up) = (vec![false; grid.len()], vec![false; grid.len()]);
        let blocked_by = vec![0; grid.len()];
        Self { grid, clear, blocked_by, given_up, left_mm, sides }
    }

    fn stands_clear(&mut self, ground: &Ground, node: usize) -> bool {
        let known = self.blocked_by[node] as usize;
        if self.clear[node] || (known > 0 && ground.stands(known, self.left_mm)) {
            return self.clear[node];
        }
        match ground.standing(self.grid.place(node), self.left_mm) {
            Some(standing) => self.blocked_by[node] = standing as u32,
            None => self.clear[node] = true,
        }
        self.clear[node]
    }

    fn neighbours(&self, node: usize) -> impl Iterator<Item = (usize, f64)> + use<> {
        let (nx, ny) = (self.grid.nx as i64, self.grid.ny as i64);
        let (i, j) = (node as i64 % nx, node as i64 / nx);
        const STEPS: [(i64, i64); 8] =
            [(1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (-1, 1), (-1, -1), (1, -1)];
        STEPS.into_iter().filter_map(move |(di, dj)| {
            let (x, y) = (i + di, j + dj);
            let on = x >= 0 && y >= 0 && x < nx && y < ny;
            on.then(|| ((y * nx + x) as usize, ((di * di + dj * dj) as f64).sqrt()))
        })
    }

    /// Whether a clear place has material beside it that has not been given up.
    fn is_front(&mut self, ground: &Ground, room: &Room, node: usize) -> bool {
        let all: Vec<_> = self.neighbours(node).take(4).collect();
        all.into_iter().any(|(n, _)| {
            !self.given_up[n]
                && room.depth(self.grid.place(n)) > 0.0
                && !self.stands_clear(ground, n)
        })
    }

    /// The start with the shortest way from a place that is clear, else any.
    pub(crate) fn next(
        &mut self,
        ground: &Ground,
        room: &Room,
        from: Option<Vec2>,
    ) -> Option<Start> {
        if let Some(start) = from.and_then(|p| self.nearest_start(ground, room, p)) {
            return Some(start);
        }
        let node = (0..self.grid.len()).find(|n| {
            room.depth(self.grid.place(*n)) > 0.0
                && self.stands_clear(ground, *n)
                && self.is_front(ground, room, *n)
        })?;
        let mut way = vec![self.grid.place(node)];
        let side = Side::Right;
        let feed = self.back_up(ground, room, (node, side), &mut way);
        let last = way.pop()?;
        Some(Start { way: vec![last], feed, side, lifted: true, node })
    }

    /// Every front has one place where a pass along it begins, and that may lie far from where the
    /// front is nearest: fronts are looked at from near to far until none can begin nearer.
    fn nearest_start(&mut self, ground: &Ground, room: &Room, from: Vec2) -> Option<Start> {
        let mut search = Search::new(self, ground, room, from);
        let mut seen = vec![false; self.grid.len()];
        let mut best: Option<(f64, Start)> = None;
        while let Some((node, cost)) = search.pop(self, ground, room) {
            if best.as_ref().is_some_and(|(length, _)| *length <= cost) {
                break;
            }
            if seen[node] || !self.is_front(ground, room, node) {
                continue;
            }
            self.mark_front(ground, room, node, &mut seen);
            for &side in self.sides {
                let mut way = search.way(self, node);
                let feed = self.back_up(ground, room, (node, side), &mut way);
                let way = shorten(ground, room, &way);
                let length: f64 = way.windows(2).map(|w| w[0].distance(w[1])).sum();
                if best.as_ref().is_none_or(|(least, _)| length < *least) {
                    best = Some((length, Start { way, feed, side, lifted: false, node }));
                }
            }
        }
        best.map(|(_, start)| start)
    }

    /// Marks all places of a front.
    fn mark_front(&mut self, ground: &Ground, room: &Room, node: usize, seen: &mut [bool]) {
        let mut open = vec![node];
        seen[node] = true;
        while let Some(node) = open.pop() {
            let around: Vec<usize> = self.neighbours(node).map(|(n, _)| n).collect();
            for n in around {
                let clear = !seen[n] && room.depth(self.grid.place(n)) > 0.0;
                if clear && self.stands_clear(ground, n) && self.is_front(ground, room, n) {
                    seen[n] = true;
                    open.push(n);
                }
            }
        }
    }

    /// Whether the four places round a point are known to be clear.
    pub(crate) fn is_clear_round(&self, p: Vec2) -> bool {
        let at = (p - self.grid.origin) / self.grid.cell_mm;
        let (i, j) = (at.x.max(0.0) as usize, at.y.max(0.0) as usize);
        let on = i + 1 < self.grid.nx && j + 1 < self.grid.ny;
        let node = j * self.grid.nx + i;
        on && [0, 1, self.grid.nx, self.grid.nx + 1].iter().all(|d| self.clear[node + d])
    }

    /// A way over clear places to a place that is clear.
    pub(crate) fn way(
        &mut self,
        ground: &Ground,
        room: &Room,
        from: Vec2,
        to: Vec2,
    ) -> Option<Vec<Vec2>> {
        let near = 1.5 * self.grid.cell_mm;
        let mut search = Search::new(self, ground, room, from);
        while let Some((node, _)) = search.pop(self, ground, room) {
            let p = self.grid.place(node);
            if p.distance(to) < near && is_nearly_free(ground, room, p, to, self.left_mm) {
                let mut way = search.way(self, node);
                way.push(to);
                return Some(way);
            }
        }
        None
    }

    /// Places about a point.
    fn around(&self, p: Vec2) -> Vec<usize> {
        let near = 1.5 * self.grid.cell_mm;
        let columns = self.grid.columns(p.x - near, p.x + near);
        let rows = self.grid.rows(p.y - near, p.y + near);
        rows.flat_map(|j| columns.clone().map(move |i| j * self.grid.nx + i)).collect()
    }

    /// Goes back along the border of the material, which stays on its side, until a wall or the
    /// border's other end; the feed there.
    fn back_up(
        &self,
        ground: &Ground,
        room: &Room,
        (node, side): (usize, Side),
        way: &mut Vec<Vec2>,
    ) -> Vec2 {
        let radius = ground.radius_mm;
        let gap = 0.02 * radius;
        let reach = radius + 2.0 * self.grid.cell_mm;
        let first = self.grid.place(node);
        let mut at = first;
        let mut feed = Vec2::X;
        for k in 0..600 {
            let Some((to, distance)) = ground.nearest(at, reach, self.left_mm) else { break };
            let beside = at + to * (distance - radius - gap);
            let last = way.last().copied().unwrap_or(first);
            if k > 0 && (room.depth(beside) < 0.0 || !is_free(ground, room, last, beside)) {
                break;
            }
            feed = to.perp() * side.sign();
            if room.depth(beside) > 0.0 && is_free(ground, room, last, beside) {
                way.push(beside);
            }
            let back = beside - feed * (0.25 * radius);
            if room.depth(back) < 0.0 || (k > 8 && back.distance(first) < 0.4 * radius) {
                break;
            }
            at = back;
        }
        feed
    }

    /// No more passes from there: nothing came of it.
    pub(crate) fn give_up(&mut self, ground: &Ground, start: &Start) {
        let mut around = vec![start.node];
        for _ in 0..2 {
            let more: Vec<usize> =
                around.iter().flat_map(|n| self.neighbours(*n)).map(|(n, _)| n).collect();
            around.extend(more);
        }
        for n in around {
            if !self.stands_clear(ground, n) {
                self.given_up[n] = true;
            }
        }
    }

    /// Places that are not clear and that an entry of their own could reach.
    pub(crate) fn untouched(&mut self, ground: &Ground, room: &Room) -> Vec<usize> {
        (0..self.grid.len())
            .filter(|n| {
                !self.given_up[*n]
                    && room.free(self.grid.place(*n)) > 0.0
                    && !self.stands_clear(ground, *n)
            })
            .collect()
    }

    /// Gives up all that an entry could not reach.
    pub(crate) fn give_up_at(&mut self, nodes: &[usize]) {
        for n in nodes {
            self.given_up[*n] = true;
        }
    }
}

/// Clear places from near to far.
struct Search {
    from: Vec2,
    cost: Vec<f64>,
    parent: Vec<usize>,
    queue: BinaryHeap<Reverse<(u64, usize)>>,
    /// A straight piece between places leaves the curve round a corner by this much, mm.
    margin_mm: f64,
}

fn key(cost: f64) -> u64 {
    (cost * 4096.0) as u64
}

impl Search {
    fn new(front: &mut Front, ground: &Ground, room: &Room, from: Vec2) -> Self {
        let pitch = front.grid.cell_mm;
        let (cost, parent) =
            (vec![f64::INFINITY; front.grid.len()], vec![usize::MAX; front.grid.len()]);
        let margin_mm = pitch * pitch / (4.0 * ground.radius_mm);
        let mut out = Self { from, cost, parent, queue: BinaryHeap::new(), margin_mm };
        for left in [ground.grain_mm(), front.left_mm] {
            for node in front.around(from) {
                let p = front.grid.place(node);
                if room.free(p) > 0.0
                    && front.stands_clear(ground, node)
                    && is_nearly_free(ground, room, from, p, left)
                {
                    out.cost[node] = p.distance(from);
                    out.queue.push(Reverse((key(out.cost[node]), node)));
                }
            }
            if !out.queue.is_empty() {
                break;
            }
        }
        out
    }

    /// The next place and the length of the way to it, mm.
    fn pop(&mut self, front: &mut Front, ground: &Ground, room: &Room) -> Option<(usize, f64)> {
        while let Some(Reverse((at, node))) = self.queue.pop() {
            if at > key(self.cost[node]) {
                continue;
            }
            for (next, length) in front.neighbours(node) {
                let through = self.cost[node] + length * front.grid.cell_mm;
                if through < self.cost[next]
                    && room.free(front.grid.place(next)) > self.margin_mm
                    && front.stands_clear(ground, next)
                {
                    self.cost[next] = through;
                    self.parent[next] = node;
                    self.queue.push(Reverse((key(through), next)));
                }
            }
            return Some((node, self.cost[node]));
        }
        None
    }

    /// The way to a place that came up.
    fn way(&self, front: &Front, node: usize) -> Vec<Vec2> {
        let mut way = vec![front.grid.place(node)];
        let mut n = node;
        while self.parent[n] != usize::MAX {
            n = self.parent[n];
            way.push(front.grid.place(n));
        }
        way.push(self.from);
        way.reverse();
        way
    }
}
