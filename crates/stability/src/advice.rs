//! How an operation stands against chatter, and the nearest speed at which it stands well.

use crate::cut::Cut;
use crate::limit::{LimitError, Method, limits};
use crate::response::Structure;
use crate::sampled::Sampled;
use std::cmp::Ordering;
use units::{Interval, RangeCheck};

/// Waves of chatter between two teeth up to which the models hold; with more, rubbing of the flank
/// damps what they call unstable, and more so with wear. Common practice, no source.
pub const MODELLED_WAVES: f64 = 10.0;
/// Speeds that are looked at.
const SPEEDS: usize = 240;
/// How much deeper than the cut a speed must go by the mean matrix to be looked at closely.
const WORTH: f64 = 1.05;
/// Speeds that are looked at closely.
const CLOSELY: usize = 8;

/// An operation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Operation {
    /// Depth of cut along the axis, mm.
    pub depth_mm: f64,
    /// Spindle speed, rev/min.
    pub speed_rpm: f64,
    /// Speeds that spindle, cutter and holder allow, rev/min.
    pub allowed_rpm: Interval,
    /// Probability with which the cut shall stay free of chatter.
    pub probability: f64,
    /// Depth beyond which a cut counts as free of chatter, mm.
    pub deepest_mm: f64,
}

/// A speed and the depth that it takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Speed {
    /// Spindle speed, rev/min.
    pub speed_rpm: f64,
    /// Depth that stays free of chatter with the probability asked for, mm; the deepest looked at
    /// where none chatters.
    pub depth_mm: f64,
}

/// How it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Depth that stays free of chatter with the probability asked for, mm; `None`: none looked at
    /// chatters.
    pub depth_mm: Option<f64>,
    /// That depth over the depth of the operation.
    pub margin: Option<f64>,
    /// Limit at the best values, mm.
    pub best_mm: Option<f64>,
    /// Waves of chatter between two teeth; more than [`MODELLED_WAVES`] is not modelled.
    pub waves: Option<f64>,
    /// The nearest speed that takes the depth with the probability asked for; `None` where the
    /// operation's own does, or none does.
    pub better: Option<Speed>,
}

impl Standing {
    /// Whether the speed is one at which the model holds.
    pub fn modelled(&self) -> bool {
        self.waves.is_none_or(|w| w <= MODELLED_WAVES)
    }
}

/// How an operation stands.
///
/// `sampled` are draws around `structure` and `cut`. The operation's own speed is judged with the full
/// time variation. Other speeds are sifted by the mean matrix; the nearest are judged in full. Speeds
/// at which the model does not hold are not proposed.
///
/// # Errors
/// A value out of range, nothing gives way, or an axis without modes.
pub fn standing(
    structure: &Structure,
    cut: &Cut,
    sampled: &Sampled,
    operation: &Operation,
) -> Result<Standing, LimitError> {
    operation.depth_mm.positive("depth of cut")?;
    operation.allowed_rpm.low.positive("slowest speed")?;
    let (full, deepest) = (Method::SemiDiscretisation, operation.deepest_mm);
    let own = [operation.speed_rpm];
    let best = limits(structure, cut, &own, full, deepest)?[0];
    let depth_mm = sampled.depths_mm(&own, operation.probability, full, deepest)?[0];
    let waves = best.map(|l| l.chatter_hz * cut.tooth_period_s(operation.speed_rpm));
    let margin = depth_mm.map(|d| d / operation.depth_mm);
    let short = margin.is_some_and(|m| m < 1.0);
    let better = if short { better(structure, cut, sampled, operation)? } else { None };
    Ok(Standing { depth_mm, margin, best_mm: best.map(|l| l.depth_mm), waves, better })
}

fn better(
    structure: &Structure,
    cut: &Cut,
    sampled: &Sampled,
    operation: &Operation,
) -> Result<Option<Speed>, LimitError> {
    let Interval { low, high } = operation.allowed_rpm;
    let at = |i: usize| low * (high / low).powf(i as f64 / (SPEEDS - 1) as f64);
    let speeds: Vec<f64> = (0..SPEEDS).map(at).collect();
    let deepest = operation.deepest_mm;
    let mean = Method::ZerothOrder;
    let sifted = sampled.depths_mm(&speeds, operation.probability, mean, deepest)?;
    let best = limits(structure, cut, &speeds, mean, deepest)?;
    let modelled = |i: &usize| {
        best[*i].is_none_or(|l| l.chatter_hz * cut.tooth_period_s(speeds[*i]) <= MODELLED_WAVES)
    };
    let deep = |i: &usize| sifted[*i].is_none_or(|d| d > WORTH * operation.depth_mm);
    let away = |i: &usize| (speeds[*i] / operation.speed_rpm).ln().abs();
    let mut worth: Vec<usize> = (0..SPEEDS).filter(|i| deep(i) && modelled(i)).collect();
    worth.sort_by(|a, b| away(a).partial_cmp(&away(b)).unwrap_or(Ordering::Equal));
    // a speed in the middle of its pocket stands better than one at its flank: of neighbours the
    // nearest comes first, so look on at steps
    let step = worth.len().div_ceil(CLOSELY).max(1);
    for i in worth.into_iter().step_by(step) {
        let full = Method::SemiDiscretisation;
        let depth = sampled.depths_mm(&[speeds[i]], operation.probability, full, deepest)?[0];
        if depth.is_none_or(|d| d >= operation.depth_mm) {
            let depth_mm = depth.unwrap_or(deepest);
            return Ok(Some(Speed { speed_rpm: speeds[i], depth_mm }));
        }
    }
    Ok(None)
}
