//! Ways over cleared ground.

use crate::ground::Ground;
use crate::room::Room;
use crate::turns::{Pose, ways, ways_to};
use geom::Vec2;

/// Radii of the turns of a link over the cutter's, the one that is wanted first.
const TURNS: [f64; 3] = [0.2, 0.1, 0.05];

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
        // by the corner, should there be no room for turns
        let corner = (n > 2 && k > 0 && k + 1 < n).then(|| way[k]);
        let piece = turned(ground, room, (from, to, along), (chord_mm, left_mm));
        let piece = piece.unwrap_or_else(|| corner.into_iter().chain([to]).collect());
        let end = piece.len();
        let last = if end > 1 { piece[end - 2] } else { from.at };
        from = Pose { at: to, heading: heading(last, to) };
        out.extend(piece);
    }
    out.dedup_by(|b, a| a.distance(*b) < 1e-9);
    out
}

/// The shortest way on arcs as wide as there is room for.
fn turned(
    ground: &Ground,
    room: &Room,
    (from, to, along): (Pose, Vec2, Option<Vec2>),
    (chord_mm, left_mm): (f64, f64),
) -> Option<Vec<Vec2>> {
    let free = |line: &Vec<Vec2>| {
        line.windows(2).all(|w| is_driven_free(ground, room, w[0], w[1], left_mm))
    };
    let radius = |share: f64| share * ground.radius_mm;
    let both = along.and_then(|heading| {
        let to = Pose { at: to, heading };
        TURNS.iter().find_map(|r| ways(from, to, radius(*r), chord_mm).into_iter().find(free))
    });
    both.or_else(|| {
        TURNS.iter().find_map(|r| ways_to(from, to, radius(*r), chord_mm).into_iter().find(free))
    })
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
