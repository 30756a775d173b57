//! Down into the material where no ground is clear yet.

use crate::job::Entry;
use crate::room::Room;
use geom::Vec2;
use geom::segment::distance_in_plane;
use std::f64::consts::FRAC_PI_4;

/// Places with this share of the most room are as good as the roomiest: the way down is in their middle.
const MIDDLE: f64 = 0.95;

/// A way down and the feed with which a pass goes on.
#[derive(Debug, Clone)]
pub(crate) struct Down {
    pub(crate) points: Vec<Vec2>,
    pub(crate) feed: Vec2,
}

/// Distance from a place to the border of the shape.
pub(crate) fn clearance(edges: &[(Vec2, Vec2)], p: Vec2) -> f64 {
    edges.iter().map(|(a, b)| distance_in_plane(p, [*a, *b])).fold(f64::INFINITY, f64::min)
}

/// The roomiest of some places, climbed to its top, and the distance to the border there.
pub(crate) fn roomiest(edges: &[(Vec2, Vec2)], places: &[Vec2], pitch: f64) -> Option<(Vec2, f64)> {
    // a look at every few places, then up the hill from the middle of those with about the most room
    let stride = (places.len() / 400).max(1);
    let seen: Vec<(Vec2, f64)> =
        places.iter().step_by(stride).map(|p| (*p, clearance(edges, *p))).collect();
    let most = seen.iter().fold(0.0, |m: f64, s| m.max(s.1));
    let wide = || seen.iter().filter(|s| s.1 >= MIDDLE * most);
    let mean = wide().map(|s| s.0).sum::<Vec2>() / wide().count().max(1) as f64;
    let far = |s: &&(Vec2, f64)| s.0.distance_squared(mean);
    let (mut at, mut room) = *wide().min_by(|a, b| far(a).total_cmp(&far(b)))?;
    let mut step = pitch * (stride as f64).sqrt();
    while step > 0.02 * pitch {
        let around = (0..8).map(|k| at + Vec2::from_angle(f64::from(k) * FRAC_PI_4) * step);
        let better = around.map(|p| (p, clearance(edges, p))).find(|(_, r)| *r > room + 1e-9);
        match better {
            Some((p, r)) => (at, room) = (p, r),
            None => step *= 0.5,
        }
    }
    Some((at, room))
}

/// The first way down that has room about `at`, where the border is `border_mm` away.
pub(crate) fn down(
    entry: &Entry,
    room: &Room,
    radius_mm: f64,
    chord_mm: f64,
    (at, border_mm): (Vec2, f64),
) -> Option<Down> {
    let free = border_mm - radius_mm;
    if let Some(helix) = entry.helix {
        // above the cutter's radius a post would stay in the middle
        let radius = helix.radius_mm.min(free).min(0.95 * radius_mm);
        if radius >= helix.least_radius_mm && radius > 0.0 {
            let pieces = (3.2 / (chord_mm / radius).sqrt()).ceil().max(24.0);
            let turn = |k: f64| at + Vec2::from_angle(k / pieces * std::f64::consts::TAU) * radius;
            let points = (0..=pieces as usize).map(|k| turn(k as f64)).collect();
            return Some(Down { points, feed: Vec2::Y });
        }
    }
    let ramp = entry.ramp_mm.and_then(|length| Some((length, straight(room, at, length)?)));
    if let Some((length, along)) = ramp {
        let (a, b) = (at - along * (0.5 * length), at + along * (0.5 * length));
        return Some(Down { points: vec![a, b], feed: along });
    }
    let plunged = Down { points: vec![at], feed: Vec2::Y };
    (entry.plunge && free >= 0.0).then_some(plunged)
}

/// A direction in which a straight piece about a place has room.
fn straight(room: &Room, at: Vec2, length: f64) -> Option<Vec2> {
    (0..36).map(|k| Vec2::from_angle(f64::from(k) * 5f64.to_radians())).find(|along| {
        let pieces = (length / (0.25 * room.rounding_mm)).ceil().max(2.0) as usize;
        (0..=pieces)
            .all(|k| room.free(at + *along * (length * (k as f64 / pieces as f64 - 0.5))) > 0.0)
    })
}
