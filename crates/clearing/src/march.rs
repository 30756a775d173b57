//! One pass: the path whose every step holds the arc of contact.
//!
//! With material on the right, the arc runs from the right end of the leading half, where the fresh
//! wall is tangent to the feed, to where the cutter's circle meets the old border. Turning left
//! takes it away at both ends, so that the turn of each step is the root of a falling function. With
//! material on the left all is mirrored.

use crate::ground::{Contact, Ground, Side};
use crate::job::Hold;
use crate::room::Room;
use geom::Vec2;
use std::f64::consts::PI;

/// How a pass is steered.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Steering {
    pub(crate) arc_rad: f64,
    pub(crate) step_mm: f64,
    /// How far a step may leave the curve, mm.
    pub(crate) chord_mm: f64,
    /// Smallest radius of a turn into the material or along a wall, mm.
    pub(crate) turn_mm: f64,
    /// Most turn in one step, rad.
    pub(crate) kink_rad: f64,
}

/// Steering solved to this, rad.
const SOLVED_RAD: f64 = 0.006;
/// A wall that presses the path farther into the material than this over the target ends it, rad.
const PRESSED_RAD: f64 = 8.0 * PI / 180.0;
/// Contact below this is none, rad.
pub(crate) const TOUCH_RAD: f64 = 0.02;

/// Points of a pass.
#[derive(Debug, Clone, Default)]
pub(crate) struct Pass {
    pub(crate) points: Vec<Vec2>,
    pub(crate) contact: Vec<Contact>,
    pub(crate) hold: Vec<Hold>,
    pub(crate) area_mm2: f64,
}

struct Step {
    to: Vec2,
    feed: Vec2,
    contact: Contact,
    hold: Hold,
}

/// Drives from `start` until there is no material ahead.
pub(crate) fn drive(
    ground: &mut Ground,
    room: &Room,
    steering: &Steering,
    (start, feed, side): (Vec2, Vec2, Side),
) -> Pass {
    let mut pass = Pass::default();
    let (mut at, mut feed, mut bend) = (start, feed, 0.0);
    pass.push(start, Contact::default(), Hold::Air);
    let patience = 1.2 * ground.radius_mm;
    let mut idle = 0.0;
    while idle < patience {
        let Some((step, turn)) =
            next(ground, room, steering, Aim { at, feed, side, length: steering.step_mm }, bend)
        else {
            break;
        };
        let length = (step.to - at).length();
        ground.cut(at, step.to);
        bend = turn / length;
        idle = if step.contact.arc_rad > TOUCH_RAD { 0.0 } else { idle + length };
        pass.area_mm2 += step.contact.width_mm * length;
        pass.push(step.to, step.contact, step.hold);
        (at, feed) = (step.to, step.feed);
    }
    ground.settle();
    pass.trim();
    pass.name_ends(steering.arc_rad);
    pass
}

/// The next step and its turn; shorter steps where the path bends.
fn next(
    ground: &Ground,
    room: &Room,
    steering: &Steering,
    mut aim: Aim,
    bend: f64,
) -> Option<(Step, f64)> {
    loop {
        let length = aim.length;
        let last = length < 0.2 * steering.step_mm;
        let limit = length / steering.turn_mm;
        let engaged = turn_to_target(ground, steering, aim, bend * length, limit);
        let turn = turn_off_wall(room, steering, aim, engaged.turn)?;
        let (contact, hold) = match turn > engaged.turn + 1e-9 {
            true => (None, Hold::Wall),
            false => (Some(engaged.contact), engaged.hold),
        };
        let bent = turn.abs() > steering.kink_rad || turn.abs() * length > 8.0 * steering.chord_mm;
        if bent && !last {
            aim.length *= 0.5;
            continue;
        }
        if turn > 0.6 * PI {
            return None;
        }
        let contact = contact.unwrap_or_else(|| aim.contact(ground, turn));
        if hold == Hold::Wall && contact.arc_rad > steering.arc_rad + PRESSED_RAD {
            return None;
        }
        let feed = aim.turned(turn);
        return Some((Step { to: aim.to(turn), feed, contact, hold }, turn));
    }
}

/// A step before it is turned.
#[derive(Debug, Clone, Copy)]
struct Aim {
    at: Vec2,
    feed: Vec2,
    side: Side,
    length: f64,
}

impl Aim {
    /// The feed turned away from the material.
    fn turned(&self, turn: f64) -> Vec2 {
        self.feed.rotate(Vec2::from_angle(self.side.sign() * turn))
    }

    fn to(&self, turn: f64) -> Vec2 {
        self.at + self.turned(turn) * self.length
    }

    /// Contact on arriving: a steady curve has turned half as much again.
    fn contact(&self, ground: &Ground, turn: f64) -> Contact {
        ground.contact_from(self.to(turn), self.turned(1.5 * turn), self.side)
    }
}

/// A turn away from the material, the contact after it, and what it is held by.
#[derive(Debug, Clone, Copy)]
struct Turn {
    turn: f64,
    contact: Contact,
    hold: Hold,
}

/// The turn at which the arc is the target, no farther right than `limit`.
fn turn_to_target(ground: &Ground, steering: &Steering, aim: Aim, guess: f64, limit: f64) -> Turn {
    let excess = |turn: f64| {
        let contact = aim.contact(ground, turn);
        (contact.arc_rad - steering.arc_rad, contact)
    };
    let mut turn = guess.max(-limit).min(limit);
    let (mut f, mut contact) = excess(turn);
    let mut slope = -1.2;
    for _ in 0..5 {
        if f.abs() < SOLVED_RAD {
            return Turn { turn, contact, hold: Hold::Steered };
        }
        let next = (turn - f / slope).max(-limit).min(turn + 0.5);
        if next == turn {
            break;
        }
        let (g, c) = excess(next);
        let steep = (g - f) / (next - turn);
        if steep < -0.3 && steep > -30.0 {
            slope = steep;
        }
        (turn, f, contact) = (next, g, c);
    }
    if f.abs() < SOLVED_RAD {
        return Turn { turn, contact, hold: Hold::Steered };
    }
    search(&excess, (turn, f, contact), limit)
}

/// The farthest right that is not over the target, where the arc jumps.
fn search(
    excess: &dyn Fn(f64) -> (f64, Contact),
    (turn, f, contact): (f64, f64, Contact),
    limit: f64,
) -> Turn {
    if turn <= -limit && f <= SOLVED_RAD {
        let steered = contact.beside && f > -SOLVED_RAD;
        let hold = if steered { Hold::Steered } else { Hold::Remnant };
        return Turn { turn, contact, hold };
    }
    let mut over = turn.min(-limit).min(-1e-9);
    let (f, contact) = excess(over);
    if f <= SOLVED_RAD {
        return Turn { turn: over, contact, hold: Hold::Remnant };
    }
    let mut under = (over, contact);
    while under.0 < PI {
        let turn = under.0 + 0.06;
        let (f, contact) = excess(turn);
        under = (turn, contact);
        if f <= SOLVED_RAD {
            break;
        }
        over = turn;
    }
    for _ in 0..10 {
        let middle = 0.5 * (over + under.0);
        let (f, contact) = excess(middle);
        if f <= SOLVED_RAD { under = (middle, contact) } else { over = middle }
    }
    Turn { turn: under.0, contact: under.1, hold: Hold::Steered }
}

/// The least turn from `turn` on that keeps the path in the room and able to turn off its border.
fn turn_off_wall(room: &Room, steering: &Steering, aim: Aim, turn: f64) -> Option<f64> {
    let radius = steering.turn_mm.min(0.9 * room.rounding_mm);
    let good = |turn: f64| {
        let (feed, to) = (aim.turned(turn), aim.to(turn));
        let depth = room.depth(to);
        if depth >= radius {
            return true;
        }
        let into = -feed.dot(room.inwards(to));
        let into = into.max(0.0).min(1.0);
        depth >= radius * (1.0 - (1.0 - into * into).sqrt())
    };
    if good(turn) {
        return Some(turn);
    }
    let mut under = turn;
    let mut step = 0.02;
    let over = loop {
        let next = under + step;
        if next > turn + PI {
            return None;
        }
        if good(next) {
            break next;
        }
        under = next;
        step = (step * 1.5).min(0.1);
    };
    let (mut bad, mut fine) = (under, over);
    for _ in 0..12 {
        let middle = 0.5 * (bad + fine);
        if good(middle) { fine = middle } else { bad = middle }
    }
    Some(fine)
}

impl Pass {
    fn push(&mut self, p: Vec2, contact: Contact, hold: Hold) {
        self.points.push(p);
        self.contact.push(contact);
        self.hold.push(hold);
    }

    /// Drops what runs through the air at the end.
    fn trim(&mut self) {
        let last = self.contact.iter().rposition(|c| c.arc_rad > TOUCH_RAD).unwrap_or(0);
        self.points.truncate(last + 1);
        self.contact.truncate(last + 1);
        self.hold.truncate(last + 1);
    }

    /// Names rolling in, running out and air.
    fn name_ends(&mut self, target: f64) {
        let full = |c: &Contact| c.arc_rad > target - 5f64.to_radians();
        let first = self.contact.iter().position(full).unwrap_or(self.contact.len());
        let last = self.contact.iter().rposition(full).unwrap_or(0);
        for (i, hold) in self.hold.iter_mut().enumerate() {
            if self.contact[i].arc_rad <= TOUCH_RAD {
                *hold = Hold::Air;
            } else if first == self.contact.len() {
                *hold = Hold::Remnant;
            } else if i < first {
                *hold = Hold::Entering;
            } else if i > last {
                *hold = Hold::Leaving;
            }
        }
    }
}
