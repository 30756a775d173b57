//! Passes along which the axis would turn too fast, driven again with an axis that does not.
//!
//! The axis may leave the rule only within the ring of contact angles that the arc takes, and only
//! where the cusp beside the pass stays near what it was: turned away from standing across the feed
//! an arc leaves more.

use geom::{Site, Vec3};

use crate::error::{At, PatternError, Warning};
use crate::link::{Driven, slerp};
use crate::prove::Drives;
use crate::smooth::{FASTEST_RAD_PER_MM, Knot, fastest, smoothed, within_ring};
use crate::stance::{Rule, Stance, Standing};
use crate::trace::{Posed, Tracer};
use crate::trim::Piece;

/// Spacing of the places at which the axis is steadied, mm.
const SPACING_MM: f64 = 0.25;
/// Fewest and most places along a pass.
const PLACES: (f64, f64) = (8.0, 20_000.0);
/// Growth of the cusp beside a pass that a steadied axis may cost.
const COSTS: f64 = 1.1;
/// Bisections of the way from the rule's axis to the steadied one.
const HALVINGS: usize = 6;
/// Share by which a steadied pass must be better to be worth it.
const WORTH: f64 = 0.01;

/// Where the axis turns fastest along some passes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Turning {
    pub(crate) rad_per_mm: f64,
    pub(crate) turn_rad: f64,
    pub(crate) within_mm: f64,
    pub(crate) place: Vec3,
}

impl Turning {
    /// Of one pass.
    pub(crate) fn of(driven: &Driven) -> Self {
        let s = &driven.standings;
        let mut along_mm = 0.0;
        let knots = s.iter().enumerate().map(|(k, here)| {
            let before = k.checked_sub(1).map_or(here, |b| &s[b]);
            along_mm += here.site.point.distance(before.site.point);
            Knot { along_mm, axis: here.axis }
        });
        let (rad_per_mm, k) = fastest(knots);
        let (a, b) = (&s[k.saturating_sub(1)], &s[k]);
        Self {
            rad_per_mm,
            turn_rad: crate::smooth::angle(a.axis, b.axis),
            within_mm: a.site.point.distance(b.site.point),
            place: b.site.point,
        }
    }

    /// The fastest of several passes.
    pub(crate) fn fastest<'d>(driven: impl Iterator<Item = &'d Driven>) -> Option<Self> {
        driven.map(Self::of).reduce(|a, b| if b.rad_per_mm > a.rad_per_mm { b } else { a })
    }

    /// Whether it is faster than is good for the rotary axes.
    pub(crate) fn is_fast(&self) -> bool {
        self.rad_per_mm > FASTEST_RAD_PER_MM
    }
}

/// The axis along a piece, at even steps of its parameter.
struct Field<'a> {
    tracer: &'a Tracer<'a>,
    piece: &'a Piece,
    against: bool,
    ring: (f64, f64),
    axes: Vec<Vec3>,
    changed: Vec<bool>,
}

impl Tracer<'_> {
    /// The pass with an axis that turns more slowly; `None` where that is not needed, or not possible.
    /// `ring` holds the smallest and largest contact angle, rad.
    pub(crate) fn steadied(
        &self,
        piece: &Piece,
        against: bool,
        raw: &Driven,
        ring: (f64, f64),
    ) -> Option<Driven> {
        let before = Turning::of(raw);
        let Rule::Tilted { kappa_rad, .. } = self.stance.rule else { return None };
        if !before.is_fast() {
            return None;
        }
        let ring = (ring.0.min(kappa_rad), ring.1.max(kappa_rad));
        let field = Field::over(self, piece, against, ring, raw).ok()?;
        let traced = self.traced(piece, |t| field.pose(t)).ok()?;
        let mut standings: Vec<Standing> = traced.into_iter().map(|p| p.standing).collect();
        if against {
            standings.reverse();
        }
        let driven = Driven { standings };
        let after = Turning::of(&driven).rad_per_mm;
        (after < before.rad_per_mm * (1.0 - WORTH)).then_some(driven)
    }
}

impl<'a> Field<'a> {
    fn over(
        tracer: &'a Tracer<'a>,
        piece: &'a Piece,
        against: bool,
        ring: (f64, f64),
        raw: &Driven,
    ) -> Result<Self, PatternError> {
        let length_mm: f64 =
            raw.standings.windows(2).map(|w| w[0].site.point.distance(w[1].site.point)).sum();
        let n = (length_mm / SPACING_MM).ceil().clamp(PLACES.0, PLACES.1) as usize;
        let t = |k: usize| piece.from + (piece.to - piece.from) * k as f64 / n as f64;
        let standings: Vec<Standing> = (0..=n)
            .map(|k| Ok(tracer.pose(piece, t(k), against)?.standing))
            .collect::<Result<_, PatternError>>()?;
        let mut along_mm = 0.0;
        let mut knots: Vec<Knot> = Vec::with_capacity(standings.len());
        for (k, s) in standings.iter().enumerate() {
            let before = k.checked_sub(1).map_or(s, |b| &standings[b]);
            along_mm += s.site.point.distance(before.site.point);
            knots.push(Knot { along_mm, axis: s.axis });
        }
        let steady = smoothed(&knots, FASTEST_RAD_PER_MM);
        let axes: Vec<Vec3> = standings
            .iter()
            .zip(&steady)
            .map(|(s, a)| if *a == s.axis { s.axis } else { admitted(tracer.stance, s, *a, ring) })
            .collect();
        let changed = axes.iter().zip(&standings).map(|(a, s)| *a != s.axis).collect();
        Ok(Self { tracer, piece, against, ring, axes, changed })
    }

    fn pose(&self, t: f64) -> Result<Posed, PatternError> {
        let last = self.axes.len() - 1;
        let share = (t - self.piece.from) / (self.piece.to - self.piece.from);
        let at = (share * last as f64).clamp(0.0, last as f64);
        let k = (at as usize).min(last.saturating_sub(1));
        if !(self.changed[k] || self.changed[k + 1]) {
            return self.tracer.pose(self.piece, t, self.against);
        }
        let (site, forward) = self.tracer.site(self.piece, t)?;
        let axis = slerp(self.axes[k], self.axes[k + 1], at - k as f64);
        let axis = within_ring(axis, site.normal, self.ring);
        let standing = self.tracer.stance.stand_along(&site, forward, self.against, axis)?;
        Ok(Posed { t, standing })
    }
}

/// The steadied axis as far as ring and cusp permit, from the rule's.
fn admitted(stance: &Stance<'_>, raw: &Standing, steady: Vec3, ring: (f64, f64)) -> Vec3 {
    let Some((step_mm, cusp_mm)) = beside(stance, raw) else { return raw.axis };
    let moved = |f: f64| within_ring(slerp(raw.axis, steady, f), raw.site.normal, ring);
    let fits = |axis: Vec3| {
        cusp(stance, &raw.site, raw.feed, axis, step_mm).is_some_and(|h| h <= COSTS * cusp_mm)
    };
    if fits(moved(1.0)) {
        return moved(1.0);
    }
    let (mut good, mut bad) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let f = 0.5 * (good + bad);
        if fits(moved(f)) { good = f } else { bad = f }
    }
    if good > 0.0 { moved(good) } else { raw.axis }
}

/// The step that the rule's axis allows, and the cusp that it leaves there, mm.
fn beside(stance: &Stance<'_>, raw: &Standing) -> Option<(f64, f64)> {
    let relative = stance.relative(raw).ok()?;
    let step_mm = stance.allowed_by(raw, &relative).ok()?;
    Some((step_mm, relative.cusp_for_stepover(raw.feed, step_mm).ok()?))
}

fn cusp(stance: &Stance<'_>, site: &Site, feed: Vec3, axis: Vec3, step_mm: f64) -> Option<f64> {
    let standing = stance.stand_along(site, feed, false, axis).ok()?;
    let relative = stance.relative(&standing).ok()?;
    let wide_enough = stance.allowed_by(&standing, &relative).ok()? >= 0.5 * step_mm;
    let cusp = relative.cusp_for_stepover(feed, step_mm).ok()?;
    wide_enough.then_some(cusp)
}

impl Drives {
    /// The passes with the axis of the rule.
    pub(crate) fn rule(&self) -> impl Iterator<Item = &Driven> {
        self.driven.iter().zip(&self.unsteadied).map(|(d, own)| own.as_ref().unwrap_or(d))
    }
}

/// What a person should know of an axis that was steadied, and of one that still turns fast.
pub(crate) fn warnings(before: Option<Turning>, drives: &Drives) -> Vec<Warning> {
    let passes = drives.unsteadied.iter().flatten().count();
    let steadied = before.filter(|_| passes > 0).map(|t| Warning::AxisSteadied {
        passes,
        at: At(t.place),
        turn_deg: t.turn_rad.to_degrees(),
        within_mm: t.within_mm,
    });
    let after = Turning::fastest(drives.driven.iter()).filter(Turning::is_fast);
    let fast = after.map(|t| Warning::AxisTurnsFast {
        at: At(t.place),
        turn_deg: t.turn_rad.to_degrees(),
        within_mm: t.within_mm,
    });
    steadied.into_iter().chain(fast).collect()
}
