//! One cutter doing one thing to one feature.

use crate::text::Place;

/// One operation, as the study asks for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Operation {
    /// Name.
    pub name: String,
    /// Index of its feature in the study.
    pub feature: usize,
    /// What it does.
    pub kind: OperationKind,
    /// Index of its cutter in the study.
    pub cutter: usize,
    /// How its passes lie.
    pub pattern: Pattern,
    /// Direction of parallel passes in plan, from +X towards +Y, rad.
    pub direction_rad: f64,
    /// How the axis stands.
    pub axis: AxisRule,
    /// Lean of the axis towards the feed, applied before the tilt, rad.
    pub lead_rad: f64,
    /// How far passes lie apart; always there for the kinds that finish a face.
    pub spacing: Option<Spacing>,
    /// How fast the cutter turns.
    pub speed: Speed,
    /// How fast it is fed.
    pub feed: Feed,
    /// Which point gets that feed.
    pub feed_at: FeedAt,
    /// Stock on the feature before the operation, mm.
    pub allowance_mm: f64,
    /// Whether neighbouring passes run to and fro.
    pub traverse: Traverse,
    /// On which side of the feed the material stands.
    pub cut: Cut,
    /// Radius of the arcs that lead in and out, mm.
    pub lead_radius_mm: f64,
    /// How far links lift where they may not stay down, mm.
    pub clearance_mm: f64,
    /// How far a straight move may leave the contact line, mm; left out: by the cusp.
    pub chord_mm: Option<f64>,
    /// What only work in layers asks for.
    pub roughing: Roughing,
    /// Coolant.
    pub coolant: Option<Coolant>,
    /// What the clock says today, s.
    pub measured_time_s: Option<f64>,
    /// Where it stands in the file.
    pub place: Place,
    /// Where its feature is named.
    pub feature_place: Place,
    /// Where its cutter is named.
    pub cutter_place: Place,
}

/// What an operation does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OperationKind {
    /// Clears a pocket.
    RoughPocket,
    /// Clears the outside.
    RoughOutside,
    /// Evens a face out before it is finished.
    SemiFinishFace,
    /// Finishes a face.
    FinishFace,
    /// Finishes a wall.
    FinishWall,
    /// Finishes a floor.
    FinishFloor,
    /// Clears what larger cutters left in corners.
    RestCorners,
    /// Drills.
    Drill,
    /// Breaks edges.
    Chamfer,
}

/// How passes lie on a face.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// Straight and parallel in plan.
    Parallel,
    /// Along the face's first parameter.
    AlongU,
    /// Along the face's second parameter.
    AlongV,
    /// One line from the rim inwards.
    Spiral,
    /// At constant height.
    Level,
    /// Spaced so that the cusp is the same everywhere.
    EqualCusp,
}

/// How the axis stands on the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AxisRule {
    /// +Z of the set-up.
    Fixed,
    /// Along the surface normal.
    Normal,
    /// At an angle to the surface normal.
    Tilted {
        /// The angle, rad; left out: the middle of the usable arc, for a ball 15°.
        kappa_rad: Option<f64>,
        /// To which side of the feed the axis leans.
        lean: Lean,
    },
}

/// To which side the axis leans, looking along the feed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lean {
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// To the side that serves better, one for the whole operation.
    Auto,
}

/// How far neighbouring contact lines lie apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spacing {
    /// At most this far along the surface, anywhere.
    Stepover {
        /// The distance, mm.
        mm: f64,
    },
    /// As far as keeps this cusp everywhere.
    Cusp {
        /// Its height, mm.
        mm: f64,
    },
}

/// How fast the cutter turns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Speed {
    /// Turns of the spindle.
    Spindle {
        /// Revolutions per second.
        rev_s: f64,
    },
    /// Cutting speed at the largest radius that cuts.
    Cutting {
        /// The speed, mm/s.
        mm_s: f64,
    },
}

/// How fast the cutter is fed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Feed {
    /// By tooth.
    PerTooth {
        /// Feed of one tooth, mm.
        mm: f64,
    },
    /// By time.
    Rate {
        /// Feed, mm/s.
        mm_s: f64,
    },
}

/// Which point gets the feed that is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FeedAt {
    /// The contact point.
    Contact,
    /// The tip: a programmed F.
    Tip,
}

/// Whether neighbouring passes run to and fro.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Traverse {
    /// To and fro.
    BothWays,
    /// All the same way.
    OneWay,
}

/// On which side of the feed the material stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cut {
    /// Down milling.
    Down,
    /// Up milling.
    Up,
}

/// What only work in layers asks for.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Roughing {
    /// Depth of one pass along the axis, mm.
    pub depth_per_pass_mm: Option<f64>,
    /// Width of cut, mm.
    pub width_mm: Option<f64>,
    /// What is left on the feature, mm.
    pub stock_left_mm: Option<f64>,
    /// How the cutter goes down.
    pub entry: Option<Entry>,
    /// Steepness of helix or ramp, rad.
    pub entry_rad: Option<f64>,
    /// How the path of a level is laid.
    pub clearing: Clearing,
    /// Whether the feed follows the load.
    pub feed_rule: FeedRule,
    /// Whether passes of constant engagement alternate between down and up milling.
    pub both_ways: bool,
    /// Rounds along a finished wall that take off what the cutter gave way by.
    pub spring_passes: u32,
}

/// How the path that clears a level is laid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Clearing {
    /// Offsets of the border, a fixed width apart.
    #[default]
    ContourParallel,
    /// Steered so that the arc of contact stays at its target.
    ConstantEngagement,
}

/// Whether the feed follows the load.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FeedRule {
    /// The same everywhere.
    #[default]
    Constant,
    /// As high everywhere as the load at the hardest place allows.
    Scheduled,
}

/// How a cutter goes down into full material.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Entry {
    /// On a helix.
    Helix,
    /// On a slope.
    Ramp,
    /// Straight down.
    Plunge,
}

/// What cools and clears the cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coolant {
    /// From outside.
    Flood,
    /// Through the spindle.
    Through,
    /// Air blast.
    Air,
    /// Mist.
    Mist,
    /// Nothing.
    Dry,
}

impl OperationKind {
    /// The word for it in files and tables.
    pub fn name(self) -> &'static str {
        crate::words::word(&crate::words::OPERATION_KINDS, self)
    }

    /// Whether it covers a face with neighbouring passes.
    pub fn covers_a_face(self) -> bool {
        matches!(self, Self::SemiFinishFace | Self::FinishFace)
    }

    /// Whether it clears stock in layers, of a depth and a width that the study must give.
    pub fn is_roughing(self) -> bool {
        matches!(self, Self::RoughPocket | Self::RoughOutside)
    }

    /// Whether it clears stock in layers.
    pub fn clears(self) -> bool {
        self.is_roughing() || self == Self::RestCorners
    }
}

impl Clearing {
    /// The word for it in files and tables.
    pub fn name(self) -> &'static str {
        crate::words::word(&crate::words::CLEARINGS, self)
    }
}

impl Pattern {
    /// The word for it in files and tables.
    pub fn name(self) -> &'static str {
        crate::words::word(&crate::words::PATTERNS, self)
    }
}
