//! What a line cuts on its way, as a run.

use crate::entry::Down;
use crate::ground::{Contact, Ground};
use crate::job::{Hold, Kind, Run};
use geom::Vec2;
use std::f64::consts::PI;

/// Cuts along a line; `hold` names what holds the arc of a contact. A line that goes nowhere gives a
/// run of one point.
pub(crate) fn along(
    ground: &mut Ground,
    line: &[Vec2],
    kind: Kind,
    hold: impl Fn(&Contact) -> Hold,
) -> Run {
    let mut run = still(kind, &line[..1]);
    for pair in line.windows(2) {
        let along = pair[1] - pair[0];
        let Some(feed) = along.try_normalize() else { continue };
        let pieces = (along.length() / ground.step_mm).ceil().max(1.0) as usize;
        for k in 1..=pieces {
            let at = |k: usize| pair[0] + along * (k as f64 / pieces as f64);
            let contact = ground.contact(at(k), feed);
            ground.cut(at(k - 1), at(k));
            run.points.push(at(k).to_array());
            run.arc_of_contact_rad.push(contact.arc_rad);
            run.width_mm.push(contact.width_mm);
            run.hold.push(hold(&contact));
        }
    }
    ground.settle();
    run
}

/// Cuts a way down into the material. Its arc is set to a half turn: how much of the edge is in the
/// cut on a slope is not asked.
pub(crate) fn down(ground: &mut Ground, way: &Down) -> Run {
    ground.sink(way.points[0]);
    for pair in way.points.windows(2) {
        ground.cut(pair[0], pair[1]);
    }
    ground.settle();
    let mut run = still(Kind::Entry, &way.points);
    run.arc_of_contact_rad.fill(PI);
    run.width_mm.fill(2.0 * ground.radius_mm);
    run.hold.fill(Hold::Entry);
    run
}

/// A run that does not cut.
pub(crate) fn still(kind: Kind, points: &[Vec2]) -> Run {
    let n = points.len();
    Run {
        kind,
        points: points.iter().map(|p| p.to_array()).collect(),
        arc_of_contact_rad: vec![Contact::default().arc_rad; n],
        width_mm: vec![0.0; n],
        hold: vec![Hold::Air; n],
    }
}
