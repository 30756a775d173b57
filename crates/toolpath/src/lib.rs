//! The type of a toolpath: runs of poses with their kind and feed. No strategy lives here.
//!
//! Everything is in the part's frame, mm and mm/s. Between two neighbouring points of a run the tip
//! moves on a straight line at a steady rate while the axis turns on the great circle.

use geom::Vec3;

/// Where the cutter stands: its tip and its axis (unit, from the tip towards the spindle).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Tip of the cutter, mm.
    pub tip: Vec3,
    /// Unit vector from the tip towards the spindle.
    pub axis: Vec3,
}

/// What a run of moves is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RunKind {
    /// Cutting along a contact line.
    Cut,
    /// Rolling onto the surface at feed.
    LeadIn,
    /// Rolling off the surface at feed.
    LeadOut,
    /// From one pass to the next at feed, staying down.
    Link,
    /// Towards the part at feed, or along the axis at rapid as the feed says.
    Approach,
    /// Away from the part.
    Retract,
    /// Through the air as fast as the machine can.
    Rapid,
}

impl RunKind {
    /// Whether the run cuts along a contact line.
    pub fn is_cut(self) -> bool {
        self == RunKind::Cut
    }

    /// What the run is called.
    pub fn name(self) -> &'static str {
        match self {
            RunKind::Cut => "pass",
            RunKind::LeadIn => "lead-in",
            RunKind::LeadOut => "lead-out",
            RunKind::Link => "link",
            RunKind::Approach => "approach",
            RunKind::Retract => "retract",
            RunKind::Rapid => "rapid",
        }
    }
}

/// A polyline of poses of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// What the run is for.
    pub kind: RunKind,
    /// The pass it belongs to, from 0; a link belongs to the pass it leads to.
    pub pass: usize,
    /// Poses; neighbouring runs share their end pose.
    pub poses: Vec<Pose>,
    /// Contact points, as many as `poses`, for [`RunKind::Cut`]; empty otherwise.
    pub contacts: Vec<Contact>,
    /// Tip feed of each move, mm/s: one fewer than `poses`. Infinite means rapid.
    pub tip_feed_mm_s: Vec<f64>,
}

/// The point that a pose touches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// Contact point, mm.
    pub point: Vec3,
    /// Unit normal of the surface there, out of the material.
    pub normal: Vec3,
}

/// All runs of one operation, in the order in which they are driven.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Toolpath {
    /// Runs in order; each starts where the one before it ended.
    pub runs: Vec<Run>,
}

impl Run {
    /// Length of the tip's path, mm.
    pub fn tip_length_mm(&self) -> f64 {
        self.poses.windows(2).map(|w| w[0].tip.distance(w[1].tip)).sum()
    }

    /// Length of the contact line, mm; zero for runs that do not cut.
    pub fn contact_length_mm(&self) -> f64 {
        self.contacts.windows(2).map(|w| w[0].point.distance(w[1].point)).sum()
    }
}

impl Toolpath {
    /// Number of straight moves.
    pub fn moves(&self) -> usize {
        self.runs.iter().map(|r| r.poses.len().saturating_sub(1)).sum()
    }
}
