//! Runs of short straight moves written as arcs.
//!
//! Of the circles through both ends of a run the one nearest to the points between is taken (least
//! squares of the power of the points, linear in the place of the centre on the bisector). It stands
//! for the run where every point lies on it within a tolerance and it leaves no chord by more than
//! the chords may leave the true path anyway, plus that tolerance.

use geom::Vec3;
use machine::track::{Feed, Move, Place, Shape, Track};
use std::f64::consts::PI;

/// Fewest moves that an arc stands for.
const FEWEST: usize = 3;
/// Radii of arcs, mm: beyond, controls round or refuse.
const RADII_MM: [f64; 2] = [0.05, 5000.0];
/// Longest turn of one arc, rad: its centre follows both ends well.
const LONGEST_RAD: f64 = 0.9 * PI;
/// A run lies in a plane where its points do within this, mm.
const FLAT_MM: f64 = 1e-5;
/// Feeds that differ by less than this share are one feed.
const SAME_FEED: f64 = 1e-5;

/// How far an arc may leave what it stands for, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Allowed {
    /// The ends of the straight moves.
    pub(crate) point_mm: f64,
    /// The middles of the straight moves: how far a chord may leave the true path.
    pub(crate) chord_mm: f64,
}

/// The track with arcs where they fit.
pub(crate) fn fit(track: &Track, allowed: Allowed) -> Track {
    let mut out = Track { start: track.start, moves: Vec::new(), waits: track.waits.clone() };
    let (mut i, mut from) = (0, track.start);
    while i < track.moves.len() {
        let (end, arc) = longest(&from, &track.moves[i..], allowed);
        match arc {
            Some(shape) => {
                let last = track.moves[i + end - 1];
                out.moves.push(Move { shape, ..last });
                i += end;
            }
            None => {
                out.moves.push(track.moves[i]);
                i += 1;
            }
        }
        from = track.moves[i - 1].to;
    }
    out
}

/// How many of the next moves one arc can stand for, and that arc.
fn longest(from: &Place, moves: &[Move], allowed: Allowed) -> (usize, Option<Shape>) {
    let first = &moves[0];
    let joins = |m: &Move| {
        m.shape == Shape::Line
            && m.to.rotary == from.rotary
            && m.frame == first.frame
            && m.block == first.block
            && same_feed(m.feed, first.feed)
    };
    let mut most = moves.iter().take_while(|m| joins(m)).count();
    if let Some(stop) = moves[..most].iter().position(|m| m.stop) {
        most = stop + 1;
    }
    let none = (1, None);
    if most < FEWEST || first.feed == Feed::Rapid {
        return none;
    }
    let at = |n: usize| arc(from.linear, &moves[..n], allowed);
    let mut best = FEWEST;
    let Some(mut shape) = at(best) else { return none };
    let mut beyond = best;
    while beyond < most {
        beyond = (2 * beyond).min(most);
        match at(beyond) {
            Some(longer) => (best, shape) = (beyond, longer),
            None => break,
        }
    }
    // between the longest that fits and the shortest that does not
    while beyond > best + 1 {
        let middle = (best + beyond) / 2;
        match at(middle) {
            Some(longer) => (best, shape) = (middle, longer),
            None => beyond = middle,
        }
    }
    (best, Some(shape))
}

fn same_feed(a: Feed, b: Feed) -> bool {
    match (a, b) {
        (Feed::Speed(a), Feed::Speed(b)) => (a - b).abs() <= SAME_FEED * b,
        _ => false,
    }
}

/// The arc from `start` over the ends of all of `moves`, where there is one.
fn arc(start: Vec3, moves: &[Move], allowed: Allowed) -> Option<Shape> {
    let points: Vec<Vec3> =
        std::iter::once(start).chain(moves.iter().map(|m| m.to.linear)).collect();
    // the plane in which nothing moves across
    let normal = (0..3).find(|&k| points.iter().all(|p| (p[k] - start[k]).abs() <= FLAT_MM))?;
    let (u, v) = ((normal + 1) % 3, (normal + 2) % 3);
    let flat: Vec<[f64; 2]> = points.iter().map(|p| [p[u], p[v]]).collect();
    let circle = Circle::through(&flat)?;
    let sweep = circle.sweep(&flat, allowed)?;
    let mut centre = start;
    (centre[u], centre[v]) = (circle.centre[0], circle.centre[1]);
    let axis = Vec3::AXES[normal] * sweep.signum();
    Some(Shape::Arc { centre, axis, sweep_rad: sweep.abs() })
}

struct Circle {
    centre: [f64; 2],
    radius: f64,
}

impl Circle {
    /// Through the first and the last point, nearest to those between.
    fn through(points: &[[f64; 2]]) -> Option<Self> {
        let (a, b) = (points[0], points[points.len() - 1]);
        let middle = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
        let chord = [b[0] - a[0], b[1] - a[1]];
        let half = 0.5 * chord[0].hypot(chord[1]);
        if half < RADII_MM[0] * 1e-3 {
            return None;
        }
        let across = [-chord[1] / (2.0 * half), chord[0] / (2.0 * half)];
        let (mut over, mut under) = (0.0, 0.0);
        for p in &points[1..points.len() - 1] {
            let d = [p[0] - middle[0], p[1] - middle[1]];
            let w = d[0] * across[0] + d[1] * across[1];
            over += w * 0.5 * (d[0] * d[0] + d[1] * d[1] - half * half);
            under += w * w;
        }
        if under <= 0.0 {
            return None;
        }
        let t = over / under;
        let radius = half.hypot(t);
        let centre = [middle[0] + t * across[0], middle[1] + t * across[1]];
        (RADII_MM[0]..=RADII_MM[1]).contains(&radius).then_some(Self { centre, radius })
    }

    /// Angle turned over the points, counter-clockwise positive; `None` where they are not within
    /// what is allowed, or do not follow one another.
    fn sweep(&self, points: &[[f64; 2]], allowed: Allowed) -> Option<f64> {
        let arm = |p: &[f64; 2]| [p[0] - self.centre[0], p[1] - self.centre[1]];
        let mut total = 0.0f64;
        for pair in points.windows(2) {
            let (a, b) = (arm(&pair[0]), arm(&pair[1]));
            if (b[0].hypot(b[1]) - self.radius).abs() > allowed.point_mm {
                return None;
            }
            let middle = (0.5 * (a[0] + b[0])).hypot(0.5 * (a[1] + b[1]));
            if self.radius - middle > allowed.chord_mm + allowed.point_mm {
                return None;
            }
            let turn = (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1]);
            if turn == 0.0 || turn * total < 0.0 {
                return None;
            }
            total += turn;
        }
        (total.abs() <= LONGEST_RAD).then_some(total)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use machine::track::Frame;

    fn line(to: Vec3, speed: f64) -> Move {
        Move {
            to: Place { linear: to, rotary: [0.0; 2] },
            shape: Shape::Line,
            feed: Feed::Speed(speed),
            frame: Frame::Axes,
            stop: false,
            block: 0,
            tool: 1,
        }
    }

    fn along(points: &[Vec3]) -> Track {
        let start = Place { linear: points[0], rotary: [0.0; 2] };
        Track { start, moves: points[1..].iter().map(|p| line(*p, 20.0)).collect(), waits: vec![] }
    }

    #[test]
    fn a_divided_circle_comes_back_in_every_plane() {
        let allowed = Allowed { point_mm: 1e-6, chord_mm: 0.01 };
        for normal in 0..3 {
            for sense in [1.0, -1.0] {
                let point = |i: i32| {
                    let angle = 0.3 + sense * 0.04 * f64::from(i);
                    let mut p = Vec3::splat(5.0);
                    p[(normal + 1) % 3] += 7.0 * angle.cos();
                    p[(normal + 2) % 3] += 7.0 * angle.sin();
                    p
                };
                let points: Vec<Vec3> = (0..=50).map(point).collect();
                let fitted = fit(&along(&points), allowed);
                assert_eq!(fitted.moves.len(), 1, "{normal} {sense}");
                let Shape::Arc { centre, axis, sweep_rad } = fitted.moves[0].shape else {
                    panic!("an arc")
                };
                let mut expected = Vec3::splat(5.0);
                expected[normal] = points[0][normal];
                assert!(centre.distance(expected) < 1e-6);
                assert!((axis[normal] - sense).abs() < 1e-12);
                assert!((sweep_rad - 2.0).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn corners_other_feeds_and_long_chords_stay_straight() {
        let allowed = Allowed { point_mm: 1e-4, chord_mm: 1e-3 };
        let straight: Vec<Vec3> = (0..9).map(|i| Vec3::X * f64::from(i)).collect();
        assert_eq!(fit(&along(&straight), allowed), along(&straight));
        // chords of 1 mm on a radius of 7 mm leave it by 0.018 mm
        let round = |n: i32, step: f64| -> Vec<Vec3> {
            (0..n)
                .map(|i| {
                    Vec3::new((step * f64::from(i)).cos(), (step * f64::from(i)).sin(), 0.0) * 7.0
                })
                .collect()
        };
        assert_eq!(fit(&along(&round(9, 0.14)), allowed).moves.len(), 8);
        let mut fine = along(&round(31, 0.02));
        assert_eq!(fit(&fine, allowed).moves.len(), 1);
        fine.moves[15..].iter_mut().for_each(|m| m.feed = Feed::Speed(21.0));
        assert_eq!(fit(&fine, allowed).moves.len(), 2);
        fine.moves[20].stop = true;
        let fitted = fit(&fine, allowed);
        assert_eq!(fitted.moves.iter().filter(|m| m.stop).count(), 1);
        assert_eq!(fitted.moves.len(), 3);
    }
}
