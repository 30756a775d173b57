//! From an operation of the study to the job that lays its passes.

use cutter::Assembly;
use geom::{Mat3, TriMesh, Vec3};
use machine::Mounting;
use part::Part;
use pattern::{CutSide, FaceJob, Frame, LeanSide};
use study::{
    AxisRule, Cut, Feed, FeedAt, Lean, Operation, Pattern, Spacing, Speed, Study, Traverse,
};

/// What an operation comes down to before its passes are laid.
#[derive(Debug, Clone)]
pub(crate) struct Prepared<'a> {
    /// The operation.
    pub(crate) operation: &'a Operation,
    /// Its cutter as the study gives it.
    pub(crate) cutter: &'a study::StudyCutter,
    /// The same in its holder.
    pub(crate) assembly: Assembly,
    /// Faces of the feature.
    pub(crate) faces: Vec<usize>,
    /// Spindle speed, rev/s.
    pub(crate) rev_s: f64,
    /// Feed asked for, mm/s.
    pub(crate) feed_mm_s: f64,
}

/// How the part stands, in the part's own frame.
pub(crate) fn frame(study: &Study) -> Frame {
    let back = rotation(study).transpose();
    Frame { x: back * Vec3::X, y: back * Vec3::Y, up: back * Vec3::Z }
}

/// Where the part stands on the machine, with a tool of that length from the spindle nose to the tip.
pub(crate) fn mounting(study: &Study, tool_length_mm: f64) -> Mounting {
    Mounting { origin_mm: study.setup.origin_mm, rotation: rotation(study), tool_length_mm }
}

fn rotation(study: &Study) -> Mat3 {
    let turn = study.setup.rotation_rad;
    Mat3::from_rotation_z(turn.z) * Mat3::from_rotation_y(turn.y) * Mat3::from_rotation_x(turn.x)
}

/// Spindle speed, rev/s: as given, or from the cutting speed at the largest radius in the cut.
pub(crate) fn rev_s(operation: &Operation, assembly: &Assembly, kappa_rad: f64) -> f64 {
    match operation.speed {
        Speed::Spindle { rev_s } => rev_s,
        Speed::Cutting { mm_s } => {
            let profile = assembly.cutter.profile();
            let radius_mm = profile.layer_radius_mm(kappa_rad, operation.allowance_mm);
            mm_s / (std::f64::consts::TAU * radius_mm)
        }
    }
}

/// Feed asked for, mm/s.
pub(crate) fn feed_mm_s(operation: &Operation, teeth: u32, rev_s: f64) -> f64 {
    match operation.feed {
        Feed::PerTooth { mm } => mm * f64::from(teeth) * rev_s,
        Feed::Rate { mm_s } => mm_s,
    }
}

/// The angle between axis and normal that decides the cutting speed, rad: as asked for, or for a
/// standing axis the steepest place of the feature.
pub(crate) fn expected_kappa_rad(
    operation: &Operation,
    assembly: &Assembly,
    part: &Part,
    faces: &[usize],
    up: Vec3,
) -> f64 {
    match operation.axis {
        AxisRule::Normal => 0.0,
        AxisRule::Tilted { kappa_rad, .. } => {
            kappa_rad.unwrap_or_else(|| assembly.cutter.default_kappa_rad())
        }
        AxisRule::Fixed => steepest_rad(part, faces, up),
    }
}

fn steepest_rad(part: &Part, faces: &[usize], up: Vec3) -> f64 {
    let mesh = &part.mesh;
    let of_feature =
        (0..mesh.triangles.len()).filter(|t| faces.contains(&(mesh.face_of[*t] as usize)));
    of_feature
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            let normal = (b - a).cross(c - a);
            normal.cross(up).length().atan2(normal.dot(up))
        })
        .fold(0.0, f64::max)
        .min(std::f64::consts::FRAC_PI_2)
}

/// The job itself; `feed_mm_s` overrides the operation's own feed.
pub(crate) fn face_job<'a>(
    study: &Study,
    part: &'a Part,
    prepared: &'a Prepared<'a>,
    fixtures: &'a [TriMesh],
    feed_mm_s: f64,
) -> FaceJob<'a> {
    let operation = prepared.operation;
    let (stepover_mm, cusp_mm) = match operation.spacing {
        Some(Spacing::Stepover { mm }) => (Some(mm), None),
        Some(Spacing::Cusp { mm }) => (None, Some(mm)),
        None => (None, None),
    };
    let along_best = operation.pattern == Pattern::EqualCusp && operation.direction_rad == 0.0;
    FaceJob {
        part,
        faces: &prepared.faces,
        frame: frame(study),
        assembly: &prepared.assembly,
        pattern: pattern_of(operation.pattern),
        direction_rad: (!along_best).then_some(operation.direction_rad),
        axis: axis_of(operation),
        stepover_mm,
        cusp_mm,
        chord_mm: operation.chord_mm,
        stock_left_mm: operation.roughing.stock_left_mm.unwrap_or(0.0),
        traverse: match operation.traverse {
            Traverse::BothWays => pattern::Traverse::BothWays,
            Traverse::OneWay => pattern::Traverse::OneWay,
        },
        cut: match operation.cut {
            Cut::Down => CutSide::Down,
            Cut::Up => CutSide::Up,
        },
        lead_radius_mm: operation.lead_radius_mm,
        clearance_mm: operation.clearance_mm,
        feed: match operation.feed_at {
            FeedAt::Contact => pattern::Feed::AtContact(feed_mm_s),
            FeedAt::Tip => pattern::Feed::AtTip(feed_mm_s),
        },
        fixtures,
    }
}

fn axis_of(operation: &Operation) -> pattern::AxisRule {
    match operation.axis {
        AxisRule::Fixed => pattern::AxisRule::Fixed,
        AxisRule::Normal => pattern::AxisRule::Normal,
        AxisRule::Tilted { kappa_rad, lean } => pattern::AxisRule::Tilted {
            kappa_rad,
            lead_rad: operation.lead_rad,
            lean: match lean {
                Lean::Left => LeanSide::Left,
                Lean::Right => LeanSide::Right,
                Lean::Auto => LeanSide::Auto,
            },
        },
    }
}

fn pattern_of(pattern: Pattern) -> pattern::Pattern {
    match pattern {
        Pattern::Parallel => pattern::Pattern::Parallel,
        Pattern::AlongU => pattern::Pattern::AlongU,
        Pattern::AlongV => pattern::Pattern::AlongV,
        Pattern::Spiral => pattern::Pattern::Spiral,
        Pattern::Level => pattern::Pattern::Level,
        Pattern::EqualCusp => pattern::Pattern::EqualCusp,
    }
}
