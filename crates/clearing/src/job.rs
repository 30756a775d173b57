//! What to clear, and the path that clears it.

use planar::Region;

/// What to clear at one level, mm, in the plan of the set-up.
#[derive(Debug, Clone)]
pub struct Job<'a> {
    /// Where material may be cut: the cutter's edge stays in it.
    pub inside: &'a Region,
    /// Where material stands before this level is cut: `inside` for a full pocket, less after a
    /// larger cutter, the stock's outline for outside shapes (`inside` then reaches beyond it by
    /// more than the cutter's diameter).
    pub stock: &'a Region,
    /// Radius of the cutter, mm.
    pub cutter_radius_mm: f64,
    /// Arc of contact to hold, rad; on a straight wall the width of cut is `R (1 − cos arc)`.
    pub arc_rad: f64,
    /// Whether the material lies on the right of the feed (climb, spindle clockwise).
    pub climb: bool,
    /// Whether passes of constant engagement may run both ways: every other one then has the material
    /// on the other side, and hardly a way back through the air is left. Loops keep to one side.
    pub both_ways: bool,
    /// How the path is laid.
    pub method: Method,
    /// How far the path may leave the curve that it follows, mm; the edge may leave `inside` by as
    /// much.
    pub chord_mm: f64,
    /// Ways into the material, tried in this order: over cleared ground, helix, ramp, plunge.
    pub entry: Entry,
    /// Smallest radius of the path that the machine drives well, mm: corners along the walls are
    /// rounded by it, and what that leaves is in the rest; 0 goes into corners sharply, at up to a
    /// quarter turn of contact. Loops in necks and the start of a pass may be tighter.
    pub least_corner_radius_mm: f64,
}

/// How a path is laid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Steered so that the arc of contact stays at its target.
    ConstantEngagement,
    /// Offsets of the border, a fixed width apart.
    ContourParallel,
}

/// Ways into the material that the cutter allows.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Entry {
    /// Down a helix.
    pub helix: Option<Helix>,
    /// Length of one leg of a ramp to and fro, mm.
    pub ramp_mm: Option<f64>,
    /// Straight down; only for cutters that cut at their centre.
    pub plunge: bool,
}

/// Radii of the centre's path down a helix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Helix {
    /// Wanted, mm; above the cutter's radius a post would stay, so it is held below that.
    pub radius_mm: f64,
    /// Smallest that pitch and angle of the ramp allow, mm.
    pub least_radius_mm: f64,
}

/// What a run is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Down into the material: one turn of the helix, a leg of the ramp, or the place of the plunge.
    Entry,
    /// Cutting.
    Cut,
    /// Cutting with the whole front in the material, where nothing wider has room.
    Slot,
    /// Cutting in loops along a neck or a slot.
    Trochoid,
    /// Staying down, over cleared ground.
    Link,
    /// Up, over to the last point, and down on cleared ground.
    Lift,
}

/// Why the arc of contact at a point is what it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hold {
    /// Laid for the target: steered to it, or on a contour at its width.
    Steered,
    /// Rolling into the material at the start of a pass.
    Entering,
    /// Running out at the end of a pass, along the wall or into cleared ground.
    Leaving,
    /// The wall holds the path: what stands before it is thinner than a full cut.
    Wall,
    /// What is left ends before a full cut, or turns away faster than the path may.
    Remnant,
    /// Loops in a neck or slot.
    Neck,
    /// Into the material.
    Entry,
    /// Whole front in the material.
    Slot,
    /// Not cutting.
    Air,
}

/// A piece of path of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// What it is for.
    pub kind: Kind,
    /// Centre of the cutter, mm; a run begins where the one before it ends.
    pub points: Vec<[f64; 2]>,
    /// Arc of contact on arriving at each point, rad, summed over its pieces.
    pub arc_of_contact_rad: Vec<f64>,
    /// Area that is cut in arriving at each point per length of path, mm: the radial width of cut.
    pub width_mm: Vec<f64>,
    /// Why it is so.
    pub hold: Vec<Hold>,
}

/// Length of path by what holds the arc of contact, mm.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Shares {
    /// All lengths where the cutter cuts.
    pub cutting_mm: f64,
    /// Steered to the target.
    pub steered_mm: f64,
    /// Steered, and within 5° of the target.
    pub steered_within_mm: f64,
    /// Rolling in.
    pub entering_mm: f64,
    /// Running out.
    pub leaving_mm: f64,
    /// Held by the wall.
    pub wall_mm: f64,
    /// Last remnants.
    pub remnant_mm: f64,
    /// Loops in necks and slots, their half in the air too.
    pub neck_mm: f64,
    /// Entries.
    pub entry_mm: f64,
    /// Whole front in the material.
    pub slot_mm: f64,
    /// Links that stay down, and pieces of cuts through the air.
    pub air_mm: f64,
    /// Lifts.
    pub lifts: usize,
    /// Links that stay down.
    pub links: usize,
    /// Largest arc of contact outside entries and slots, rad.
    pub peak_rad: f64,
}

/// The path that clears a level, and what it leaves.
#[derive(Debug, Clone, PartialEq)]
pub struct Clearing {
    /// Runs in order.
    pub runs: Vec<Run>,
    /// Stock that is cut.
    pub reached: Region,
    /// Stock inside that stays: corners, necks, and chambers without a way in.
    pub rest: Region,
    /// What the arc of contact was held by, by length.
    pub shares: Shares,
}

impl Run {
    /// Length, mm.
    pub fn length_mm(&self) -> f64 {
        self.points.windows(2).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1])).sum()
    }

    /// Area removed along each step, mm² per mm of path: one fewer than `points`. Times depth and
    /// feed it is the rate of removal.
    pub fn removal_mm2_per_mm(&self) -> &[f64] {
        self.width_mm.get(1..).unwrap_or_default()
    }

    /// Area removed, mm².
    pub fn area_mm2(&self) -> f64 {
        let steps = self.points.windows(2).zip(self.removal_mm2_per_mm());
        steps.map(|(w, rate)| rate * (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1])).sum()
    }
}
