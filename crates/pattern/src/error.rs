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
    /// Lines at constant height on a chart alone: they are cut from the faces of a part.
    #[error(
        "lines at constant height need the faces of a part: choose parallel, spiral or equal-cusp"
    )]
    LevelsOfChart,
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
    /// Wherever the cutter would touch the feature it digs into the part.
    #[error(
        "the cutter reaches no place of the feature: where it would touch, for one at {at}, it cuts into the part: turn the set-up so that the feature opens upwards, or choose a smaller cutter"
    )]
    NotReached {
        /// A place of the feature.
        at: At,
    },
    /// No axis that may be taken is clear of part and fixtures.
    #[error("the {body} collides with the {with} near {at}{on} ({depth}), and {tried}: {remedy}", on = .on.map_or(String::new(), |(way, p)| of_pass(way, p)), depth = how_deep(*.depth_mm))]
    Collides {
        /// What collides.
        body: &'static str,
        /// With what.
        with: &'static str,
        /// Where.
        at: At,
        /// The way (pass, lead or rapid) and the pass, from 0, where it was found on one.
        on: Option<(&'static str, usize)>,
        /// How deep, mm; less than nothing where it only comes too near.
        depth_mm: f64,
        /// Which axes were tried.
        tried: AxisTried,
        /// What would do.
        remedy: String,
    },
}

/// Axes that were tried where none is clear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AxisTried {
    /// The fixed one alone.
    Fixed,
    /// The normal alone.
    Normal,
    /// Contact angles and leads, deg.
    Band {
        /// Smallest and largest contact angle.
        kappa_deg: (f64, f64),
        /// Smallest and largest lead.
        lead_deg: (f64, f64),
    },
}

impl fmt::Display for AxisTried {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            AxisTried::Fixed => write!(f, "a fixed axis is not moved"),
            AxisTried::Normal => write!(f, "an axis along the normal is not moved"),
            AxisTried::Band { kappa_deg: (lo, hi), lead_deg: (least, most) } => write!(
                f,
                "no axis within the usable band ({lo:.2}° to {hi:.2}°, lead {least:.0}° to {most:.0}°) is clear"
            ),
        }
    }
}

fn of_pass(way: &str, pass: usize) -> String {
    if way == "pass" { format!(" on pass {pass}") } else { format!(" on a {way} of pass {pass}") }
}

fn how_deep(depth_mm: f64) -> String {
    if depth_mm >= 0.0 {
        format!("{depth_mm:.3} mm deep")
    } else {
        format!("{:.3} mm away, too near", -depth_mm)
    }
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
        /// Lead asked for, deg.
        asked_lead_deg: f64,
        /// Lead used, deg.
        used_lead_deg: f64,
    },
    /// Passes whose axis was made to turn more slowly than its rule has it.
    AxisSteadied {
        /// How many.
        passes: usize,
        /// Where the rule turns it fastest.
        at: At,
        /// By how much there, deg.
        turn_deg: f64,
        /// Along what length of the contact line, mm.
        within_mm: f64,
    },
    /// The axis turns faster than rotary axes follow without slowing the feed.
    AxisTurnsFast {
        /// Where it turns fastest.
        at: At,
        /// By how much there, deg.
        turn_deg: f64,
        /// Along what length of the contact line, mm.
        within_mm: f64,
    },
    /// Leads that something stood in the way of.
    LeadsChanged {
        /// How many were shortened or turned.
        changed: usize,
        /// How many were left out, so that the cutter comes or goes along its axis.
        straight: usize,
    },
    /// Links that could not stay down because something stood in their way.
    LinksLifted {
        /// How many.
        links: usize,
    },
    /// Rapids that had to rise over the part.
    RapidsRise {
        /// Highest rise over the clearance asked for, mm.
        by_mm: f64,
    },
    /// The surface is a mesh, whose curvature is estimated.
    CurvatureEstimated {
        /// How far facets of the part lie from the surface that their corners expect, mm.
        deviation_mm: f64,
    },
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
            Warning::AxisMoved { asked_deg, used_deg, asked_lead_deg, used_lead_deg } => {
                let mut what = Vec::new();
                if asked_deg != used_deg {
                    what.push(format!(
                        "the contact angle was moved from {asked_deg:.2}° to {used_deg:.2}°"
                    ));
                }
                if asked_lead_deg != used_lead_deg {
                    what.push(format!(
                        "the lead was moved from {asked_lead_deg:.2}° to {used_lead_deg:.2}°"
                    ));
                }
                write!(f, "{} to stay clear of part and fixtures", what.join(", and "))
            }
            Warning::AxisSteadied { passes, at, turn_deg, within_mm } => write!(
                f,
                "on {passes} passes the axis was steadied: near {at} its rule turns it by {turn_deg:.2}° within {within_mm:.3} mm"
            ),
            Warning::AxisTurnsFast { at, turn_deg, within_mm } => write!(
                f,
                "near {at} the axis turns by {turn_deg:.2}° within {within_mm:.3} mm, which will slow the feed there or mark the surface"
            ),
            Warning::LeadsChanged { changed, straight } => {
                let mut what = Vec::new();
                if *changed > 0 {
                    what.push(format!("{changed} leads were shortened or turned to stay clear"));
                }
                if *straight > 0 {
                    what.push(format!(
                        "{straight} leads are left out: there the cutter comes or goes along its axis, which may leave a mark"
                    ));
                }
                write!(f, "{}", what.join("; "))
            }
            Warning::LinksLifted { links } => {
                write!(f, "{links} links retract: something stands in the way of staying down")
            }
            Warning::RapidsRise { by_mm } => {
                write!(
                    f,
                    "rapids rise {by_mm:.1} mm over the clearance asked for, to pass over the part"
                )
            }
            Warning::CurvatureEstimated { deviation_mm } => write!(
                f,
                "the feature is a mesh: curvature is estimated, and the cusp with it; between the corners of its facets, which lie off by up to {:.1} µm, the surface is the one that the corners expect",
                deviation_mm * 1e3
            ),
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
