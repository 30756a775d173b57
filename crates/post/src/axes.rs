//! Moves of the tip as moves of the axes, for controls without tip control.
//!
//! Each axis then goes by itself, and the tip leaves its straight line in between where rotary axes
//! turn: such moves are divided until it keeps to its tolerance. Where they turn F is the time of
//! the move; where they stand the axes go as fast as the tip.

use geom::Vec3;
use geom::tolerance::COINCIDENT_MM;
use machine::Kinematics;
use machine::track::{Feed, Frame, Move, Place, Shape, Track};

/// Most pieces of one move.
const MOST: u32 = 4096;
/// Places at which a piece is looked at between its ends.
const LOOKS: [f64; 3] = [0.25, 0.5, 0.75];

/// The moves of `track` on the axes, the tip within `chord_mm` of where it is asked to go.
pub(crate) fn on_axes(track: &Track, kinematics: &Kinematics, chord_mm: f64) -> Track {
    let mut out = Track { start: axes_at(kinematics, &track.start), ..Track::default() };
    let mut from = track.start;
    for step in &track.moves {
        let to = step.to;
        let turns = to.rotary != from.rotary;
        let count = if turns { pieces(kinematics, &from, &to, chord_mm) } else { 1 };
        let length = from.linear.distance(to.linear);
        let feed = match step.feed {
            Feed::Speed(speed) if turns && length > COINCIDENT_MM => {
                Feed::Time(length / speed / f64::from(count))
            }
            Feed::Time(time) => Feed::Time(time / f64::from(count)),
            other => other,
        };
        for i in 1..=count {
            let place = between(&from, &to, f64::from(i) / f64::from(count));
            let stop = step.stop && i == count;
            let to = axes_at(kinematics, &place);
            out.moves.push(Move {
                to,
                shape: Shape::Line,
                feed,
                frame: Frame::Axes,
                stop,
                ..*step
            });
        }
        from = to;
    }
    out
}

/// Positions of the axes with the tip at a place.
pub(crate) fn axes_at(kinematics: &Kinematics, place: &Place) -> Place {
    kinematics.converted(place, Frame::Tip, Frame::Axes)
}

fn between(from: &Place, to: &Place, t: f64) -> Place {
    if t >= 1.0 {
        return *to;
    }
    let turn = |k: usize| from.rotary[k] + t * (to.rotary[k] - from.rotary[k]);
    Place { linear: from.linear.lerp(to.linear, t), rotary: [turn(0), turn(1)] }
}

fn pieces(kinematics: &Kinematics, from: &Place, to: &Place, chord_mm: f64) -> u32 {
    let mut count = 1;
    while count < MOST {
        let share = 1.0 / f64::from(count);
        let worst = (0..count)
            .map(|i| {
                let a = between(from, to, f64::from(i) * share);
                let b = between(from, to, f64::from(i + 1) * share);
                leaves(kinematics, &a, &b)
            })
            .fold(0.0, f64::max);
        if worst <= chord_mm {
            break;
        }
        // the tip leaves its line by the square of the length of a piece
        let wanted = (f64::from(count) * (worst / chord_mm).sqrt()).ceil();
        count = (wanted as u32).clamp(count + 1, MOST);
    }
    count
}

/// How far the tip leaves its line while the axes go straight from one place to another, mm.
fn leaves(kinematics: &Kinematics, a: &Place, b: &Place) -> f64 {
    let (p, q) = (axes_at(kinematics, a), axes_at(kinematics, b));
    let off = |t: f64| -> f64 {
        let on_axes = between(&p, &q, t);
        let tip: Vec3 = kinematics.tip_at(on_axes.linear, on_axes.rotary);
        tip.distance(a.linear.lerp(b.linear, t))
    };
    LOOKS.into_iter().map(off).fold(0.0, f64::max)
}
