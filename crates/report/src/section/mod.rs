//! The parts of the document in reading order.

pub(crate) mod answer;
pub(crate) mod audit;
pub(crate) mod basis;
pub(crate) mod cautions;
pub(crate) mod claims;
pub(crate) mod comparison;
pub(crate) mod load;
pub(crate) mod operation;
pub(crate) mod process;
pub(crate) mod rough;
