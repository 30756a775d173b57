//! Neck, shank and holder against what is left of the stock.

use crate::columns::{Columns, Met};
use crate::line::Sweep;
use cutter::{Assembly, BodyKind};
use geom::Vec3;

/// A body behind the flutes that meets the stock on a move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Collision {
    /// Which body.
    pub kind: BodyKind,
    /// How much and where.
    pub met: Met,
}

/// Bodies behind the flutes that meet the stock on a straight move with a steady axis (unit), from
/// below; cut the move first, so that what the flutes clear does not count.
pub fn collisions(
    stock: &Columns,
    tool: &Assembly,
    (from, to): (Vec3, Vec3),
    axis: Vec3,
) -> Vec<Collision> {
    let met = |body: &cutter::Body| {
        let sweep = Sweep { body: body.kernel(), from, to, axis };
        let reach = body.z_hi_mm.hypot(body.r_lo_mm.max(body.r_hi_mm));
        let met = stock.met(&sweep, reach)?;
        (met.longest_mm > geom::tolerance::COINCIDENT_MM * 10.0)
            .then_some(Collision { kind: body.kind, met })
    };
    tool.bodies.iter().filter_map(met).collect()
}
