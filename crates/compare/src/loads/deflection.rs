//! How far the cutter gives way, and what that leaves on the surface.
//!
//! The surface is made where an edge passes the contact: what counts there is the force of that instant,
//! by the height at which its parts act. Only the part of the give along the surface normal shows; the
//! axis is taken as stiff along itself.

use super::Engaged;
use super::engaged::Station;
use super::force::{Answering, Spread, Worst, cut};
use super::stiffness::{GROUND, Stiffness};
use crate::job::Prepared;
use crate::scene::Scene;
use material::ForceLaw;
use mechanics::deflection::{Beam, form_error_mm};
use mechanics::force::Revolution;
use rayon::prelude::*;
use study::outcome::{Load, LoadKind};
use units::Interval;
use units::convert::mm_to_um;

/// An operation with what it cuts.
pub(super) struct Place<'a> {
    pub(super) scene: &'a Scene<'a>,
    pub(super) prepared: &'a Prepared<'a>,
    pub(super) engaged: &'a Engaged,
}

impl Place<'_> {
    /// What is left on the surface at every station, µm: positive where the cutter is pushed off it.
    fn left_um(&self, law: &ForceLaw, beam: &Beam, at: [f64; 2]) -> Vec<f64> {
        self.engaged.stations.par_iter().map(|s| self.left_at_um(s, law, beam, at)).collect()
    }

    fn left_at_um(&self, station: &Station, law: &ForceLaw, beam: &Beam, at: [f64; 2]) -> f64 {
        let cut = cut(self.prepared, &station.slices, law, at);
        let (angle, lag) = station.contact();
        let forces = Revolution::new(&cut).across_by_height(angle + lag);
        let along_y = form_error_mm(beam, &forces, station.contact_z_mm());
        // the contact stands at +y (angle 0) or at −y: away from it leaves stock
        let away = if angle == 0.0 { -along_y } else { along_y };
        mm_to_um(away * station.kappa_rad.sin())
    }

    /// How far the cutter swings along the normal at a force across the axis, µm.
    fn swing_um(&self, force_n: f64, beam: &Beam) -> f64 {
        let z = self.engaged.contact_mm();
        let tilt = self.engaged.stations.iter().map(|s| s.kappa_rad.sin()).fold(0.0, f64::max);
        mm_to_um(force_n * tilt * beam.compliance_mm_n(z, z))
    }
}

fn largest(errors_um: &[f64]) -> f64 {
    errors_um.iter().fold(0.0, |m, v| m.max(v.abs()))
}

/// Along the surface normal, as the surface shows it: mean and largest over the operation, whatever the
/// sign, and the range of what is left.
pub(super) fn load(
    place: &Place<'_>,
    law: &ForceLaw,
    stiffness: &Result<Stiffness, String>,
    now: &Worst,
    spread: &Spread,
    worst_runout_mm: f64,
) -> Answering {
    let stiffness = match stiffness {
        Ok(stiffness) => stiffness,
        Err(why) => {
            let load = Load::missing(LoadKind::Deflection, why.clone());
            return Answering { load, at_twice: None, rms_at_twice: None };
        }
    };
    let operation = place.prepared.operation;
    let clears = operation.kind.clears();
    let limit = match clears {
        true => operation.roughing.stock_left_mm.filter(|mm| *mm > 0.0),
        false => place.scene.study.feature_of(operation).tolerance_mm,
    };
    let (feed, runout) =
        (place.engaged.feed_per_tooth_mm, place.prepared.cutter.runout_mm.unwrap_or(0.0));
    let best = place.left_um(law, &stiffness.best, [feed, runout]);
    let peak = largest(&best);
    let low = largest(&place.left_um(law, &stiffness.stiff, [feed, runout]));
    let high = largest(&place.left_um(law, &stiffness.soft, [feed, worst_runout_mm]));
    let twice = largest(&place.left_um(law, &stiffness.best, [2.0 * feed, runout]));
    let swing = place.swing_um(now.peaks.across_n, &stiffness.best);
    let of = match limit {
        _ if clears => "stock left on the walls",
        Some(_) => "form tolerance of the feature",
        None => "the feature has no tolerance_um",
    };
    Answering {
        load: Load {
            kind: LoadKind::Deflection,
            mean: Some(best.iter().map(|v| v.abs()).sum::<f64>() / best.len().max(1) as f64),
            peak: Some(peak),
            peak_range: Some(spread.range(low.min(peak), high.max(peak))),
            limit: limit.map(mm_to_um),
            limit_from: format!(
                "{of}; error along the normal where an edge makes the surface, at the largest force the \
                 cutter swings {swing:.1} µm; {GROUND}"
            ),
            rms: None,
            rms_limit: None,
            surface: Interval::hull(best),
            missing: None,
        },
        at_twice: Some(twice),
        rms_at_twice: None,
    }
}
