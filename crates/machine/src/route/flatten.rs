//! A programmed track as vertices and legs: arcs divided into chords, feeds turned into speeds along
//! the path's parameter; a path of its own from each place where what the coordinates mean changes.

use super::error::AccountError;
use super::leg::{Leg, Polyline, Vertex};
use super::trace::parameter;
use crate::Kinematics;
use crate::track::{Feed, Move, Place, Shape, Track};
use geom::Vec3;
use geom::tolerance::{COINCIDENT_MM, PARALLEL_RAD};
use toolpath::RunKind;

/// How far a chord may leave its arc, mm: below any tolerance of a control.
const CHORD_MM: f64 = 5e-4;
/// Largest and smallest angle of a chord, rad (12° and a tenth of a degree).
const CHORD_RAD: [f64; 2] = [0.002, 0.21];

/// Vertices and legs of `track`; a leg's run is the index of its move.
///
/// Rotary angles count at `lever_mm` from the tip. Moves that go nowhere have no leg. Where tip
/// control is switched while a rotary axis stands off zero one path ends, at rest, and another
/// begins: the same place in other coordinates.
pub(crate) fn flatten(
    track: &Track,
    kinematics: &Kinematics,
    lever_mm: f64,
) -> Result<Vec<Polyline>, AccountError> {
    let mut done = Vec::new();
    let mut path = begun(&track.start, track.moves.len());
    let mut from = track.start;
    let mut frame = track.moves.first().map(|m| m.frame).unwrap_or_default();
    let mut waits = track.waits.iter().peekable();
    for (index, step) in track.moves.iter().enumerate() {
        check(index, step)?;
        if step.frame != frame {
            let here = kinematics.converted(&from, frame, step.frame);
            if here != from {
                from = here;
                done.push(std::mem::replace(&mut path, begun(&from, 0)));
            }
            frame = step.frame;
        }
        path.add(index as u32, &from, step, lever_mm);
        from = step.to;
        while waits.peek().is_some_and(|w| w.after <= index) {
            waits.next();
        }
        let waited = waits.peek().is_some_and(|w| w.after == index + 1);
        if let (true, Some(last)) = (step.stop || waited, path.legs.last_mut()) {
            last.stop = true;
        }
    }
    done.push(path);
    Ok(done)
}

/// An empty path from a place.
fn begun(from: &Place, moves: usize) -> Polyline {
    let mut path = Polyline::default();
    path.vertices.reserve(moves + 1);
    path.legs.reserve(moves);
    path.vertices.push(vertex(from));
    path
}

fn vertex(place: &Place) -> Vertex {
    Vertex { tip: place.linear, theta: place.rotary }
}

fn check(index: usize, step: &Move) -> Result<(), AccountError> {
    let finite = step.to.linear.is_finite() && step.to.rotary.iter().all(|a| a.is_finite());
    if !finite {
        let what = format!("the place is {}", step.to.linear);
        return Err(AccountError::Pose { run: index, pose: 0, what });
    }
    let (value, unit) = match step.feed {
        Feed::Rapid => return Ok(()),
        Feed::Speed(speed) => (speed, "mm/s"),
        Feed::Time(time) => (time, "s"),
    };
    if value > 0.0 && value.is_finite() {
        return Ok(());
    }
    Err(AccountError::Feed { run: index, at: 0, what: format!("the feed is {value} {unit}") })
}

impl Polyline {
    fn add(&mut self, run: u32, from: &Place, step: &Move, lever_mm: f64) {
        let pieces = pieces(from, step);
        let length: f64 = match step.shape {
            Shape::Line => from.linear.distance(step.to.linear),
            Shape::Arc { centre, axis, sweep_rad } => {
                arc_length(from, step, centre, axis, sweep_rad)
            }
        };
        // both axes' together, so that a feed is the same whichever of them turns
        let [first, second] = [0, 1].map(|k| step.to.rotary[k] - from.rotary[k]);
        let turn = first.hypot(second);
        // where rotary axes turn alone a degree stands for a millimetre, as in their feed
        let alone = length <= COINCIDENT_MM && turn > PARALLEL_RAD;
        let alone = alone.then(|| turn.to_degrees());
        let Some(block) = alone.or_else(|| parameter(length, turn, turn, lever_mm)) else { return };
        let bow = match step.shape {
            Shape::Line => 0.0,
            Shape::Arc { sweep_rad, .. } => 0.5 * sweep_rad / f64::from(pieces),
        };
        let about = match step.shape {
            Shape::Line => [0.0; 3],
            Shape::Arc { axis, .. } => axis.to_array().map(|a| a as f32),
        };
        let leg = Leg {
            run,
            kind: if step.feed == Feed::Rapid { RunKind::Rapid } else { RunKind::Cut },
            length: block / f64::from(pieces),
            feed: speed(from, step, length, block),
            block,
            tip_share: length / block,
            bow: bow as f32,
            about,
            frame: step.frame,
            stop: false,
        };
        for i in 1..pieces {
            let t = f64::from(i) / f64::from(pieces);
            self.vertices.push(between(from, step, t));
            self.legs.push(leg);
        }
        self.vertices.push(vertex(&step.to));
        self.legs.push(leg);
    }
}

/// Speed asked for in the path's parameter, mm/s; infinite for a rapid.
fn speed(from: &Place, step: &Move, length: f64, block: f64) -> f64 {
    match step.feed {
        Feed::Rapid => f64::INFINITY,
        Feed::Time(time) => block / time,
        Feed::Speed(speed) if length > COINCIDENT_MM => speed * block / length,
        Feed::Speed(deg_s) => {
            let turn = |k: usize| (step.to.rotary[k] - from.rotary[k]).to_degrees();
            block * deg_s / turn(0).hypot(turn(1))
        }
    }
}

fn pieces(from: &Place, step: &Move) -> u32 {
    let Shape::Arc { centre, axis, sweep_rad } = step.shape else { return 1 };
    let arm = from.linear - centre;
    let radius = (arm - axis * arm.dot(axis)).length().max(CHORD_MM);
    let angle = (8.0 * CHORD_MM / radius).sqrt().clamp(CHORD_RAD[0], CHORD_RAD[1]);
    // at least 3 keep a full circle a circle
    (sweep_rad / angle).ceil().clamp(3.0, 1e6) as u32
}

fn arc_length(from: &Place, step: &Move, centre: Vec3, axis: Vec3, sweep_rad: f64) -> f64 {
    let (near, far) = (from.linear - centre, step.to.linear - centre);
    let climb = (far - near).dot(axis);
    let radius = |arm: Vec3| (arm - axis * arm.dot(axis)).length();
    (0.5 * (radius(near) + radius(far)) * sweep_rad).hypot(climb)
}

/// The place at the share `t` of an arc: radius and climb go evenly from start to end.
fn between(from: &Place, step: &Move, t: f64) -> Vertex {
    let Shape::Arc { centre, axis, sweep_rad } = step.shape else { return vertex(&step.to) };
    let (near, far) = (from.linear - centre, step.to.linear - centre);
    let flat = |arm: Vec3| arm - axis * arm.dot(axis);
    let (a, b) = (flat(near), flat(far));
    let radius = a.length() + t * (b.length() - a.length());
    let (sin, cos) = (t * sweep_rad).sin_cos();
    let along = a.normalize_or_zero();
    let across = axis.cross(along);
    let height = near.dot(axis) + t * (far - near).dot(axis);
    let tip = centre + (along * cos + across * sin) * radius + axis * height;
    let turn = |k: usize| from.rotary[k] + t * (step.to.rotary[k] - from.rotary[k]);
    Vertex { tip, theta: [turn(0), turn(1)] }
}
