//! A feed that follows the load: nowhere is chip, force across the axis or torque above what the
//! hardest place asks for at the feed of the study.
//!
//! Power and deflection go with torque and force at the speed and stick-out of one operation. What
//! the axes can follow is the machine's to say: the time comes from the same planner.

use super::lay::Laid;
use super::loads::{slices, stretches};
use crate::job::Prepared;
use crate::loads::{Worst, worst_of};
use material::ForceLaw;
use rayon::prelude::*;
use std::f64::consts::{FRAC_PI_2, PI};

/// Arcs at which the load is computed; between them the feed is interpolated.
const ARCS: usize = 24;
/// Feed over that of the study at most: common practice, no source.
const MOST: f64 = 3.0;

/// Chords by which the feed at a limit is found.
const CHORDS: usize = 5;
/// Share of that feed that is used: covers what the last chord leaves open.
const SHORT_OF: f64 = 0.998;

/// Feed over that asked for, by arc of contact.
pub(crate) struct Schedule {
    factors: Vec<f64>,
}

impl Schedule {
    /// Of an operation; `None` where nothing is cut.
    pub(crate) fn new(prepared: &Prepared<'_>, laid: &Laid, law: &ForceLaw) -> Option<Self> {
        let all = stretches(laid, prepared.feed_mm_s);
        let hardest = all.iter().map(|s| s.arc_rad).reduce(f64::max)?;
        let depth = all.iter().map(|s| s.depth_mm).fold(0.0, f64::max);
        let teeth_s = f64::from(prepared.cutter.teeth) * prepared.rev_s;
        let feed = prepared.feed_mm_s / teeth_s;
        let runout = prepared.cutter.runout_mm.unwrap_or(0.0);
        let at = |arc: f64, feed: f64| {
            worst_of(prepared, &slices(prepared, arc, depth), law, [feed, runout])
        };
        let allowed = at(hardest, feed);
        let factors = (0..=ARCS).into_par_iter().map(|k| {
            let arc = (PI * k as f64 / ARCS as f64).max(1e-2);
            if arc >= hardest {
                return 1.0;
            }
            // forces bend downwards over the feed, so that chords from above come down to the limit
            let one = at(arc, feed);
            let mut factor = MOST.min(sine(hardest) / sine(arc));
            for _ in 0..CHORDS {
                let here = at(arc, factor * feed);
                let by = |pick: fn(&Worst) -> f64| {
                    let (load, most) = (pick(&here), pick(&allowed));
                    let share = (most - pick(&one)) / (load - pick(&one));
                    if load <= most { factor } else { 1.0 + (factor - 1.0) * share }
                };
                let less = by(|w| w.peaks.across_n).min(by(Worst::peak_torque_nm)).max(1.0);
                if less >= factor {
                    break;
                }
                factor = less;
            }
            (SHORT_OF * factor).max(1.0)
        });
        Some(Self { factors: factors.collect() })
    }

    /// The factor at an arc: the lower of its neighbours, so that no load is passed between them.
    fn at(&self, arc_rad: f64) -> f64 {
        let place = (arc_rad / PI * ARCS as f64).clamp(0.0, ARCS as f64);
        let (low, high) = (place.floor() as usize, place.ceil() as usize);
        self.factors[low].min(self.factors[high])
    }

    /// Puts the feed on the cuts of a path; returns the smallest and largest factor.
    pub(crate) fn apply(&self, laid: &mut Laid, feed_mm_s: f64) -> (f64, f64) {
        let mut ends = (f64::INFINITY, 0.0f64);
        for (run, arcs) in laid.toolpath.runs.iter_mut().zip(&laid.arcs) {
            if arcs.is_empty() {
                continue;
            }
            for (i, feed) in run.tip_feed_mm_s.iter_mut().enumerate() {
                let factor = self.at(arcs[i].max(arcs[i + 1]));
                ends = (ends.0.min(factor), ends.1.max(factor));
                *feed = factor * feed_mm_s;
            }
        }
        ends
    }
}

/// Largest chip over the feed per tooth.
fn sine(arc_rad: f64) -> f64 {
    arc_rad.min(FRAC_PI_2).sin()
}
