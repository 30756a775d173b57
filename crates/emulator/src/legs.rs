//! A track as curves: one leg for every move that moves, in program coordinates, and where the
//! joints stand along it.

use crate::Hidden;
use geom::Vec3;
use machine::kinematics::Jet;
use machine::track::{Feed, Frame, Move, Place, Shape, Track};
use machine::{AxisPosition, Kinematics};

/// Program coordinates or joints: three lengths (mm) and two angles (rad).
pub(crate) type Q = [f64; 5];

/// Shorter moves do not move, mm or deg.
const NOTHING: f64 = 1e-8;

/// A track that cannot be run.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("move {index}: {why}")]
pub struct Refused {
    /// Number of the move, from 0; the number of moves for a wait.
    pub index: usize,
    /// What is wrong with it.
    pub why: &'static str,
}

pub(crate) fn combine(a: &Q, b: &Q, f: impl Fn(f64, f64) -> f64) -> Q {
    std::array::from_fn(|i| f(a[i], b[i]))
}

pub(crate) fn linear(q: &Q) -> Vec3 {
    Vec3::new(q[0], q[1], q[2])
}

fn packed(linear: Vec3, rotary: [f64; 2]) -> Q {
    [linear.x, linear.y, linear.z, rotary[0], rotary[1]]
}

/// The chain between program coordinates and joints.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Chain<'a> {
    kinematics: &'a Kinematics,
    directions: [f64; 2],
}

impl<'a> Chain<'a> {
    pub(crate) fn of(hidden: &'a Hidden) -> Self {
        Self { kinematics: &hidden.kinematics, directions: hidden.directions }
    }

    /// Joints at program coordinates `q`.
    pub(crate) fn joints(&self, frame: Frame, q: &Q) -> Q {
        if frame == Frame::Axes {
            return *q;
        }
        let mounting = self.kinematics.mounting();
        let tip = mounting.rotation * linear(q) + mounting.origin_mm;
        if self.kinematics.rotary_count() == 0 {
            return packed(tip, [0.0; 2]);
        }
        let angles = [q[3], q[4]];
        let still = [Vec3::ZERO; 2];
        let jet = Jet { tip: [tip, still[0], still[1]], theta: [angles, [0.0; 2], [0.0; 2]] };
        packed(self.kinematics.linear_jet(&jet).linear[0], angles)
    }

    /// Program coordinates at joints `q`.
    fn program(&self, frame: Frame, q: &Q) -> Q {
        if frame == Frame::Axes {
            return *q;
        }
        let rotary = [q[3] * self.directions[0], q[4] * self.directions[1]];
        let pose = self.kinematics.forward(&AxisPosition { linear: linear(q), rotary });
        packed(pose.tip, [q[3], q[4]])
    }
}

/// Which way a leg goes.
#[derive(Debug, Clone, Copy)]
enum Way {
    Straight,
    /// Radius vector at the start, the same a quarter turn on, axial part, turn, and what is left
    /// over at the end and spread evenly.
    Turning {
        centre: Vec3,
        from: Vec3,
        quarter: Vec3,
        along: Vec3,
        sweep_rad: f64,
        rest: Vec3,
    },
}

/// One move as a curve by its length.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Leg {
    /// Number of the move in the track.
    pub(crate) index: usize,
    /// Start in program coordinates.
    pub(crate) from: Q,
    /// End in program coordinates.
    pub(crate) to: Q,
    way: Way,
    pub(crate) frame: Frame,
    /// Length, mm; of the angles in deg where nothing else moves.
    pub(crate) length: f64,
    /// Whether only rotary axes move.
    pub(crate) only_turns: bool,
    pub(crate) rapid: bool,
    /// Programmed speed, mm/s or deg/s; infinite for a rapid.
    pub(crate) feed: f64,
    /// Whether the program asks for a stop at the end, or a wait follows.
    pub(crate) stop: bool,
    /// Moves that do not move, read before this one.
    pub(crate) idle_blocks: usize,
}

impl Leg {
    /// Program coordinates at length `s`.
    pub(crate) fn at(&self, s: f64) -> Q {
        let u = s / self.length;
        if u >= 1.0 {
            return self.to;
        }
        let mut q = combine(&self.from, &self.to, |a, b| a + (b - a) * u);
        if let Way::Turning { centre, from, quarter, along, sweep_rad, rest } = self.way {
            let (sin, cos) = (u * sweep_rad).sin_cos();
            let p = centre + from * cos + quarter * sin + along + rest * u;
            q[..3].copy_from_slice(&p.to_array());
        }
        q
    }

    /// Derivative of the program coordinates by length at `s`.
    pub(crate) fn tangent(&self, s: f64) -> Q {
        let mut t = combine(&self.from, &self.to, |a, b| (b - a) / self.length);
        if let Way::Turning { from, quarter, sweep_rad, rest, .. } = self.way {
            let (sin, cos) = (s / self.length * sweep_rad).sin_cos();
            let p = ((quarter * cos - from * sin) * sweep_rad + rest) / self.length;
            t[..3].copy_from_slice(&p.to_array());
        }
        t
    }

    /// Integral of the program coordinates by length from the start to `s`.
    pub(crate) fn integral(&self, s: f64) -> Q {
        let half = 0.5 * s * s / self.length;
        let mut sum = combine(&self.from, &self.to, |a, b| a * s + (b - a) * half);
        if let Way::Turning { centre, from, quarter, along, sweep_rad, rest } = self.way {
            let (sin, cos) = (s / self.length * sweep_rad).sin_cos();
            let turned = (from * sin + quarter * (1.0 - cos)) * (self.length / sweep_rad);
            let p = (centre + along) * s + turned + rest * half;
            sum[..3].copy_from_slice(&p.to_array());
        }
        sum
    }

    /// Whether the joints run evenly along it.
    pub(crate) fn is_even(&self) -> bool {
        let still = self.from[3] == self.to[3] && self.from[4] == self.to[4];
        matches!(self.way, Way::Straight) && (still || self.frame == Frame::Axes)
    }

    /// Radius of its curve, mm; infinite for a line.
    pub(crate) fn radius(&self) -> f64 {
        match self.way {
            Way::Straight => f64::INFINITY,
            Way::Turning { from, .. } => from.length(),
        }
    }

    /// Into how many parts it is cut where its limits are looked for.
    pub(crate) fn parts(&self) -> usize {
        if self.is_even() {
            return 1;
        }
        let turn = (self.to[3] - self.from[3]).abs().max((self.to[4] - self.from[4]).abs());
        let sweep = match self.way {
            Way::Straight => 0.0,
            Way::Turning { sweep_rad, .. } => sweep_rad,
        };
        8 + ((turn.max(sweep) * 8.0) as usize).min(120)
    }

    /// Angle between the end of this leg and the start of the next, rad; a half turn where the two
    /// cannot be compared.
    pub(crate) fn angle_to(&self, next: &Self) -> f64 {
        if self.only_turns != next.only_turns || self.frame != next.frame {
            return std::f64::consts::PI;
        }
        let (a, b) = (self.tangent(self.length), next.tangent(0.0));
        if self.only_turns {
            return Vec3::new(a[3], a[4], 0.0).angle_between(Vec3::new(b[3], b[4], 0.0));
        }
        let (a, b) = (linear(&a), linear(&b));
        a.cross(b).length().atan2(a.dot(b))
    }
}

fn turning(step: &Move, from: &Q, centre: Vec3, axis: Vec3, sweep_rad: f64) -> (Way, f64) {
    let out = linear(from) - centre;
    let along = axis * out.dot(axis);
    let radial = out - along;
    let quarter = axis.cross(radial);
    let (sin, cos) = sweep_rad.sin_cos();
    let rest = step.to.linear - (centre + radial * cos + quarter * sin + along);
    let climb = rest.dot(axis);
    let length = (radial.length() * sweep_rad).hypot(climb);
    (Way::Turning { centre, from: radial, quarter, along, sweep_rad, rest }, length)
}

fn leg(index: usize, step: &Move, from: Q) -> Option<Leg> {
    let to = packed(step.to.linear, step.to.rotary);
    let angles = [to[3] - from[3], to[4] - from[4]].map(f64::to_degrees);
    let (way, mut length) = match step.shape {
        Shape::Line => (Way::Straight, (linear(&to) - linear(&from)).length()),
        Shape::Arc { centre, axis, sweep_rad } => turning(step, &from, centre, axis, sweep_rad),
    };
    let only_turns = length < NOTHING;
    if only_turns {
        length = angles[0].hypot(angles[1]);
    }
    let (rapid, feed) = match step.feed {
        Feed::Rapid => (true, f64::INFINITY),
        Feed::Speed(speed) => (false, speed),
        Feed::Time(seconds) => (false, length / seconds),
    };
    let (frame, stop) = (step.frame, step.stop);
    let leg = Leg {
        index,
        from,
        to,
        way: if only_turns { Way::Straight } else { way },
        frame,
        length,
        only_turns,
        rapid,
        feed,
        stop,
        idle_blocks: 0,
    };
    (length >= NOTHING).then_some(leg)
}

fn is_sound(step: &Move) -> Result<(), &'static str> {
    let place = |p: &Place| p.linear.is_finite() && p.rotary.iter().all(|r| r.is_finite());
    let feed = match step.feed {
        Feed::Rapid => true,
        Feed::Speed(v) | Feed::Time(v) => v.is_finite() && v > 0.0,
    };
    let shape = match step.shape {
        Shape::Line => true,
        Shape::Arc { centre, axis, sweep_rad } => {
            centre.is_finite() && axis.is_normalized() && sweep_rad.is_finite() && sweep_rad > 0.0
        }
    };
    match (place(&step.to), feed, shape) {
        (false, ..) => Err("its end is not a finite place"),
        (_, false, _) => Err("its feed is not above zero"),
        (.., false) => Err("its arc has no unit axis or turns by nothing"),
        _ => Ok(()),
    }
}

/// The legs of a track; its start counts in the frame of the first move.
pub(crate) fn legs(chain: &Chain<'_>, track: &Track) -> Result<Vec<Leg>, Refused> {
    let Some(first) = track.moves.first() else { return Ok(Vec::new()) };
    let mut legs: Vec<Leg> = Vec::with_capacity(track.moves.len());
    let mut frame = first.frame;
    let mut here = packed(track.start.linear, track.start.rotary);
    let mut waits = track.waits.iter().map(|w| w.after).peekable();
    let mut idle_blocks = 0;
    for (index, step) in track.moves.iter().enumerate() {
        is_sound(step).map_err(|why| Refused { index, why })?;
        while waits.peek().is_some_and(|after| *after <= index) {
            waits.next();
            stop_at(legs.last_mut());
        }
        if step.frame != frame {
            here = chain.program(step.frame, &chain.joints(frame, &here));
            frame = step.frame;
        }
        match leg(index, step, here) {
            Some(leg) => {
                here = leg.to;
                legs.push(Leg { idle_blocks: std::mem::take(&mut idle_blocks), ..leg });
            }
            None => {
                idle_blocks += 1;
                if step.stop {
                    stop_at(legs.last_mut());
                }
            }
        }
    }
    stop_at(legs.last_mut());
    Ok(legs)
}

fn stop_at(leg: Option<&mut Leg>) {
    if let Some(leg) = leg {
        leg.stop = true;
    }
}
