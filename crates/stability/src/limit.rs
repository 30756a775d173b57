//! The limit of stability at a speed, by either method.

use crate::cut::Cut;
use crate::response::Structure;
use crate::{semi, zeroth};
use rayon::prelude::*;
use units::{OutOfRange, RangeCheck};

/// How stability is lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A frequency beside those of the teeth: a multiplier leaves at e^(±iθ).
    Hopf,
    /// Every second tooth cuts alike: a multiplier leaves at −1.
    Flip,
}

/// The least depth that chatters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Depth, mm.
    pub depth_mm: f64,
    /// Strongest frequency of the chatter, Hz.
    pub chatter_hz: f64,
    /// How stability is lost; the mean matrix alone knows only Hopf.
    pub kind: Kind,
}

/// How the limit is computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Method {
    /// The mean of the directional matrix over a revolution; one frequency.
    #[default]
    ZerothOrder,
    /// The matrix as it varies while a tooth cuts; many frequencies.
    SemiDiscretisation,
}

/// Why no limit can be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LimitError {
    /// A value is out of range.
    #[error(transparent)]
    Range(#[from] OutOfRange),
    /// Nothing gives way.
    #[error(
        "both axes are rigid, so that nothing can chatter; expected at least one mode: give one for x or y"
    )]
    Rigid,
    /// The method needs modes.
    #[error(
        "axis {axis} is a measured response, expected modes for semi-discretisation; fit modes to it, or use the \
         zeroth order"
    )]
    NeedsModes {
        /// `x` or `y`.
        axis: &'static str,
    },
}

/// Range of speeds that is taken, rev/min.
const SLOWEST_RPM: f64 = 1.0;
const FASTEST_RPM: f64 = 1e6;

/// The limit at each speed; `None` where no depth up to `deepest_mm` chatters.
///
/// The speeds are worked on in parallel; the result is the same for any number of threads.
///
/// # Errors
/// A speed or the depth is out of range, nothing gives way, or the method needs modes that are not
/// there.
pub fn limits(
    structure: &Structure,
    cut: &Cut,
    speeds_rpm: &[f64],
    method: Method,
    deepest_mm: f64,
) -> Result<Vec<Option<Limit>>, LimitError> {
    deepest_mm.positive("deepest cut")?;
    for speed in speeds_rpm {
        speed.within("spindle speed", SLOWEST_RPM, FASTEST_RPM)?;
    }
    if structure.is_rigid() {
        return Err(LimitError::Rigid);
    }
    let within = |limit: &Limit| limit.depth_mm <= deepest_mm;
    match method {
        Method::ZerothOrder => {
            let Some(slowest) = speeds_rpm.iter().copied().reduce(f64::min) else {
                return Ok(Vec::new());
            };
            let fastest = speeds_rpm.iter().copied().fold(slowest, f64::max);
            let chart = zeroth::Chart::new(structure, cut, slowest, fastest);
            Ok(speeds_rpm.par_iter().map(|n| chart.limit(*n).filter(within)).collect())
        }
        Method::SemiDiscretisation => {
            let modal = semi::Modal::new(structure)?;
            let at = |n: &f64| semi::limit(&modal, cut, *n, deepest_mm);
            Ok(speeds_rpm.par_iter().map(at).collect())
        }
    }
}
