//! How the cutter stands at a point of a pass: axis, contact, tip, and the step it allows there.

use cutter::axis::{ContactFrame, Side};
use cutter::contact::kappa_between;
use cutter::{Contact, Cutter, NoContact, Relative, tip_at};
use geom::{Site, Vec3};

use crate::error::{At, PatternError};
use crate::flank;

/// The rule for the axis with everything chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Rule {
    /// A constant direction.
    Fixed(Vec3),
    /// The normal.
    Normal,
    /// A contact angle across the feed.
    Tilted {
        /// Angle between axis and normal.
        kappa_rad: f64,
        /// Towards the actual feed.
        lead_rad: f64,
        /// Seen along the pattern's forward direction.
        side: Side,
    },
}

/// The cutter and how it is held.
#[derive(Clone, Copy)]
pub(crate) struct Stance<'a> {
    pub(crate) cutter: &'a Cutter,
    pub(crate) rule: Rule,
    /// Limits asked for.
    pub(crate) stepover_mm: Option<f64>,
    pub(crate) cusp_mm: Option<f64>,
}

/// The cutter at one contact.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Standing {
    pub(crate) site: Site,
    /// Unit direction of the actual feed.
    pub(crate) feed: Vec3,
    pub(crate) axis: Vec3,
    pub(crate) contact: Contact,
    pub(crate) tip: Vec3,
}

impl Stance<'_> {
    /// Axis at a site, for the pattern's forward direction and whether the pass runs against it.
    pub(crate) fn axis(
        &self,
        site: &Site,
        forward: Vec3,
        against: bool,
    ) -> Result<Vec3, PatternError> {
        let (kappa_rad, lead_rad, side) = match self.rule {
            Rule::Fixed(axis) => return Ok(axis),
            Rule::Normal => return Ok(site.normal),
            Rule::Tilted { kappa_rad, lead_rad, side } => (kappa_rad, lead_rad, side),
        };
        let (feed, side) = if against { (-forward, other(side)) } else { (forward, side) };
        ContactFrame::new(site.normal, feed)
            .and_then(|frame| frame.axis_at(kappa_rad, lead_rad, side))
            .ok_or(PatternError::LeadTooLarge {
                lead_deg: lead_rad.to_degrees(),
                kappa_deg: kappa_rad.to_degrees(),
            })
    }

    /// The cutter set against a site.
    pub(crate) fn stand(
        &self,
        site: &Site,
        forward: Vec3,
        against: bool,
    ) -> Result<Standing, PatternError> {
        let axis = self.axis(site, forward, against)?;
        self.stand_along(site, forward, against, axis)
    }

    /// The same along another axis.
    pub(crate) fn stand_along(
        &self,
        site: &Site,
        forward: Vec3,
        against: bool,
        axis: Vec3,
    ) -> Result<Standing, PatternError> {
        let contact = self.contact(site, axis)?;
        let feed = if against { -forward } else { forward };
        let tip = tip_at(site, axis, &contact);
        Ok(Standing { site: *site, feed, axis, contact, tip })
    }

    fn contact(&self, site: &Site, axis: Vec3) -> Result<Contact, PatternError> {
        let kappa = kappa_between(site.normal, axis);
        let profile = self.cutter.profile();
        let found = match self.rule {
            Rule::Tilted { .. } if profile.main_arc().is_some() => profile.arc_contact(kappa),
            _ => self.touch(kappa),
        };
        found.map_err(|why| off_the_arc(site, kappa, why))
    }

    /// Where the cutter touches at an angle, on whatever element.
    pub(crate) fn touch(&self, kappa_rad: f64) -> Result<Contact, NoContact> {
        let profile = self.cutter.profile();
        match self.rule {
            Rule::Fixed(_) => flank::contact(profile, kappa_rad),
            _ => profile.contact(kappa_rad),
        }
    }

    /// Relative curvature of cutter and surface; an error where the cutter gouges.
    pub(crate) fn relative(&self, standing: &Standing) -> Result<Relative, PatternError> {
        let relative = Relative::at(&standing.site, standing.axis, &standing.contact);
        let mut relative = relative.filter(Relative::is_free).ok_or_else(|| gouges(standing))?;
        if standing.contact.centre_mm.0 == 0.0 {
            // an arc about a point of the axis goes on beyond the tip as far as on this side
            relative.side_mm = standing.contact.arc_above_mm;
        }
        Ok(relative)
    }

    /// Largest step along the surface beside a pass along `forward`, mm.
    pub(crate) fn allowed_mm(&self, site: &Site, forward: Vec3) -> Result<f64, PatternError> {
        let standing = self.stand(site, forward, false)?;
        let relative = self.relative(&standing)?;
        self.allowed_by(&standing, &relative)
    }

    /// The same with the relative curvature at hand.
    pub(crate) fn allowed_by(
        &self,
        standing: &Standing,
        relative: &Relative,
    ) -> Result<f64, PatternError> {
        let feed = standing.feed;
        let band = relative.band_stepover_mm(feed).map_err(|_| gouges(standing))?;
        let by_cusp = match self.cusp_mm {
            Some(h) => relative.stepover_for_cusp(feed, h).map_err(|_| gouges(standing))?,
            None => f64::INFINITY,
        };
        let asked = self.stepover_mm.unwrap_or(f64::INFINITY);
        if self.stepover_mm.is_some() && band < asked.min(by_cusp) {
            return Err(PatternError::BandTooShort {
                at: At(standing.site.point),
                stepover_mm: asked,
                side_mm: standing.contact.shorter_side_mm(),
                widest_mm: band,
            });
        }
        Ok(band.min(by_cusp).min(asked))
    }

    /// Cusp beside a pass at a step, mm; `None` where the arcs do not meet.
    pub(crate) fn cusp_mm(&self, site: &Site, forward: Vec3, step_mm: f64) -> Option<f64> {
        let standing = self.stand(site, forward, false).ok()?;
        let relative = self.relative(&standing).ok()?;
        relative.cusp_for_stepover(standing.feed, step_mm).ok()
    }
}

fn other(side: Side) -> Side {
    match side {
        Side::Left => Side::Right,
        Side::Right => Side::Left,
    }
}

fn off_the_arc(site: &Site, kappa: f64, why: NoContact) -> PatternError {
    let (lo, hi) = match why {
        NoContact::OffTheArc { lo_rad, hi_rad, .. } => (lo_rad, hi_rad),
        NoContact::OffTheProfile { hi_rad, .. } => (0.0, hi_rad),
        NoContact::NoArc { .. } => (0.0, 0.0),
    };
    PatternError::OffTheArc {
        at: At(site.point),
        kappa_deg: kappa.to_degrees(),
        lo_deg: lo.to_degrees(),
        hi_deg: hi.to_degrees(),
    }
}

/// The arc that would just lie in the surface where this one gouges.
fn gouges(standing: &Standing) -> PatternError {
    let site = &standing.site;
    let around = standing.axis.cross(site.normal);
    let profile = site.normal.cross(around);
    let rises = if profile.length() > geom::tolerance::PARALLEL_RAD {
        site.curvature.along(profile.normalize())
    } else {
        site.curvature.entries.eigen().large
    };
    let radius = if rises > 0.0 { 1.0 / rises } else { f64::INFINITY };
    PatternError::Gouges { at: At(site.point), surface_radius_mm: radius, largest_arc_mm: radius }
}
