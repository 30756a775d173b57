//! The stretches of the test program: loops that are driven again and again.

use geom::Vec3;
use machine::track::{Feed, Frame, Move, Place, Shape};
use std::f64::consts::{FRAC_PI_2, TAU};

/// Something that the control does between moves.
#[derive(Debug, Clone, PartialEq)]
pub enum Action {
    /// A move.
    Go(Move),
    /// An auxiliary word with its number: `M8`.
    Word(u32),
    /// A change to the tool of that number.
    Tool(u16),
    /// The spindle to that speed, rev/min; 0 stops it.
    Spindle(u32),
}

/// A loop that is driven `repeats` times; it ends where it starts.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Name in the program's messages and in the readings.
    pub name: String,
    /// What it leans on, for people.
    pub about: String,
    /// Where it starts.
    pub start: Place,
    /// One loop.
    pub actions: Vec<Action>,
    /// How often the loop is driven.
    pub repeats: u32,
    /// Whether arcs meet in corners.
    pub curved_corners: bool,
}

/// A straight move at feed of the linear axes.
pub(crate) fn line(to: Vec3, feed: Feed) -> Move {
    Move {
        to: Place { linear: to, rotary: [0.0; 2] },
        shape: Shape::Line,
        feed,
        frame: Frame::Axes,
        stop: false,
        block: 0,
        tool: 0,
    }
}

fn stretch(name: &str, about: &str, start: Vec3, moves: Vec<Move>) -> Stretch {
    Stretch {
        name: name.into(),
        about: about.into(),
        start: Place { linear: start, rotary: [0.0; 2] },
        actions: moves.into_iter().map(Action::Go).collect(),
        repeats: 1,
        curved_corners: false,
    }
}

/// To and fro between two places at `feed`.
pub(crate) fn strokes(name: &str, about: &str, ends: [Vec3; 2], feed: Feed) -> Stretch {
    stretch(name, about, ends[0], vec![line(ends[1], feed), line(ends[0], feed)])
}

/// To and fro with exact stops on the way.
pub(crate) fn stops(name: &str, about: &str, way: Vec3, count: u32, feed: Feed) -> Stretch {
    let at = |i: u32| way * f64::from(i) / f64::from(count);
    let there = (1..=count).map(at);
    let back = (0..count).rev().map(at);
    let moves = there.chain(back).map(|to| Move { stop: true, ..line(to, feed) });
    stretch(name, about, Vec3::ZERO, moves.collect())
}

/// Around a square, each side half as a rapid and half at feed: they meet in line and at corners.
pub(crate) fn rapid_and_feed(name: &str, about: &str, side: f64, feed: Feed) -> Stretch {
    let corners = [Vec3::ZERO, Vec3::X, Vec3::X + Vec3::Y, Vec3::Y, Vec3::ZERO].map(|c| c * side);
    let halves = |w: &[Vec3]| [line(0.5 * (w[0] + w[1]), Feed::Rapid), line(w[1], feed)];
    let moves = corners.windows(2).flat_map(halves);
    stretch(name, about, Vec3::ZERO, moves.collect())
}

/// A regular polygon of `corners` with sides of `side` mm, its first side turned by `turn_rad`.
pub(crate) fn polygon(
    name: &str,
    about: &str,
    (corners, side, turn_rad): (u32, f64, f64),
    feed: Feed,
) -> Stretch {
    let mut at = Vec3::ZERO;
    let mut moves: Vec<Move> = (0..corners)
        .map(|i| {
            let heading = turn_rad + TAU * f64::from(i) / f64::from(corners);
            at += Vec3::new(heading.cos(), heading.sin(), 0.0) * side;
            line(at, feed)
        })
        .collect();
    if let Some(last) = moves.last_mut() {
        last.to.linear = Vec3::ZERO;
    }
    stretch(name, about, Vec3::ZERO, moves)
}

/// To and fro over a quarter of a circle of that radius in lines of `side` mm.
pub(crate) fn bow(name: &str, about: &str, (radius, side): (f64, f64), feed: Feed) -> Stretch {
    let count = (FRAC_PI_2 * radius / side).round() as u32;
    let at = |i: u32| {
        let (sin, cos) = (FRAC_PI_2 * f64::from(i) / f64::from(count)).sin_cos();
        Vec3::new(radius * sin, radius * (1.0 - cos), 0.0)
    };
    let way = (1..=count).chain((0..count).rev());
    stretch(name, about, Vec3::ZERO, way.map(|i| line(at(i), feed)).collect())
}

/// Turns of the corners of [`zigzag`], deg: those that parts have most often are among them, so that whether
/// they stop is seen and not guessed from their neighbours.
const SPIKES_DEG: [f64; 14] =
    [38.0, 45.0, 52.0, 60.0, 72.0, 105.0, 120.0, 135.0, 142.0, 150.0, 156.0, 161.0, 165.0, 170.0];

/// Sides of `side` mm that turn back more and more, to the left and to the right in turn, and a straight
/// way back to the start.
pub(crate) fn zigzag(name: &str, about: &str, side: f64, feed: Feed) -> Stretch {
    let (mut at, mut heading) = (Vec3::ZERO, 0.0f64);
    let mut moves = Vec::new();
    for (i, deg) in SPIKES_DEG.into_iter().enumerate() {
        at += Vec3::new(heading.cos(), heading.sin(), 0.0) * side;
        moves.push(line(at, feed));
        heading += if i % 2 == 0 { deg.to_radians() } else { -deg.to_radians() };
    }
    moves.push(line(Vec3::ZERO, feed));
    stretch(name, about, Vec3::ZERO, moves)
}

/// Full circles of one radius, mm.
pub(crate) fn circles(name: &str, about: &str, radius: f64, feed: Feed) -> Stretch {
    let centre = Vec3::X * radius;
    let shape = Shape::Arc { centre, axis: Vec3::Z, sweep_rad: TAU };
    stretch(name, about, Vec3::ZERO, vec![Move { shape, ..line(Vec3::ZERO, feed) }])
}

/// Quarter arcs over chords of `chord` mm in a row, so many there and as many back; they meet in right
/// angles.
pub(crate) fn scallops(name: &str, about: &str, (chord, count): (f64, u32), feed: Feed) -> Stretch {
    let arc = |i: u32, way: f64| {
        let from = f64::from(if way > 0.0 { i } else { count - i }) * chord;
        // there over the line, back under it
        let to = Vec3::X * (from + way * chord);
        let centre = Vec3::new(from + 0.5 * way * chord, -0.5 * way * chord, 0.0);
        let shape = Shape::Arc { centre, axis: Vec3::NEG_Z, sweep_rad: FRAC_PI_2 };
        Move { shape, ..line(to, feed) }
    };
    let there = (0..count).map(|i| arc(i, 1.0));
    let back = (0..count).map(|i| arc(i, -1.0));
    let moves = there.chain(back).collect();
    Stretch { curved_corners: true, ..stretch(name, about, Vec3::ZERO, moves) }
}

/// To a thousandth of a millimetre, as a program is written.
fn micron(v: f64) -> f64 {
    (1000.0 * v).round() / 1000.0
}

/// A straight line to and fro, cut into blocks of `block` mm.
pub(crate) fn blocks(name: &str, about: &str, (way, block): (Vec3, f64), feed: Feed) -> Stretch {
    let count = (way.length() / block).round().max(1.0) as u32;
    let at = |i: u32| way * f64::from(i) / f64::from(count);
    let moves = (1..=count).map(at).chain((0..count).rev().map(at)).map(|to| line(to, feed));
    stretch(name, about, Vec3::ZERO, moves.collect())
}

/// A line and back beside it in blocks that waver like a finishing pass over a wavy surface.
pub(crate) fn wave(name: &str, about: &str, block: f64, feed: Feed) -> Stretch {
    let way = if block < 0.1 { 15.0 } else { 30.0 };
    let count = (way / block).round() as u32;
    let height = |x: f64| 1.5 * (TAU * x / 15.0).sin() + 0.25 * (TAU * x / 3.0).sin() - 2.0;
    let at = |i: u32, y: f64| {
        let x = way * f64::from(i) / f64::from(count);
        Vec3::new(micron(x), y, micron(height(x)))
    };
    let there = (1..=count).map(|i| at(i, 0.0));
    let back = (0..=count).rev().map(|i| at(i, 1.0));
    let mut moves: Vec<Move> = there.chain(back).map(|to| line(to, feed)).collect();
    moves.push(line(at(0, 0.0), feed));
    stretch(name, about, at(0, 0.0), moves)
}

/// Passes to and fro over a gently curved face in blocks of `block` mm, written to a thousandth.
pub(crate) fn face(name: &str, about: &str, block: f64, feed: Feed) -> Stretch {
    let count = (14.0 / block).round() as u32;
    let at = |i: u32, y: f64| {
        let x = 14.0 * f64::from(i) / f64::from(count);
        Vec3::new(micron(x), y, micron(2.0 * (TAU * x / 60.0).sin() - 2.5))
    };
    let there = (1..=count).map(|i| at(i, 0.0));
    let back = (0..=count).rev().map(|i| at(i, 0.3));
    let mut moves: Vec<Move> = there.chain(back).map(|to| line(to, feed)).collect();
    moves.push(line(at(0, 0.0), feed));
    stretch(name, about, at(0, 0.0), moves)
}

/// To and fro of rotary axis `k` by `angle_rad` while the tip stays where it is.
pub(crate) fn turns(name: &str, about: &str, k: usize, angle_rad: f64, feed: Feed) -> Stretch {
    let mut to = Place::default();
    to.rotary[k] = angle_rad;
    let turn = |to| Move { to, frame: Frame::Tip, ..line(Vec3::ZERO, feed) };
    stretch(name, about, Vec3::ZERO, vec![turn(to), turn(Place::default())])
}

/// A regular polygon of `corners` with sides of `side_rad` that both rotary axes go around while the
/// linear ones stand.
pub(crate) fn turned_polygon(
    name: &str,
    about: &str,
    (corners, side_rad): (u32, f64),
    feed: Feed,
) -> Stretch {
    let mut rotary = [0.0; 2];
    let turn = |i: u32| {
        let heading = TAU * f64::from(i) / f64::from(corners);
        rotary = [rotary[0] + side_rad * heading.cos(), rotary[1] + side_rad * heading.sin()];
        let to =
            Place { rotary: if i + 1 == corners { [0.0; 2] } else { rotary }, ..Place::default() };
        Move { to, ..line(Vec3::ZERO, feed) }
    };
    let moves = (0..corners).map(turn).collect();
    stretch(name, about, Vec3::ZERO, moves)
}

/// A pass to and fro in blocks of `block` mm during which both rotary axes swing, under tip control.
pub(crate) fn swinging(
    name: &str,
    about: &str,
    (block, swing_rad): (f64, [f64; 2]),
    feed: Feed,
) -> Stretch {
    let count = (30.0 / block).round() as u32;
    let at = |i: u32| {
        let t = f64::from(i) / f64::from(count);
        let swing = 0.5 - 0.5 * (TAU * t).cos();
        let rotary = [swing_rad[0] * swing, swing_rad[1] * (TAU * t).sin()];
        Place { linear: Vec3::X * (30.0 * t), rotary }
    };
    let way = (1..=count).chain((0..count).rev());
    let moves = way.map(|i| Move { to: at(i), frame: Frame::Tip, ..line(Vec3::ZERO, feed) });
    stretch(name, about, Vec3::ZERO, moves.collect())
}

impl Stretch {
    /// Whether rotary axes move in it.
    pub(crate) fn turns(&self) -> bool {
        let turned = |a: &Action| matches!(a, Action::Go(m) if m.to.rotary != [0.0; 2]);
        self.actions.iter().any(turned)
    }

    /// Angles between the straight moves of a loop, deg.
    pub(crate) fn corners_deg(&self) -> Vec<f64> {
        let mut ways = Vec::new();
        let mut at = self.start.linear;
        for action in &self.actions {
            let Action::Go(step) = action else { continue };
            ways.push(step.to.linear - at);
            at = step.to.linear;
        }
        let angle = |w: &[Vec3]| w[0].angle_between(w[1]).to_degrees();
        ways.windows(2).map(angle).filter(|a| a.is_finite()).collect()
    }

    /// The stretch with every place moved by `offset`, mm.
    #[must_use]
    pub(crate) fn moved(mut self, offset: Vec3) -> Self {
        self.start.linear += offset;
        for action in &mut self.actions {
            let Action::Go(step) = action else { continue };
            step.to.linear += offset;
            if let Shape::Arc { centre, .. } = &mut step.shape {
                *centre += offset;
            }
        }
        self
    }
}

/// Auxiliary words in turn.
pub(crate) fn words(name: &str, about: &str, words: &[u32]) -> Stretch {
    let actions = words.iter().map(|&w| Action::Word(w)).collect();
    Stretch { actions, ..stretch(name, about, Vec3::ZERO, Vec::new()) }
}

/// The spindle up to a speed and down again.
pub(crate) fn spindle(name: &str, about: &str, rpm: u32) -> Stretch {
    let actions = [rpm, 0].map(Action::Spindle).to_vec();
    Stretch { actions, ..stretch(name, about, Vec3::ZERO, Vec::new()) }
}

/// Changes between two tools.
pub(crate) fn tool_changes(name: &str, about: &str, tools: [u16; 2]) -> Stretch {
    let actions = tools.map(Action::Tool).to_vec();
    Stretch { actions, ..stretch(name, about, Vec3::ZERO, Vec::new()) }
}
