//! Smooth ways between two places with given headings: an arc, a straight piece, an arc.

use geom::Vec2;
use std::f64::consts::TAU;

/// A place and a heading (unit vector).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pose {
    pub(crate) at: Vec2,
    pub(crate) heading: Vec2,
}

/// All ways between two poses with arcs of a radius, points no farther from the arcs than a chord may
/// be, the shortest first.
pub(crate) fn ways(from: Pose, to: Pose, radius: f64, chord: f64) -> Vec<Vec<Vec2>> {
    let sides = [(1.0, 1.0), (-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0)];
    let found = sides.iter().filter_map(|(a, b)| way(from, to, radius, (*a, *b), chord));
    in_order(found.collect())
}

/// Ways that leave a pose on an arc and go on straight to a place, the shorter first.
pub(crate) fn ways_to(from: Pose, to: Vec2, radius: f64, chord: f64) -> Vec<Vec<Vec2>> {
    let found = [1.0, -1.0].into_iter().filter_map(|side| {
        let middle = from.at + from.heading.perp() * (side * radius);
        let away = to - middle;
        let far = away.length();
        if far < radius {
            return None;
        }
        // the tangent point lies to the side of the line from the middle
        let lean = (radius / far).acos();
        let out = away.rotate(Vec2::from_angle(-side * lean)) / far;
        let mut line = arc(middle, from.at, out * radius, side, chord);
        line.push(to);
        Some(line)
    });
    in_order(found.collect())
}

fn in_order(mut ways: Vec<Vec<Vec2>>) -> Vec<Vec<Vec2>> {
    ways.sort_by(|a, b| length(a).total_cmp(&length(b)));
    ways
}

pub(crate) fn length(line: &[Vec2]) -> f64 {
    line.windows(2).map(|w| w[0].distance(w[1])).sum()
}

/// A way that turns to a side (left 1, right −1) at each end.
fn way(from: Pose, to: Pose, radius: f64, (a, b): (f64, f64), chord: f64) -> Option<Vec<Vec2>> {
    let first = from.at + from.heading.perp() * (a * radius);
    let last = to.at + to.heading.perp() * (b * radius);
    let between = last - first;
    let far = between.length();
    let along = if a == b {
        if far < 1e-9 { from.heading } else { between / far }
    } else {
        if far < 2.0 * radius {
            return None;
        }
        let lean = (2.0 * radius / far).asin();
        between.rotate(Vec2::from_angle(a * lean)) / far
    };
    let leave = along.perp() * (-a * radius);
    let join = along.perp() * (-b * radius);
    let mut line = arc(first, from.at, leave, a, chord);
    line.extend(arc(last, last + join, to.at - last, b, chord));
    line.dedup_by(|p, q| p.distance(*q) < 1e-9);
    Some(line)
}

/// Points of an arc about a middle from a point of it to `middle + end`, turning to a side.
fn arc(middle: Vec2, from: Vec2, end: Vec2, side: f64, chord: f64) -> Vec<Vec2> {
    let start = from - middle;
    let turn = (side * start.angle_to(end)).rem_euclid(TAU);
    // a hair short of a whole turn is none
    let turn = if turn > TAU - 1e-6 { 0.0 } else { turn };
    let radius = start.length();
    let step = (8.0 * chord / radius.max(chord)).sqrt().min(0.25);
    let pieces = (turn / step).ceil().max(1.0);
    let at = |k: usize| middle + start.rotate(Vec2::from_angle(side * turn * k as f64 / pieces));
    let mut out = vec![from];
    out.extend((1..pieces as usize).map(at));
    out.push(middle + end);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pose(x: f64, y: f64, angle: f64) -> Pose {
        Pose { at: Vec2::new(x, y), heading: Vec2::from_angle(angle) }
    }

    /// Corner at each end and the sharpest within, rad.
    fn corners(line: &[Vec2], from: Pose, to: Pose) -> f64 {
        let mut headings = vec![from.heading];
        headings.extend(line.windows(2).map(|w| (w[1] - w[0]).normalize()));
        headings.push(to.heading);
        headings.windows(2).map(|w| w[0].angle_to(w[1]).abs()).fold(0.0, f64::max)
    }

    #[test]
    fn ways_begin_and_end_where_and_as_asked_for() {
        for k in 0..200 {
            let k = f64::from(k);
            let from = pose(0.0, 0.0, 0.7 * k);
            let to = pose(6.0 * (1.3 * k).sin(), 9.0 * (0.4 * k).cos(), 2.1 * k);
            let all = ways(from, to, 1.0, 1e-3);
            assert!(all.len() >= 2);
            for line in &all {
                assert!(line[0].distance(from.at) < 1e-9);
                assert!(line[line.len() - 1].distance(to.at) < 1e-9);
                assert!(corners(line, from, to) < 0.1, "{k} {}", corners(line, from, to));
            }
            for line in ways_to(from, to.at, 1.0, 1e-3) {
                let end = line[line.len() - 1] - line[line.len() - 2];
                let arriving = Pose { at: to.at, heading: end.normalize() };
                assert!(corners(&line, from, arriving) < 0.1);
            }
        }
    }

    #[test]
    fn a_turn_back_to_the_left() {
        // derived: two half circles of radius 1 and 10 mm between them
        let line = &ways(pose(0.0, 0.0, 0.0), pose(-10.0, 0.0, 0.0), 1.0, 1e-5)[0];
        assert!((length(line) - 10.0 - TAU).abs() < 1e-3, "{}", length(line));
    }
}
