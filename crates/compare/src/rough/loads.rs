//! Where the cutter is in the cut along the path: arc of contact by depth, as slices for the loads.

use super::lay::Laid;
use crate::job::Prepared;
use crate::loads::{Engaged, HELIX_RAD, Station};
use mechanics::engagement::peripheral::{Arc, cylinder};
use mechanics::engagement::{Slice, lag_rad};
use std::f64::consts::{FRAC_PI_2, PI};
use study::Cut;

/// Places that stand for the path: each for the same length, the last for the hardest.
const STATIONS: usize = 12;
/// Rings of the rounding of a tip.
const RINGS: usize = 6;
/// Arcs below this do not cut, rad.
const CUTS_RAD: f64 = 1e-3;

/// A stretch of path in the cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stretch {
    pub(crate) length_mm: f64,
    pub(crate) arc_rad: f64,
    pub(crate) depth_mm: f64,
    /// Feed over that asked for.
    pub(crate) factor: f64,
}

/// Every move in the cut, in order; `feed_mm_s` is the feed asked for.
pub(crate) fn stretches(laid: &Laid, feed_mm_s: f64) -> Vec<Stretch> {
    let mut out = Vec::new();
    for ((run, arcs), depth) in laid.toolpath.runs.iter().zip(&laid.arcs).zip(&laid.depth_mm) {
        if arcs.is_empty() {
            continue;
        }
        for (i, w) in run.poses.windows(2).enumerate() {
            let arc_rad = arcs[i + 1].min(PI);
            if arc_rad > CUTS_RAD {
                out.push(Stretch {
                    length_mm: w[0].tip.distance(w[1].tip),
                    arc_rad,
                    depth_mm: *depth,
                    factor: run.tip_feed_mm_s[i] / feed_mm_s,
                });
            }
        }
    }
    out
}

/// The operation in the cut; `None` where it cuts nothing.
pub(crate) fn engaged(prepared: &Prepared<'_>, laid: &Laid) -> Option<Engaged> {
    let mut all = stretches(laid, prepared.feed_mm_s);
    all.sort_by(|a, b| a.arc_rad.total_cmp(&b.arc_rad));
    let whole: f64 = all.iter().map(|s| s.length_mm).sum();
    let mut stations = Vec::new();
    let mut gone = 0.0;
    for s in &all {
        gone += s.length_mm;
        // the middle of the next part of the length is passed
        if gone >= whole * (stations.len() as f64 + 0.5) / STATIONS as f64 {
            stations.push(*s);
        }
    }
    stations.pop();
    stations.push(*all.last()?);
    let climb = prepared.operation.cut == Cut::Down;
    let station =
        |s: &Stretch| Station::upright(slices(prepared, s.arc_rad, s.depth_mm), climb, s.factor);
    let teeth_s = f64::from(prepared.cutter.teeth) * prepared.rev_s;
    Some(Engaged {
        stations: stations.iter().map(station).collect(),
        first: Vec::new(),
        feed_per_tooth_mm: prepared.feed_mm_s / teeth_s,
    })
}

/// Slices of an upright cutter that holds an arc of contact at its full radius, by the material
/// ahead of a straight wall: narrower rings meet less of it.
pub(crate) fn slices(prepared: &Prepared<'_>, arc_rad: f64, depth_mm: f64) -> Vec<Slice> {
    let spec = &prepared.cutter.spec;
    let climb = prepared.operation.cut == Cut::Down;
    let radius = 0.5 * spec.diameter_mm;
    let helix = spec.helix_rad.unwrap_or(HELIX_RAD);
    let rounding = spec.corner_radius_mm.unwrap_or(0.0).min(radius);
    let side = |angle: f64| match climb {
        true => Arc { entry_rad: PI - angle, exit_rad: PI },
        false => Arc { entry_rad: 0.0, exit_rad: angle },
    };
    let mut out = Vec::new();
    let mut lag = 0.0;
    let step = FRAC_PI_2 / RINGS as f64;
    for k in 0..RINGS {
        let kappa_rad = (k as f64 + 0.5) * step;
        let z_mm = rounding * (1.0 - kappa_rad.cos());
        if rounding <= 0.0 || z_mm >= depth_mm {
            break;
        }
        let radius_mm = radius - rounding * (1.0 - kappa_rad.sin());
        let width_mm = rounding * step;
        let span = lag_rad(width_mm * kappa_rad.sin(), helix, radius_mm);
        let arc = side((radius * arc_rad.cos() / radius_mm).clamp(-1.0, 1.0).acos());
        out.push(Slice {
            z_mm,
            radius_mm,
            kappa_rad,
            width_mm,
            lag_rad: lag + 0.5 * span,
            lag_span_rad: span,
            entry_rad: arc.entry_rad,
            exit_rad: arc.exit_rad,
            entry_span_rad: 0.0,
            exit_span_rad: 0.0,
        });
        lag += span;
    }
    if depth_mm > rounding {
        let whole = cylinder(spec.diameter_mm, depth_mm - rounding, helix, side(arc_rad));
        out.push(Slice { z_mm: whole.z_mm + rounding, lag_rad: whole.lag_rad + lag, ..whole });
    }
    out
}
