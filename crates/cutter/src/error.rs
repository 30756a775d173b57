//! Why a cutter is impossible, and why it does not touch.

use thiserror::Error;
use units::OutOfRange;

/// Why a cutter cannot exist, with what was expected.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum CutterError {
    /// A number outside its range.
    #[error(transparent)]
    Range(#[from] OutOfRange),
    /// A number that the form needs is not given.
    #[error("a {form} cutter needs {quantity}")]
    Missing {
        /// The form's name.
        form: &'static str,
        /// The key that is missing.
        quantity: &'static str,
    },
    /// A number that the form has no use for.
    #[error("a {form} cutter has no {quantity}; leave it out or choose another form")]
    Unused {
        /// The form's name.
        form: &'static str,
        /// The key that is not used.
        quantity: &'static str,
    },
    /// A length so large that another unit must have been meant.
    #[error(
        "{quantity} is {value_mm} mm, expected at most {largest_mm} mm; was another unit meant (µm, inches)?"
    )]
    UnitsMistaken {
        /// The key.
        quantity: &'static str,
        /// Its value, mm.
        value_mm: f64,
        /// The largest plausible value, mm.
        largest_mm: f64,
    },
    /// A corner that the diameter has no room for.
    #[error(
        "corner_radius_mm is {corner_radius_mm}, expected at most {largest_mm}: the corner must fit {why}"
    )]
    CornerTooLarge {
        /// Corner radius, mm.
        corner_radius_mm: f64,
        /// Largest that fits, mm.
        largest_mm: f64,
        /// What it must fit into.
        why: &'static str,
    },
    /// A flank or bottom arc that does not reach from its corner to where it must end.
    #[error("the arc of arc_radius_mm = {arc_radius_mm} does not meet the shank: {why}")]
    ArcDoesNotMeetShank {
        /// Arc radius, mm.
        arc_radius_mm: f64,
        /// What stands in the way and what would help.
        why: String,
    },
    /// Flutes that end before the arc begins.
    #[error("flute_length_mm is {flute_length_mm}, expected more than {needed_mm}: {why}")]
    FlutesTooShort {
        /// Flute length, mm.
        flute_length_mm: f64,
        /// Where the needed part begins, mm above the tip.
        needed_mm: f64,
        /// What does not fit.
        why: &'static str,
    },
    /// Two lengths in the wrong order.
    #[error(
        "{shorter} is {shorter_mm} and {longer} is {longer_mm}, expected {shorter} to be at most {longer}: {why}"
    )]
    Order {
        /// The key that must be the smaller.
        shorter: &'static str,
        /// Its value, mm.
        shorter_mm: f64,
        /// The key that must be the larger.
        longer: &'static str,
        /// Its value, mm.
        longer_mm: f64,
        /// The reason.
        why: &'static str,
    },
    /// A whole number outside its range.
    #[error("teeth is {teeth}, expected a whole number from 1 to 100")]
    Teeth {
        /// Value given.
        teeth: u32,
    },
}

/// Why a profile does not touch at an angle.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum NoContact {
    /// The angle lies off the main arc.
    #[error("kappa is {:.4}°, expected {:.4}° to {:.4}°: the arc does not reach it", kappa_rad.to_degrees(), lo_rad.to_degrees(), hi_rad.to_degrees())]
    OffTheArc {
        /// Angle asked for, rad.
        kappa_rad: f64,
        /// Lower end of the arc, rad.
        lo_rad: f64,
        /// Upper end of the arc, rad.
        hi_rad: f64,
    },
    /// The angle lies off the whole profile.
    #[error("kappa is {:.4}°, expected 0° to {:.4}°: the cutting part does not reach it", kappa_rad.to_degrees(), hi_rad.to_degrees())]
    OffTheProfile {
        /// Angle asked for, rad.
        kappa_rad: f64,
        /// Largest angle that the profile has, rad.
        hi_rad: f64,
    },
    /// The form has no arc.
    #[error("this form has no arc that could touch at kappa {:.4}°", kappa_rad.to_degrees())]
    NoArc {
        /// Angle asked for, rad.
        kappa_rad: f64,
    },
}
