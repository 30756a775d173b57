//! Why a level cannot be cleared.

/// What is wrong with a job, and what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ClearingError {
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
    /// Nothing to clear.
    #[error(
        "no stock stands where it may be cut: this level is clear already, or inside and stock are not in the same frame"
    )]
    Nothing,
    /// No position at which the cutter fits.
    #[error(
        "a cutter of {diameter_mm:.3} mm fits nowhere in the shape: the widest place takes one of {would_do_mm:.3} mm"
    )]
    TooWide {
        /// Diameter of the cutter, mm.
        diameter_mm: f64,
        /// Largest diameter that fits, mm.
        would_do_mm: f64,
    },
    /// The cutter fits, but none of the ways in has room.
    #[error(
        "no way in for a cutter of {diameter_mm:.3} mm: {wanted}; allow a plunge or a shorter ramp, {}",
        or_smaller(*would_do_mm)
    )]
    NoEntry {
        /// Diameter of the cutter, mm.
        diameter_mm: f64,
        /// The ways in that were allowed.
        wanted: String,
        /// Largest diameter for which a way in would have room, mm; 0 where none is known.
        would_do_mm: f64,
    },
    /// No clear ground from which the walls can be reached.
    #[error(
        "stock stands wherever a cutter of {diameter_mm:.3} mm could go down beside the walls: rough it before"
    )]
    Full {
        /// Diameter of the cutter, mm.
        diameter_mm: f64,
    },
    /// A level too large for its cutter.
    #[error(
        "the level spans {span_mm:.0} mm, {ratio:.0} times the cutter's radius: at most {most:.0} times; take a larger cutter or split the level"
    )]
    TooLarge {
        /// Longer side, mm.
        span_mm: f64,
        /// Sides over the radius.
        ratio: f64,
        /// Most that is taken.
        most: f64,
    },
}

fn or_smaller(would_do_mm: f64) -> String {
    match would_do_mm > 0.0 {
        true => format!("open a side, or take a cutter of {would_do_mm:.3} mm at most"),
        false => "or open a side".into(),
    }
}
