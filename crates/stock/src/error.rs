//! Why a stock cannot be made or cut.

/// What is wrong with a stock or a move, and what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StockError {
    /// A box with no inside, or a number that is not finite.
    #[error(
        "the stock's {axis} runs from {lo_mm} to {hi_mm} mm: give a higher end above the lower"
    )]
    Empty {
        /// Axis.
        axis: char,
        /// Lower end, mm.
        lo_mm: f64,
        /// Upper end, mm.
        hi_mm: f64,
    },
    /// A spacing that is not positive.
    #[error("the spacing of the columns is {spacing_mm} mm: give one above 0")]
    Spacing {
        /// Spacing, mm.
        spacing_mm: f64,
    },
    /// More columns than memory is set aside for.
    #[error("{columns:.3e} columns at {spacing_mm} mm: at most {most:.1e}; take a wider spacing")]
    TooFine {
        /// Columns asked for.
        columns: f64,
        /// Spacing, mm.
        spacing_mm: f64,
        /// Largest number.
        most: f64,
    },
    /// A pose that is not finite.
    #[error("position {index} of the path is not finite")]
    NotFinite {
        /// Its number from 0.
        index: usize,
    },
    /// Bytes that are no stock.
    #[error("byte {at}: expected {what}; save the stock again")]
    Bytes {
        /// Place of the fault.
        at: usize,
        /// What was expected.
        what: &'static str,
    },
}
