//! Pictures as SVG: maps and passes in plan, savings by cause, claims with their intervals.

pub(crate) mod arc;
pub(crate) mod assembly;
pub(crate) mod axis;
pub(crate) mod feed;
pub(crate) mod feed_time;
pub(crate) mod interval;
pub(crate) mod limit_path;
pub(crate) mod load;
pub(crate) mod lobes;
pub(crate) mod plan;
pub(crate) mod raster;
pub(crate) mod scale;
pub(crate) mod split;
