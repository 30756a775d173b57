//! What is asked for: one face, one cutter, one pattern.

use cutter::Assembly;
use geom::{TriMesh, Vec2, Vec3};
use part::Part;

/// How the part stands on the machine, in the part's frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// +X of the set-up, unit.
    pub x: Vec3,
    /// +Y of the set-up, unit.
    pub y: Vec3,
    /// +Z of the set-up, unit.
    pub up: Vec3,
}

impl Default for Frame {
    fn default() -> Self {
        Self { x: Vec3::X, y: Vec3::Y, up: Vec3::Z }
    }
}

impl Frame {
    /// Coordinates in plan.
    pub fn plan(&self, p: Vec3) -> Vec2 {
        Vec2::new(p.dot(self.x), p.dot(self.y))
    }
}

/// The family of lines that passes follow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// Straight in plan.
    Parallel,
    /// Along the first parameter of the surface.
    AlongU,
    /// Along the second parameter of the surface.
    AlongV,
    /// Round and round, from the border inwards.
    Spiral,
    /// At constant height.
    Level,
    /// As far apart as the cusp allows everywhere.
    EqualCusp,
}

/// The side to which the axis leans, seen along the direction of the pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LeanSide {
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// Whichever stands clearer of the part.
    #[default]
    Auto,
}

/// How the axis stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AxisRule {
    /// Along +Z of the set-up.
    Fixed,
    /// Along the surface normal.
    Normal,
    /// At a contact angle, leaning across the feed.
    Tilted {
        /// Angle between axis and normal, rad; the cutter's default where `None`.
        kappa_rad: Option<f64>,
        /// Towards the feed, rad.
        lead_rad: f64,
        /// Side of the lean.
        lean: LeanSide,
    },
}

/// Whether passes run both ways.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Traverse {
    /// There and back.
    #[default]
    BothWays,
    /// Always the same way.
    OneWay,
}

/// Which way the teeth meet the stock in passes that run one way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CutSide {
    /// Down milling: stock to the right of the feed.
    #[default]
    Down,
    /// Up milling: stock to the left of the feed.
    Up,
}

/// What the feed is measured at, mm/s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Feed {
    /// The contact point keeps this feed; the tip's follows.
    AtContact(f64),
    /// The tip keeps this feed.
    AtTip(f64),
}

/// One face to finish.
pub struct FaceJob<'a> {
    /// The part.
    pub part: &'a Part,
    /// Faces of the feature.
    pub faces: &'a [usize],
    /// How the part stands.
    pub frame: Frame,
    /// The cutter in its holder.
    pub assembly: &'a Assembly,
    /// The family of lines.
    pub pattern: Pattern,
    /// Direction in plan from +X of the set-up, rad; `None`: +X, and for equal-cusp the best.
    pub direction_rad: Option<f64>,
    /// How the axis stands.
    pub axis: AxisRule,
    /// Largest spacing of contact lines along the surface, mm.
    pub stepover_mm: Option<f64>,
    /// Largest cusp, mm.
    pub cusp_mm: Option<f64>,
    /// How far a straight move may leave the contact line, mm; `None`: a tenth of the cusp,
    /// between 0.1 and 2 µm.
    pub chord_mm: Option<f64>,
    /// Stock that stays on the feature, mm.
    pub stock_left_mm: f64,
    /// Both ways or one.
    pub traverse: Traverse,
    /// Down or up milling, where passes run one way.
    pub cut: CutSide,
    /// Radius of leads and links, mm.
    pub lead_radius_mm: f64,
    /// Lift of retracts, mm.
    pub clearance_mm: f64,
    /// Feed.
    pub feed: Feed,
    /// Clamps and tables to keep clear of.
    pub fixtures: &'a [TriMesh],
}
