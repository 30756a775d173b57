//! What would do where no axis is clear: the largest arc that would, or something else.

use clearance::Obstacle;
use clearance::fitting::{Station, largest_fitting_arc};
use cutter::{Assembly, Cutter, CutterSpec};

use crate::choose::{ROOM_MM, band, other, pose};
use crate::clear::{only_touches, room_at_mm};
use crate::stance::{Rule, Stance};

/// Contact angles over the usable band at which another arc is tried.
const ANGLES: usize = 5;
/// Stations at which another arc must be free of the surface beside its contact.
const SURVEYED: usize = 200;

/// The largest arc that is free beside its contact all over the stations, at its own middle.
pub(crate) fn largest_arc(stations: &[Station], stance: &Stance<'_>) -> Option<f64> {
    let free = |cutter: &Cutter| {
        let stance = with_cutter(stance, cutter);
        stations.iter().all(|s| is_free(&stance, s))
    };
    largest_fitting_arc(stance.cutter.spec(), free).ok().map(|fit| fit.arc_radius_mm)
}

/// The same rule for another cutter: a contact angle of the arc becomes the middle of its own.
fn with_cutter<'c>(stance: &Stance<'_>, cutter: &'c Cutter) -> Stance<'c> {
    let rule = match stance.rule {
        Rule::Tilted { lead_rad, side, .. } => {
            Rule::Tilted { kappa_rad: cutter.default_kappa_rad(), lead_rad, side }
        }
        rule => rule,
    };
    Stance { cutter, rule, stepover_mm: stance.stepover_mm, cusp_mm: stance.cusp_mm }
}

fn is_free(stance: &Stance<'_>, s: &Station) -> bool {
    stance.stand(&s.site, s.feed, false).is_ok_and(|at| stance.relative(&at).is_ok())
}

/// What a remedy is looked for with.
pub(crate) struct Remedy<'a> {
    pub(crate) spec: &'a CutterSpec,
    /// Stations all over the feature.
    pub(crate) all: &'a [Station],
    pub(crate) obstacles: &'a [Obstacle<'a>],
    /// Whether the axis may lean to either side.
    pub(crate) either_side: bool,
}

impl Remedy<'_> {
    /// In words, for places at which the cutter is not clear.
    pub(crate) fn words(&self, stance: &Stance<'_>, places: &[(Station, bool)]) -> String {
        let tilt = match stance.rule {
            Rule::Tilted { .. } => "a form whose arc touches at a steeper axis",
            _ => "axis = \"tilted\"",
        };
        let other = format!("choose a longer stick-out, a slimmer holder or shank, or {tilt}");
        if self.spec.arc_radius_mm.is_none() {
            return other;
        }
        match largest_fitting_arc(self.spec, |c| self.clears(c.spec(), stance, places)) {
            Ok(fit) => format!(
                "the largest arc of this form that is clear there has a radius of {:.1} mm; or {other}",
                fit.arc_radius_mm
            ),
            Err(_) => format!("no arc radius of this form is clear there; {other}"),
        }
    }

    /// Whether a cutter has one axis that is clear at all places and free beside its contact.
    fn clears(&self, spec: &CutterSpec, stance: &Stance<'_>, places: &[(Station, bool)]) -> bool {
        let Ok(assembly) = Assembly::new(spec) else { return false };
        let own = with_cutter(stance, &assembly.cutter);
        self.rules(&own).into_iter().any(|rule| {
            let tried = Stance { rule, ..own };
            let stride = (self.all.len() / SURVEYED).max(1);
            self.all.iter().step_by(stride).all(|s| tried.allowed_mm(&s.site, s.feed).is_ok())
                && places.iter().all(|(s, against)| {
                    pose(&tried, s, *against).is_some_and(|p| {
                        room_at_mm(&assembly, p, self.obstacles) >= ROOM_MM
                            && only_touches(&assembly, p, self.obstacles)
                    })
                })
        })
    }

    fn rules(&self, own: &Stance<'_>) -> Vec<Rule> {
        let Rule::Tilted { kappa_rad, lead_rad, side } = own.rule else { return vec![own.rule] };
        let (lo, hi) = band(own, self.all);
        let over = |i: usize| lo + (hi - lo) * i as f64 / (ANGLES - 1) as f64;
        let mut out = Vec::new();
        for kappa_rad in std::iter::once(kappa_rad).chain((0..ANGLES).map(over)) {
            out.push(Rule::Tilted { kappa_rad, lead_rad, side });
            if self.either_side {
                out.push(Rule::Tilted { kappa_rad, lead_rad, side: other(side) });
            }
        }
        out
    }
}
