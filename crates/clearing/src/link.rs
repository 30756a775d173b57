//! Ways over cleared ground.

use crate::ground::Ground;
use crate::room::Room;
use crate::turns::{Pose, ways, ways_to};
use geom::Vec2;

/// Radii of the turns of a link over the cutter's, the one that is wanted first.
const TURNS: [f64; 4] = [0.2, 0.1, 0.05, 0.025];

/// A way with turns instead of corners, wherever there is room for them: it leaves along the feed of the
/// pass before and arrives along that of the next. `left_mm` may stand in the way.
pub(crate) fn smooth(
    ground: &Ground,
    room: &Room,
    way: &[Vec2],
    (before, after): (Option<Vec2>, Option<Vec2>),
    (chord_mm, left_mm): (f64, f64),
) -> Vec<Vec2> {
    let n = way.len();
    if n < 2 {
        return way.to_vec();
    }
    let heading = |a: Vec2, b: Vec2| (b - a).try_normalize().unwrap_or(Vec2::X);
    let first = Pose { at: way[0], heading: before.unwrap_or(heading(way[0], way[1])) };
    // half-way between corners the way is straight
    let mut stations: Vec<(Vec2, Option<Vec2>)> = match n {
        2 => Vec::new(),
        _ => way.windows(2).map(|w| (w[0].midpoint(w[1]), Some(heading(w[0], w[1])))).collect(),
    };
    stations.push((way[n - 1], after));
    let mut out = vec![first.at];
    let mut from = first;
    for (k, (to, along)) in stations.into_iter().enumerate() {
        let corner = (n > 2 && k > 0 && k + 1 < n).then(|| way[k]);
        let free = |line: &Vec<Vec2>| {
            line.windows(2).all(|w| is_driven_free(ground, room, w[0], w[1], left_mm))
        };
        let turns = Turns { radius_mm: ground.radius_mm, chord_mm, free: &free };
        let piece = turns.piece(from, to, along, corner);
        // by the corner, should there be no room for turns
        let piece = piece.unwrap_or_else(|| corner.into_iter().chain([to]).collect());
        let end = piece.len();
        let last = if end > 1 { piece[end - 2] } else { from.at };
        from = Pose { at: to, heading: heading(last, to) };
        out.extend(piece);
    }
    out.dedup_by(|b, a| a.distance(*b) < 1e-9);
    out
}

/// Turns that a link may take.
struct Turns<'a> {
    radius_mm: f64,
    chord_mm: f64,
    free: &'a dyn Fn(&Vec<Vec2>) -> bool,
}

impl Turns<'_> {
    /// The shortest way on arcs as wide as there is room for; else by the corner, rounded; else with a corner
    /// where it ends.
    fn piece(
        &self,
        from: Pose,
        to: Vec2,
        along: Option<Vec2>,
        corner: Option<Vec2>,
    ) -> Option<Vec<Vec2>> {
        let mut radii = TURNS.iter().map(|r| r * self.radius_mm);
        let short = along.and_then(|heading| {
            let to = Pose { at: to, heading };
            radii.clone().find_map(|r| self.hop(from, to, r))
        });
        let guide: Vec<Vec2> = [from.at].into_iter().chain(corner).chain([to]).collect();
        let beside = || radii.clone().find_map(|r| self.along(from.heading, &guide, along, r));
        short.or_else(beside).or_else(|| {
            radii.find_map(|r| ways_to(from, to, r, self.chord_mm).into_iter().find(self.free))
        })
    }

    /// The shortest free way between two poses.
    fn hop(&self, from: Pose, to: Pose, radius_mm: f64) -> Option<Vec<Vec2>> {
        ways(from, to, radius_mm, self.chord_mm).into_iter().find(self.free)
    }

    /// Along straight lines: turned onto the first near its beginning, from one to the next by an arc in
    /// the corner, and out of the last near its end.
    fn along(
        &self,
        heading: Vec2,
        guide: &[Vec2],
        arriving: Option<Vec2>,
        radius_mm: f64,
    ) -> Option<Vec<Vec2>> {
        let legs: Vec<(Vec2, f64)> = guide
            .windows(2)
            .filter_map(|w| Some(((w[1] - w[0]).try_normalize()?, w[0].distance(w[1]))))
            .collect();
        if legs.len() + 1 != guide.len() {
            return None;
        }
        let (last, end) = (legs[legs.len() - 1], guide[guide.len() - 1]);
        let mut poses = vec![Pose { at: guide[0], heading }];
        let straight = |a: Vec2, b: Vec2| a.dot(b) > 1.0 - 1e-9;
        if !straight(heading, legs[0].0) {
            let on = (4.0 * radius_mm).min(0.4 * legs[0].1);
            poses.push(Pose { at: guide[0] + legs[0].0 * on, heading: legs[0].0 });
        }
        for (pair, corner) in legs.windows(2).zip(&guide[1..]) {
            let half = 0.5 * pair[0].0.angle_to(pair[1].0).abs();
            let off = radius_mm * half.tan();
            if off > 0.5 * pair[0].1.min(pair[1].1) {
                return None;
            }
            poses.push(Pose { at: *corner - pair[0].0 * off, heading: pair[0].0 });
            poses.push(Pose { at: *corner + pair[1].0 * off, heading: pair[1].0 });
        }
        let arriving = arriving.unwrap_or(last.0);
        if !straight(arriving, last.0) {
            let off = (4.0 * radius_mm).min(0.4 * last.1);
            poses.push(Pose { at: end - last.0 * off, heading: last.0 });
        }
        poses.push(Pose { at: end, heading: arriving });
        let mut line: Vec<Vec2> = Vec::new();
        for pair in poses.windows(2) {
            line.extend(self.hop(pair[0], pair[1], radius_mm)?);
        }
        line.dedup_by(|b, a| a.distance(*b) < 1e-9);
        Some(line)
    }
}

/// Whether the cutter may go straight, by all that stands under it on the way.
pub(crate) fn is_driven_free(ground: &Ground, room: &Room, a: Vec2, b: Vec2, left_mm: f64) -> bool {
    let way = b - a;
    let all = |step: f64, good: &dyn Fn(Vec2) -> bool| {
        let pieces = (way.length() / (step * ground.radius_mm)).ceil().max(1.0) as usize;
        (1..=pieces).all(|k| good(a + way * (k as f64 / pieces as f64)))
    };
    // a corner of the border comes nearer in between by a few hundredths of the first step, squared;
    // disks as far apart as the second leave films thinner than what may stand
    all(0.05, &|p| room.free(p) > -1e-3) && all(0.2, &|p| ground.is_clear(p, left_mm))
}

/// A way with its needless corners left out.
pub(crate) fn shorten(ground: &Ground, room: &Room, way: &[Vec2]) -> Vec<Vec2> {
    let Some(first) = way.first() else { return Vec::new() };
    let mut out = vec![*first];
    let mut at = 0;
    while at + 1 < way.len() {
        let mut reach = way.len() - 1;
        while reach > at + 1 && !is_free(ground, room, way[at], way[reach]) {
            reach = at + (reach - at) / 2;
        }
        out.push(way[reach]);
        at = reach;
    }
    out.dedup_by(|b, a| a.distance(*b) < 1e-9);
    out
}

/// Whether the cutter may go straight: in the room, over cleared ground.
pub(crate) fn is_free(ground: &Ground, room: &Room, a: Vec2, b: Vec2) -> bool {
    is_nearly_free(ground, room, a, b, ground.grain_mm())
}

/// The same over ground on which no more than `left_mm` stands.
pub(crate) fn is_nearly_free(ground: &Ground, room: &Room, a: Vec2, b: Vec2, left_mm: f64) -> bool {
    let pieces = ((b - a).length() / (0.25 * room.rounding_mm)).ceil().max(1.0) as usize;
    (0..=pieces).all(|k| room.free(a + (b - a) * (k as f64 / pieces as f64)) > -1e-3)
        && ground.is_clear_along(a, b, left_mm)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// derived: a right angle whose inside may not be cut short is rounded by an arc of the widest radius
    /// that keeps within the corridor, and both ends lie along what goes before and after
    #[test]
    fn a_corner_with_no_room_for_a_short_cut_is_rounded() {
        let corridor = |line: &Vec<Vec2>| {
            // off the two legs by no more than 0.1 mm
            let near = |p: &Vec2| (p.y.abs() < 0.1 && p.x < 10.1) || (p.x - 10.0).abs() < 0.1;
            let between = line
                .windows(2)
                .flat_map(|w| (0..=20).map(|k| w[0].lerp(w[1], f64::from(k) / 20.0)));
            between.collect::<Vec<_>>().iter().all(near)
        };
        let turns = Turns { radius_mm: 5.0, chord_mm: 0.002, free: &corridor };
        let from = Pose { at: Vec2::ZERO, heading: Vec2::X };
        let (corner, to) = (Vec2::new(10.0, 0.0), Vec2::new(10.0, 8.0));
        let line = turns.piece(from, to, Some(Vec2::Y), Some(corner)).expect("a way");
        let headings: Vec<Vec2> = line.windows(2).map(|w| (w[1] - w[0]).normalize()).collect();
        let turns = headings.windows(2).map(|w| w[0].angle_to(w[1]));
        assert!(turns.clone().all(|t| (0.0..0.26).contains(&(t + 1e-9))), "{line:?}");
        assert!((turns.sum::<f64>() - std::f64::consts::FRAC_PI_2).abs() < 1e-6);
        // radius 0.25 mm of those tried: 0.5 mm leaves the legs by 0.5 (1 - cos 45°) on the bisector
        assert!(line.iter().any(|p| (p.x - 9.75).abs() < 1e-6 && p.y.abs() < 1e-6), "{line:?}");
    }
}
