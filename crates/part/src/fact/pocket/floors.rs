//! Pockets over a flat floor.

use super::Pocket;
use super::walls::Search;
use crate::FaceKind;
use crate::fact::neighbour::Meeting;
use geom::Vec3;
use geom::tolerance::COINCIDENT_MM;
use std::collections::BTreeSet;

/// Share of a floor's border that must turn up.
const TURNED_UP: f64 = 0.4;

/// Those with a flat floor that walls shut in all round, and those with open sides.
pub(super) fn pockets(search: &Search<'_>) -> (Vec<Pocket>, Vec<Pocket>) {
    let floors = search.part.faces.iter().filter(|f| f.kind == FaceKind::Plane);
    let found = floors.filter_map(|f| pocket(search, f.index));
    let (shut, open): (Vec<_>, Vec<_>) = found.partition(|(_, all_round)| *all_round);
    let alone = |found: Vec<(Pocket, bool)>| found.into_iter().map(|(p, _)| p).collect();
    (alone(shut), alone(open))
}

/// In the order of depth over the width of the floor.
pub(super) fn shallow_first(mut pockets: Vec<Pocket>) -> Vec<Pocket> {
    let slender = |p: &Pocket| p.depth_mm / p.floor_area_mm2.sqrt();
    pockets.sort_by(|a, b| slender(a).total_cmp(&slender(b)));
    pockets
}

fn pocket(search: &Search<'_>, floor: usize) -> Option<(Pocket, bool)> {
    let axis = search.mean_normal(floor)?;
    let rising = rising(search, floor)?;
    let faces = follow(search, floor, &rising, axis);
    let walls: Vec<usize> = faces.iter().copied().filter(|f| search.is_wall(*f, axis)).collect();
    let (_, level) = search.heights(&[floor], axis)?;
    let (_, top) = search.heights(&faces, axis)?;
    if walls.is_empty() || top - level <= COINCIDENT_MM {
        return None;
    }
    let over = search.middle(floor)? + axis * (0.5 * (top - level));
    let sides = search.sides(&faces, over, axis);
    if !sides.opposite {
        return None;
    }
    let pocket = search.describe(Some(floor), faces, walls, axis, top - level);
    Some((pocket, sides.all_round))
}

/// The neighbours to which a floor turns up; `None` where too little of its border does.
fn rising(search: &Search<'_>, floor: usize) -> Option<Vec<usize>> {
    let meetings = search.neighbours.of(floor);
    let border: f64 = meetings.values().map(Meeting::length_mm).sum();
    let up = |face: usize, m: &Meeting| {
        let hollow = search.facts[face].concave_radius_min_mm.is_some();
        m.concave_mm + if hollow { m.smooth_mm } else { 0.0 }
    };
    let turned: f64 = meetings.iter().map(|(f, m)| up(*f, m)).sum();
    let rising = meetings.iter().filter(|(f, m)| up(**f, m) > m.convex_mm).map(|(f, _)| *f);
    (turned > TURNED_UP * border).then(|| rising.collect())
}

/// Walls and fillets reached from the floor without crossing the rim, ascending.
fn follow(search: &Search<'_>, floor: usize, rising: &[usize], axis: Vec3) -> Vec<usize> {
    let mut found: BTreeSet<usize> = rising.iter().copied().chain([floor]).collect();
    let mut open: Vec<usize> = rising.to_vec();
    while let Some(face) = open.pop() {
        for (next, meeting) in search.neighbours.of(face) {
            let joined = meeting.concave_mm + meeting.smooth_mm > meeting.convex_mm;
            let belongs = search.is_wall(*next, axis) || search.is_fillet(*next, axis);
            if joined && belongs && found.insert(*next) {
                open.push(*next);
            }
        }
    }
    found.into_iter().collect()
}
