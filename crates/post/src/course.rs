//! A section of an operation as it is written: the way in, the moves, the way out, in what X, Y and
//! Z are going to be.

use crate::arc::{self, Allowed};
use crate::axes::{axes_at, on_axes};
use crate::job::{Job, Piece};
use crate::way::Ways;
use geom::tolerance::COINCIDENT_MM;
use geom::{Mat3, Vec3};
use machine::track::{Feed, Frame, Move, Place, Shape, Track};
use std::ops::Range;

/// The last bit of the way back into the middle of an operation is fed, mm.
const FED_MM: f64 = 5.0;

/// One section, its places in `frame`.
pub(crate) struct Course {
    /// High over everything, the rotary axes as the section begins.
    pub(crate) over: Place,
    /// The same as positions of the axes.
    pub(crate) over_axes: Place,
    /// From there on, the last move out of the zone again.
    pub(crate) track: Track,
    /// How the places of `track` are turned.
    pub(crate) tilt: Option<Tilt>,
    /// How much lower than it should the tool stands when the rotary axes turn, mm.
    pub(crate) short_mm: f64,
}

/// Coordinates turned in space so that z is the tool axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tilt {
    /// Angles about x, then y, then z, rad; the last is 0.
    pub(crate) angles: [f64; 3],
    /// From turned coordinates to those of the program.
    pub(crate) turn: Mat3,
}

impl Tilt {
    /// z along a unit axis: Ry(j) Rx(i) z = (sin j cos i, −sin i, cos j cos i). Derived.
    pub(crate) fn along(axis: Vec3) -> Self {
        let i = (-axis.y).clamp(-1.0, 1.0).asin();
        let j = axis.x.atan2(axis.z);
        Self { angles: [i, j, 0.0], turn: Mat3::from_rotation_y(j) * Mat3::from_rotation_x(i) }
    }
}

/// Sections of a piece: the moves between two places at which it can be entered.
pub(crate) fn sections(piece: &Piece) -> Vec<Range<usize>> {
    let count = piece.track.moves.len();
    let inner = piece.restarts.iter().copied().filter(|&at| at > 0 && at < count);
    let mut ends: Vec<usize> = std::iter::once(0).chain(inner).chain([count]).collect();
    ends.dedup();
    ends.windows(2).map(|w| w[0]..w[1]).collect()
}

/// Lays a section; `frame`: what X, Y and Z shall be, `arcs`: whether there may be any.
pub(crate) fn lay(
    job: &Job<'_>,
    piece: &Piece,
    section: Range<usize>,
    (frame, arcs, tilts): (Frame, bool, bool),
) -> Course {
    let ways = Ways::new(job, &job.tools[piece.tool]);
    let from = |i: usize| if i == 0 { piece.track.start } else { piece.track.moves[i - 1].to };
    let (start, end) = (from(section.start), from(section.end));
    let (way_in, way_out) = (ways.to(&start), ways.to(&end));
    let rapid = |to: Place| Move {
        to,
        shape: Shape::Line,
        feed: Feed::Rapid,
        frame: Frame::Tip,
        stop: false,
        block: u32::MAX,
        tool: 0,
    };
    let mut moves = vec![rapid(way_in.near)];
    if section.start > 0 {
        let fed = first_speed(&piece.track.moves[section.clone()]);
        let whole = way_in.near.linear - start.linear;
        let back = whole.clamp_length_max(FED_MM);
        moves.push(rapid(Place { linear: start.linear + back, ..start }));
        moves.push(Move { feed: fed, ..rapid(start) });
    } else {
        moves.push(rapid(start));
    }
    moves.extend(piece.track.moves[section].iter().copied());
    moves.push(rapid(way_out.near));
    let mut at = way_in.over;
    moves.retain(|step| {
        let goes = step.to.rotary != at.rotary
            || step.to.linear.distance(at.linear) > COINCIDENT_MM
            || step.shape != Shape::Line;
        if goes {
            at = step.to;
        }
        goes
    });
    let track = Track { start: way_in.over, moves, waits: Vec::new() };
    let kinematics = &ways.kinematics;
    let mut track =
        if frame == Frame::Axes { on_axes(&track, kinematics, piece.chord_mm) } else { track };
    // turned into the plane of the tool where the angles stand and words can say so
    let still = track.moves.iter().all(|m| m.to.rotary == track.start.rotary);
    let tilted = still && frame == Frame::Tip && track.start.rotary != [0.0; 2];
    let tilt = (tilts && tilted).then(|| Tilt::along(kinematics.axis_at(track.start.rotary)));
    if let Some(tilt) = &tilt {
        let back = tilt.turn.transpose();
        track.start.linear = back * track.start.linear;
        track.moves.iter_mut().for_each(|m| m.to.linear = back * m.to.linear);
    }
    if arcs && piece.arc_mm > 0.0 {
        track = arc::fit(&track, Allowed { point_mm: piece.arc_mm, chord_mm: piece.chord_mm });
    }
    Course {
        over: way_in.over,
        over_axes: axes_at(kinematics, &way_in.over),
        track,
        tilt,
        short_mm: way_in.short_mm,
    }
}

/// The feed of the first move that is no rapid.
fn first_speed(moves: &[Move]) -> Feed {
    moves.iter().map(|m| m.feed).find(|f| matches!(f, Feed::Speed(_))).unwrap_or(Feed::Rapid)
}
