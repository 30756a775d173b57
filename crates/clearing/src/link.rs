//! Ways over cleared ground.

use crate::ground::Ground;
use crate::room::Room;
use geom::Vec2;

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
    (0..=pieces).all(|k| room.depth(a + (b - a) * (k as f64 / pieces as f64)) > -1e-3)
        && ground.is_clear_along(a, b, left_mm)
}
