//! Along a closed line: points close together, stretches, arcs, and where to begin.

use geom::Vec2;
use std::collections::BTreeMap;

/// A closed line with points no farther apart than a step.
pub(crate) fn densely(points: &[Vec2], step: f64) -> Vec<Vec2> {
    let mut out = Vec::new();
    for (a, b) in points.iter().zip(points.iter().cycle().skip(1)) {
        let pieces = (a.distance(*b) / step).ceil().max(1.0) as usize;
        out.extend((0..pieces).map(|k| a.lerp(*b, k as f64 / pieces as f64)));
    }
    out
}

/// Marked stretches of a closed line.
#[derive(Debug, PartialEq)]
pub(crate) enum Stretches {
    /// No mark.
    None,
    /// All of it, but for short gaps.
    Closed,
    /// From and to, both marked; what lies beyond the end wraps round.
    Open(Vec<(usize, usize)>),
}

/// Stretches of marks with no gap longer than `gap` in them.
pub(crate) fn stretches(marks: &[bool], gap: usize) -> Stretches {
    let n = marks.len();
    let Some(first) = marks.iter().position(|m| *m) else { return Stretches::None };
    let mut all: Vec<(usize, usize)> = Vec::new();
    for k in (first..first + n).filter(|k| marks[k % n]) {
        match all.last_mut() {
            Some((_, to)) if k - *to <= gap => *to = k,
            _ => all.push((k, k)),
        }
    }
    // the last may run on into the first
    let (start, end) = (all[0].0, all[all.len() - 1].1);
    if start + n - end <= gap {
        if all.len() == 1 {
            return Stretches::Closed;
        }
        let (from, _) = all.pop().unwrap_or_default();
        all[0] = (from, all[0].1 + n);
    }
    Stretches::Open(all)
}

/// Indices of a closed line, the middles of its straightest pieces first: there a seam shows least.
pub(crate) fn from_long_edges(line: &[Vec2]) -> impl Iterator<Item = usize> {
    let n = line.len();
    let along = |k: usize| (line[(k + 1) % n] - line[k % n]).normalize_or_zero();
    let turns = |k: usize| along(k).dot(along(k + 1)) < 1.0 - 1e-9;
    let corners: Vec<usize> = (0..n).filter(|k| turns(*k)).map(|k| k + 1).collect();
    let mut middles: Vec<(usize, usize)> = Vec::new();
    for (i, from) in corners.iter().enumerate() {
        let to = corners.get(i + 1).copied().unwrap_or(corners[0] + n);
        middles.push((to - from, (from + to) / 2 % n));
    }
    middles.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    middles.into_iter().map(|m| m.1).chain(0..n)
}

/// Steps of a path, found by where they are.
#[derive(Debug)]
pub(crate) struct Trail {
    cell_mm: f64,
    cells: BTreeMap<(i64, i64), Vec<(Vec2, Vec2)>>,
}

impl Trail {
    /// For steps no longer than `within_mm`, to be asked for within that distance.
    pub(crate) fn new(within_mm: f64) -> Self {
        Self { cell_mm: within_mm, cells: BTreeMap::new() }
    }

    fn cell(&self, p: Vec2) -> (i64, i64) {
        let at = |v: f64| (v / self.cell_mm).floor() as i64;
        (at(p.x), at(p.y))
    }

    pub(crate) fn push(&mut self, from: Vec2, to: Vec2) {
        let cell = self.cell(from.midpoint(to));
        self.cells.entry(cell).or_default().push((from, to));
    }

    /// Steps of which an end lies within the distance of a point.
    pub(crate) fn near(&self, c: Vec2) -> Vec<(Vec2, Vec2)> {
        let (i, j) = self.cell(c);
        // the middle of a step may lie half of it farther off
        let around = (i - 2..=i + 2).flat_map(|i| (j - 2..=j + 2).map(move |j| (i, j)));
        let steps = around.filter_map(|cell| self.cells.get(&cell)).flatten();
        let near = |s: &&(Vec2, Vec2)| s.0.distance(c).min(s.1.distance(c)) < self.cell_mm;
        steps.filter(near).copied().collect()
    }
}

/// Pieces of a range of angles for which something holds, their ends to a thousandth of the pitch.
pub(crate) fn arcs(from: f64, to: f64, pitch: f64, holds: impl Fn(f64) -> bool) -> Vec<(f64, f64)> {
    let count = ((to - from) / pitch).ceil().max(1.0) as usize;
    let angle = |k: usize| from + (to - from) * k as f64 / count as f64;
    let border = |mut inside: f64, mut outside: f64| {
        for _ in 0..10 {
            let middle = 0.5 * (inside + outside);
            if holds(middle) { inside = middle } else { outside = middle }
        }
        0.5 * (inside + outside)
    };
    let mut out: Vec<(f64, f64)> = Vec::new();
    let mut open = holds(from).then_some(from);
    for k in 1..=count {
        let (before, here) = (angle(k - 1), angle(k));
        match (open, holds(here)) {
            (None, true) => open = Some(border(here, before)),
            (Some(start), false) => {
                out.push((start, border(before, here)));
                open = None;
            }
            _ => {}
        }
    }
    out.extend(open.map(|start| (start, to)));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_join_over_short_gaps_and_round_the_end() {
        let marks = |text: &str| text.chars().map(|c| c == 'x').collect::<Vec<_>>();
        assert_eq!(stretches(&marks("....."), 2), Stretches::None);
        assert_eq!(stretches(&marks("xx.xx.xxx"), 2), Stretches::Closed);
        assert_eq!(stretches(&marks("..xx.x......"), 2), Stretches::Open(vec![(2, 5)]));
        assert_eq!(stretches(&marks("x.....xx....x"), 2), Stretches::Open(vec![(12, 13), (6, 7)]));
    }

    #[test]
    fn a_trail_finds_the_steps_about_a_point() {
        let mut trail = Trail::new(2.0);
        let at = |k: usize| Vec2::new(-5.0 + 0.4 * k as f64, 0.3);
        (0..40).for_each(|k| trail.push(at(k), at(k + 1)));
        for c in [Vec2::ZERO, Vec2::new(-4.9, 1.9), Vec2::new(11.0, -1.0), Vec2::new(0.0, 9.0)] {
            let close = |k: &usize| at(*k).distance(c).min(at(*k + 1).distance(c)) < 2.0;
            assert_eq!(trail.near(c).len(), (0..40).filter(close).count(), "{c}");
        }
    }

    #[test]
    fn arcs_end_where_they_do() {
        let found = arcs(-1.0, 1.0, 0.1, |t| t < -0.55 || (0.123..0.777).contains(&t));
        assert_eq!(found.len(), 2);
        assert!((found[0].1 + 0.55).abs() < 1e-4 && (found[1].0 - 0.123).abs() < 1e-4);
        assert!((found[1].1 - 0.777).abs() < 1e-4);
    }

    #[test]
    fn a_rectangle_is_begun_in_the_middle_of_a_long_side() {
        let corners = [[0.0, 0.0], [30.0, 0.0], [30.0, 10.0], [0.0, 10.0]].map(Vec2::from);
        let line = densely(&corners, 1.0);
        let first = from_long_edges(&line).next().map(|k| line[k]);
        assert_eq!(first, Some(Vec2::new(15.0, 0.0)));
    }
}
