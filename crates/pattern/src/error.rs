//! Why passes cannot be laid, and what a person should know about passes that can.

use std::fmt;

use geom::Vec3;

/// A place, for messages.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct At(pub Vec3);

impl fmt::Display for At {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "({:.2}, {:.2}, {:.2})", self.0.x, self.0.y, self.0.z)
    }
}

/// Passes that cannot be laid.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PatternError {
    /// A number that makes no sense.
    #[error("{quantity} is {value}: expected {expected}")]
    Input {
        /// What it is.
        quantity: &'static str,
        /// What was given.
        value: f64,
        /// What would do.
        expected: &'static str,
    },
    /// Neither step-over nor cusp, so that nothing says how dense the passes lie.
    #[error(
        "neither stepover_mm nor cusp_um is given: one of them must say how dense the passes lie"
    )]
    NoDensity,
    /// A face number that the part does not have.
    #[error("the part has no face {face}: it has faces 0 to {last}")]
    NoSuchFace {
        /// The number asked for.
        face: usize,
        /// The largest there is.
        last: usize,
    },
    /// Nothing of the feature is seen from above.
    #[error(
        "no part of the feature faces +Z of the set-up: turn the set-up, or choose along-u or along-v, which need no view from above"
    )]
    NothingSeen,
    /// A pattern along a surface's parameters on several faces or on a mesh.
    #[error("a pattern along u or v needs one face with an exact surface, but the feature has {faces} faces{without}: choose parallel, level, spiral or equal-cusp", without = if *.exact { "" } else { " and no exact surface" })]
    NoParameters {
        /// Faces of the feature.
        faces: usize,
        /// Whether they have exact surfaces.
        exact: bool,
    },
    /// The cutter does not touch as asked.
    #[error(
        "at {at} the normal makes {kappa_deg:.3}° with the axis, but the cutter's arc takes {lo_deg:.3}° to {hi_deg:.3}°: lean the axis differently (kappa_deg, lead_deg, lean), or choose a cutter whose arc reaches"
    )]
    OffTheArc {
        /// Where.
        at: At,
        /// Angle needed.
        kappa_deg: f64,
        /// Smallest angle.
        lo_deg: f64,
        /// Largest angle.
        hi_deg: f64,
    },
    /// A lead that is larger than the contact angle.
    #[error(
        "a lead of {lead_deg:.3}° leaves no lean at a contact angle of {kappa_deg:.3}°: the lead must be smaller than kappa_deg"
    )]
    LeadTooLarge {
        /// The lead.
        lead_deg: f64,
        /// The contact angle.
        kappa_deg: f64,
    },
    /// The cutter is less curved than the hollow it should touch.
    #[error(
        "at {at} the cutter gouges beside its contact: the surface rises with a radius of {surface_radius_mm:.3} mm across the lean, so an arc of at most {largest_arc_mm:.3} mm fits there"
    )]
    Gouges {
        /// Where.
        at: At,
        /// Radius of the hollow along the cutter's profile, mm.
        surface_radius_mm: f64,
        /// Largest arc that fits, mm.
        largest_arc_mm: f64,
    },
    /// A step-over wider than the arc can hold.
    #[error(
        "a step-over of {stepover_mm:.4} mm is too wide at {at}: with {side_mm:.4} mm of the arc left beside the contact its peak would be cut by the next element; at most {widest_mm:.4} mm is possible there"
    )]
    BandTooShort {
        /// Where.
        at: At,
        /// Asked for, mm.
        stepover_mm: f64,
        /// Arc left, mm.
        side_mm: f64,
        /// Largest step-over there, mm.
        widest_mm: f64,
    },
    /// More passes than anybody wants.
    #[error("the step-over asked for would take {passes:.0} passes: check its unit")]
    TooManyPasses {
        /// How many.
        passes: f64,
    },
    /// Nothing to lay passes on after trimming.
    #[error("no pass lies on the feature: it is narrower than the step can resolve")]
    NoPass,
    /// No axis within the usable band is clear of the part.
    #[error("the {body} collides near {at}{on} ({depth_mm:.3} mm deep), and no axis within the usable band ({lo_deg:.2}° to {hi_deg:.2}°) is clear: {remedy}", on = .pass.map_or(String::new(), |p| format!(" on pass {p}")))]
    Collides {
        /// What collides.
        body: &'static str,
        /// Where.
        at: At,
        /// The pass, from 0, where it was found on one.
        pass: Option<usize>,
        /// How deep, mm.
        depth_mm: f64,
        /// Smallest angle that was tried, deg.
        lo_deg: f64,
        /// Largest angle that was tried, deg.
        hi_deg: f64,
        /// What would do.
        remedy: String,
    },
}

/// Something a person should know about the passes.
#[derive(Debug, Clone, PartialEq)]
pub enum Warning {
    /// Part of the feature is not seen from above and gets no pass.
    NotSeen {
        /// Its area, mm².
        area_mm2: f64,
    },
    /// Levels lie far apart where the face is flat.
    FlatForLevels {
        /// Smallest slope, deg.
        slope_deg: f64,
    },
    /// The axis was moved from what was asked for, to stay clear.
    AxisMoved {
        /// Contact angle asked for, deg.
        asked_deg: f64,
        /// Contact angle used, deg.
        used_deg: f64,
    },
    /// Rapids that had to rise over the part.
    RapidsRise {
        /// Highest rise over the clearance asked for, mm.
        by_mm: f64,
    },
    /// The surface is a mesh, whose curvature is estimated.
    CurvatureEstimated,
    /// Moves whose clearance was searched without finding anything, but not proven.
    NotProven {
        /// How many.
        moves: usize,
    },
    /// Where lines turn sharply they lie farther apart than the step allowed.
    WiderAtTurns {
        /// Widest spacing over what is allowed there.
        times: f64,
        /// Share of the places measured.
        share: f64,
    },
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Warning::NotSeen { area_mm2 } => write!(
                f,
                "{area_mm2:.1} mm² of the feature is not seen from +Z of the set-up and gets no pass"
            ),
            Warning::FlatForLevels { slope_deg } => write!(
                f,
                "the feature is as flat as {slope_deg:.1}°, where levels lie far apart: another pattern is shorter"
            ),
            Warning::AxisMoved { asked_deg, used_deg } => write!(
                f,
                "the contact angle was moved from {asked_deg:.2}° to {used_deg:.2}° to stay clear of the part"
            ),
            Warning::RapidsRise { by_mm } => {
                write!(
                    f,
                    "rapids rise {by_mm:.1} mm over the clearance asked for, to pass over the part"
                )
            }
            Warning::CurvatureEstimated => {
                write!(f, "the feature is a mesh: curvature is estimated, and the cusp with it")
            }
            Warning::NotProven { moves } => write!(
                f,
                "nothing was found in the way of {moves} moves, but that they are clear could not be proven"
            ),
            Warning::WiderAtTurns { times, share } => write!(
                f,
                "in {:.1} % of the places passes lie up to {times:.2} times the step allowed apart, where fronts of the pattern meet or fade",
                share * 100.0
            ),
        }
    }
}
