//! The path seen from above with the limit that holds each piece.

use super::data::{PathPicture, PathPiece};
use geom::{Quat, Vec3};
use machine::track::{Feed, Place, Shape, Track};
use machine::{Kinematics, Limit, TrackAccount};
use std::collections::BTreeMap;

/// Largest angle of a chord of a drawn arc, rad (10°).
const CHORD_RAD: f64 = 0.175;

/// Moves that are drawn as one line.
#[derive(Debug, Default)]
struct Group {
    moves: usize,
    rapid: bool,
    held: BTreeMap<Limit, f64>,
}

/// The path in about `most` points.
pub(super) fn path(
    track: &Track,
    kinematics: &Kinematics,
    account: &TrackAccount,
    most: usize,
) -> PathPicture {
    let (order, limits) = by_time(track, account);
    let every = (track.moves.len() / most.max(1)).max(1);
    let mut pieces: Vec<PathPiece> = Vec::new();
    let mut group = Group::default();
    let mut from = track.start;
    for (index, (step, taken)) in track.moves.iter().zip(&account.moves).enumerate() {
        group.rapid = step.feed == Feed::Rapid;
        group.moves += 1;
        *group.held.entry(taken.limit).or_default() += taken.time_s;
        let next = track.moves.get(index + 1);
        let turns = next.is_none_or(|next| (next.feed == Feed::Rapid) != group.rapid);
        if turns || group.moves >= every {
            let limit = most_held(&group).filter(|_| !group.rapid).map(|l| order[&l]);
            if pieces.last().is_none_or(|p| p.limit != limit) {
                pieces.push(PathPiece { limit, points: vec![plan(from.linear)] });
            }
            if let Some(piece) = pieces.last_mut() {
                add(&mut piece.points, &from, &step.shape, &step.to, group.moves);
            }
            group = Group::default();
            from = track.before(index + 1, kinematics);
        }
    }
    for piece in &mut pieces {
        piece.points.dedup();
    }
    pieces.retain(|p| p.points.len() > 1);
    PathPicture { limits, pieces, every }
}

fn most_held(group: &Group) -> Option<Limit> {
    let none: Option<(Limit, f64)> = None;
    let best = group.held.iter().fold(none, |best, (limit, s)| match best {
        Some((_, most)) if most >= *s => best,
        _ => Some((*limit, *s)),
    });
    best.map(|(limit, _)| limit)
}

fn plan(p: Vec3) -> [f64; 2] {
    [p.x, p.y]
}

fn add(points: &mut Vec<[f64; 2]>, from: &Place, shape: &Shape, to: &Place, every: usize) {
    if let (Shape::Arc { centre, axis, sweep_rad }, 1) = (shape, every) {
        let count = (sweep_rad / CHORD_RAD).ceil().clamp(1.0, 64.0) as u32;
        let arm = from.linear - *centre;
        for i in 1..count {
            let t = f64::from(i) / f64::from(count);
            points.push(plan(*centre + Quat::from_axis_angle(*axis, t * sweep_rad) * arm));
        }
    }
    points.push(plan(to.linear));
}

/// Limits of the moves at feed by falling time: their places in that order, and their names.
fn by_time(track: &Track, account: &TrackAccount) -> (BTreeMap<Limit, usize>, Vec<String>) {
    let mut held: BTreeMap<Limit, f64> = BTreeMap::new();
    for (step, taken) in track.moves.iter().zip(&account.moves) {
        if step.feed != Feed::Rapid {
            *held.entry(taken.limit).or_default() += taken.time_s;
        }
    }
    let mut order: Vec<(Limit, f64)> = held.into_iter().collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let names = order.iter().map(|(limit, _)| limit.to_string()).collect();
    (order.into_iter().enumerate().map(|(i, (limit, _))| (limit, i)).collect(), names)
}
