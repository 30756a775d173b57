//! The error that the cutter leaves on a wall by giving way: at every height of the edge that makes the
//! surface, from the force at the instant at which the edge passes it.
//!
//! Which heights make the surface: those of a straight flank that touch it, of a curved one those
//! within half a step-over of the contact.

use super::deflection::Place;
use super::engaged::Station;
use super::force::{Spread, cut};
use super::stiffness::{GROUND, Stiffness};
use material::ForceLaw;
use mechanics::deflection::Beam;
use mechanics::deflection::wall::{WallPoint, wall_errors};
use mechanics::engagement::Slice;
use mechanics::engagement::peripheral::Way;
use mechanics::force::{Cut, Revolution};
use rayon::prelude::*;
use study::OperationKind;
use study::outcome::FormError;
use units::Interval;
use units::convert::mm_to_um;

/// Angle between normal and axis from which a contact is one of the flank, rad.
const FLANK_RAD: f64 = 80.0 * std::f64::consts::PI / 180.0;
/// Slices whose angle differs by less lie on one straight flank, rad.
const STRAIGHT_RAD: f64 = 1e-6;
/// Heights that are looked at, at most and one more.
const HEIGHTS: usize = 12;

/// The form error of the operation; `None` where it makes no wall, or stiffness is not known.
pub(super) fn of(
    place: &Place<'_>,
    law: &ForceLaw,
    stiffness: Option<&Stiffness>,
    spread: &Spread,
    stepover_mm: f64,
) -> Option<FormError> {
    let stiffness = stiffness?;
    let wall = place.prepared.operation.kind == OperationKind::FinishWall;
    let walls = |s: &&Station| wall || s.kappa_rad >= FLANK_RAD;
    let stations: Vec<&Station> = place.engaged.stations.iter().filter(walls).collect();
    let runout = place.prepared.cutter.runout_mm.unwrap_or(0.0);
    let all = |beam: &Beam| -> Vec<Vec<[f64; 2]>> {
        let at = |s: &&Station| {
            let data = [place.engaged.feed_per_tooth_mm, runout];
            along_normal(s, &cut(place.prepared, &s.slices, law, data), beam, 0.5 * stepover_mm)
        };
        stations.par_iter().map(at).collect()
    };
    let best = all(&stiffness.best);
    let left = |found: &[Vec<[f64; 2]>]| Interval::hull(found.iter().flatten().map(|p| p[1]));
    let left_um = left(&best)?;
    let (soft, stiff) = (left(&all(&stiffness.soft))?, left(&all(&stiffness.stiff))?);
    let ends = [left_um, soft, stiff].into_iter().flat_map(|i| [i.low, i.high]);
    let range_um = Interval::hull(ends.flat_map(|e| {
        let range = spread.range(e, e);
        [range.low, range.high]
    }))?;
    let size = |of: &[[f64; 2]]| of.iter().fold(0.0_f64, |m, p| m.max(p[1].abs()));
    let by_height = best.iter().max_by(|a, b| size(a).total_cmp(&size(b)))?.clone();
    let limit = place.scene.study.feature_of(place.prepared.operation).tolerance_mm;
    Some(FormError {
        left_um,
        range_um,
        limit_um: limit.map(mm_to_um),
        by_height,
        rests_on: format!(
            "force as an edge passes the wall, by its height; static, far from resonance; {GROUND}"
        ),
    })
}

/// Height over the tip, mm, with what is left along the normal there, µm.
fn along_normal(station: &Station, cut: &Cut<'_>, beam: &Beam, reach_mm: f64) -> Vec<[f64; 2]> {
    let making = making(&station.slices, station.kappa_rad, reach_mm);
    let way = if station.contact().0 == 0.0 { Way::Up } else { Way::Down };
    let tilt = station.kappa_rad.sin();
    let shown = |p: WallPoint| [p.z_mm, mm_to_um(p.stock_left_mm * tilt)];
    points(&making, way, cut, beam).into_iter().map(shown).collect()
}

/// The error at the heights of some slices, across the feed.
fn points(making: &[&Slice], way: Way, cut: &Cut<'_>, beam: &Beam) -> Vec<WallPoint> {
    let revolution = Revolution::new(cut);
    let heights: Vec<f64> = making.iter().map(|s| s.z_mm).collect();
    let lag = |z_mm: f64| {
        let off = |s: &&&Slice| (s.z_mm - z_mm).abs();
        making.iter().min_by(|a, b| off(a).total_cmp(&off(b))).map_or(0.0, |s| s.lag_rad)
    };
    wall_errors(beam, way, &heights, lag, |angle| revolution.across_by_height(angle))
}

/// The slices that make the surface, thinned out.
fn making(slices: &[Slice], kappa_rad: f64, reach_mm: f64) -> Vec<&Slice> {
    // length along the profile at the middle of every ring: arcs of one ring stand at one height
    let mut lengths: Vec<f64> = Vec::with_capacity(slices.len());
    for (i, s) in slices.iter().enumerate() {
        let length = match i.checked_sub(1).map(|before| (&slices[before], lengths[before])) {
            None => 0.0,
            Some((before, length)) if before.z_mm == s.z_mm && before.radius_mm == s.radius_mm => {
                length
            }
            Some((before, length)) => length + 0.5 * (before.width_mm + s.width_mm),
        };
        lengths.push(length);
    }
    let off = |s: &Slice| (s.kappa_rad - kappa_rad).abs();
    let nearest = (0..slices.len()).min_by(|a, b| off(&slices[*a]).total_cmp(&off(&slices[*b])));
    let Some(nearest) = nearest else { return Vec::new() };
    let straight = off(&slices[nearest]) < STRAIGHT_RAD;
    let makes = |i: &usize| {
        *i == nearest
            || (straight && off(&slices[*i]) < STRAIGHT_RAD)
            || (!straight && (lengths[*i] - lengths[nearest]).abs() <= reach_mm)
    };
    let all: Vec<usize> = (0..slices.len()).filter(makes).collect();
    let step = all.len().div_ceil(HEIGHTS).max(1);
    let last = all.last().filter(|_| !(all.len() - 1).is_multiple_of(step));
    all.iter().step_by(step).chain(last).map(|i| &slices[*i]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use mechanics::chip::Runout;
    use mechanics::deflection::Clamping;
    use mechanics::engagement::lag_rad;
    use mechanics::engagement::peripheral::{Arc, cylinder};
    use mechanics::force::Coefficients;

    #[test]
    fn the_wall_shows_the_force_of_the_instant_that_makes_it() {
        // derived: N 3, D 12, helix 38°, ap 9, ae 2.4, fz 0.07, down; force across the feed as the edge
        // at z passes the wall, N; the cutter only shifts, so that the error is force over stiffness
        let right = [(1.5, 269.9264), (3.0, 202.9872), (4.5, 127.3729), (6.0, 69.2284)];
        let helix = 38f64.to_radians();
        let whole = cylinder(12.0, 9.0, helix, Arc::beside(12.0, 2.4, Way::Down).unwrap());
        let lag = |z: f64| lag_rad(z, helix, 6.0);
        let disc = |i: u32| {
            let z_mm = 0.02 * (f64::from(i) + 0.5);
            Slice { z_mm, width_mm: 0.02, lag_rad: lag(z_mm), lag_span_rad: lag(0.02), ..whole }
        };
        let slices: Vec<Slice> = (0..450).map(disc).collect();
        let law = Coefficients {
            ktc_n_mm2: 800.0,
            krc_n_mm2: 260.0,
            kac_n_mm2: 120.0,
            kte_n_mm: 12.0,
            kre_n_mm: 15.0,
            kae_n_mm: 2.0,
        };
        let cut = Cut {
            slices: &slices,
            teeth: 3,
            feed_per_tooth_mm: 0.07,
            law: law.into(),
            runout: Runout::default(),
            axial_feed_mm: 0.0,
            breaker: None,
        };
        let clamping = Some(Clamping { shift_n_mm: 20_000.0, tilt_n_mm_rad: 1e30 });
        let beam = Beam { clamping, ..Beam::stepped(12.0, 1.0, 26.0, 12.0, 45.0, f64::MAX.sqrt()) };
        let all: Vec<&Slice> = slices.iter().collect();
        let found = points(&all, Way::Down, &cut, &beam);
        for (z, force) in right {
            let near =
                found.iter().min_by(|a, b| (a.z_mm - z).abs().total_cmp(&(b.z_mm - z).abs()));
            // half a disc off, and half of it already through the wall: 2 %
            let error = near.unwrap().stock_left_mm * 20_000.0 / force - 1.0;
            assert!(error.abs() < 0.02, "{z} mm: {error}");
        }
        // a straight flank makes the wall over all its height, a curved one near its contact
        let flank = making(&slices, whole.kappa_rad, 0.1);
        assert!(flank.len() <= HEIGHTS + 1 && flank[flank.len() - 1].z_mm > 8.9);
        let bent = |s: &Slice| Slice { kappa_rad: 1.3 + 0.02 * s.z_mm, ..*s };
        let bent: Vec<Slice> = slices.iter().map(bent).collect();
        let near = making(&bent, 1.3 + 0.02 * 4.5, 0.1);
        assert!(near.iter().all(|s| (s.z_mm - 4.5).abs() < 0.121), "{near:?}");
        assert!(near.len() > 3);
    }
}
