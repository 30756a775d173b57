//! Pockets without a flat floor: hollow walls that close round an axis.

use super::Pocket;
use super::walls::Search;
use geom::Vec3;
use geom::tolerance::COINCIDENT_MM;
use std::collections::BTreeSet;

/// Least sine between two normals whose cross product is taken as an axis.
const APART: f64 = 0.1;

/// One for each closed set of walls that no pocket of `known` holds.
pub(super) fn pockets(search: &Search<'_>, known: &[Pocket]) -> Vec<Pocket> {
    let mut taken: BTreeSet<usize> = known.iter().flat_map(|p| p.faces.iter().copied()).collect();
    let mut found = Vec::new();
    for face in 0..search.part.faces.len() {
        if taken.contains(&face) {
            continue;
        }
        let pocket =
            axes(search, face).into_iter().find_map(|axis| pocket(search, face, axis, &taken));
        if let Some(pocket) = pocket {
            taken.extend(pocket.faces.iter().copied());
            found.push(pocket);
        }
    }
    found
}

/// Directions along which a face may stand as a wall of a pocket: across its own normals where it is
/// hollow, else across its normal and that of a neighbour that it meets in a hollow edge.
fn axes(search: &Search<'_>, face: usize) -> Vec<Vec3> {
    if search.facts[face].concave_radius_min_mm.is_some() {
        return search.across(face).into_iter().collect();
    }
    let Some(own) = search.mean_normal(face) else { return Vec::new() };
    let hollow = search.neighbours.of(face).iter().filter(|(_, m)| m.concave_mm > m.convex_mm);
    let others = hollow.filter_map(|(f, _)| search.mean_normal(*f));
    others
        .map(|n| own.cross(n))
        .filter(|c| c.length() > APART)
        .map(|c| upwards(c.normalize()))
        .collect()
}

/// The axis of a pocket that is open at both ends points up.
fn upwards(axis: Vec3) -> Vec3 {
    let first = [axis.z, axis.y, axis.x].into_iter().find(|c| c.abs() > 1e-9);
    if first.is_some_and(|c| c < 0.0) { -axis } else { axis }
}

fn pocket(search: &Search<'_>, seed: usize, axis: Vec3, taken: &BTreeSet<usize>) -> Option<Pocket> {
    let axis = upwards(axis);
    let walls = ring(search, seed, axis, taken);
    let (low, high) = search.heights(&walls, axis)?;
    let start = search.middle(seed)?;
    let inwards = search.normal_at_middle(seed)?;
    let across = (inwards - axis * inwards.dot(axis)).try_normalize()?;
    let (far, face) = search.ray(start + across * COINCIDENT_MM, across)?;
    if high - low <= COINCIDENT_MM || !walls.contains(&face) {
        return None;
    }
    let middle = start + across * (0.5 * far);
    if !search.sides(&walls, middle, axis).all_round {
        return None;
    }
    match [search.ray(middle, axis), search.ray(middle, -axis)] {
        [None, None] => Some(search.describe(None, walls.clone(), walls, axis, high - low)),
        [None, Some((_, floor))] => over(search, walls, floor, axis),
        [Some((_, floor)), None] => over(search, walls, floor, -axis),
        [Some(_), Some(_)] => None,
    }
}

/// A pocket whose floor is not flat, opening along `axis`.
fn over(search: &Search<'_>, walls: Vec<usize>, floor: usize, axis: Vec3) -> Option<Pocket> {
    let (_, top) = search.heights(&walls, axis)?;
    let (level, _) = search.heights(&[floor], axis)?;
    let faces: BTreeSet<usize> = walls.iter().copied().chain([floor]).collect();
    let faces: Vec<usize> = faces.into_iter().collect();
    Some(search.describe(Some(floor), faces, walls, axis, top - level))
}

/// Upright walls joined to a seed over hollow and smooth edges, ascending.
fn ring(search: &Search<'_>, seed: usize, axis: Vec3, taken: &BTreeSet<usize>) -> Vec<usize> {
    if !search.is_upright(seed, axis) {
        return Vec::new();
    }
    let mut found = BTreeSet::from([seed]);
    let mut open = vec![seed];
    while let Some(face) = open.pop() {
        for (next, meeting) in search.neighbours.of(face) {
            let joined = meeting.concave_mm + meeting.smooth_mm > meeting.convex_mm;
            let free = !taken.contains(next) && search.is_upright(*next, axis);
            if joined && free && found.insert(*next) {
                open.push(*next);
            }
        }
    }
    found.into_iter().collect()
}
