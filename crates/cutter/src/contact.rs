//! Where the profile touches a surface whose normal makes a given angle with the axis.

use crate::error::NoContact;
use crate::profile::{Arc, Element, Line, Profile};
use geom::tolerance::PARALLEL_RAD;
use geom::{Site, Vec3};

/// On what kind of element a contact lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Touch {
    /// On an arc of the profile.
    Arc,
    /// On a sharp corner, which takes every angle between its neighbours.
    Corner,
    /// On a straight piece, all of whose points touch: its middle stands for them, and the tip for
    /// a flat bottom.
    Line,
}

/// The point of the profile with a given normal, and the shape of the cutter there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// Angle between the surface normal and the axis, rad.
    pub kappa_rad: f64,
    /// Distance of the contact from the axis, mm.
    pub r_mm: f64,
    /// Height of the contact over the tip, mm.
    pub z_mm: f64,
    /// Principal radius along the profile, mm; infinite on a line, 0 on a sharp corner.
    pub profile_radius_mm: f64,
    /// Principal radius around the axis, `r / sin kappa`, mm (Meusnier); infinite on a flat bottom.
    pub around_radius_mm: f64,
    /// Length of the element below the contact, mm along the profile.
    pub arc_below_mm: f64,
    /// Length of the element above the contact, mm along the profile.
    pub arc_above_mm: f64,
    /// Centre of the arc `(r, z)`, mm; the contact itself on a line.
    pub centre_mm: (f64, f64),
    /// What the contact lies on.
    pub touch: Touch,
}

impl Contact {
    /// Effective diameter: twice the distance from the axis, mm.
    pub fn effective_diameter_mm(&self) -> f64 {
        2.0 * self.r_mm
    }

    /// The shorter side of the arc that is left below or above the contact, mm.
    pub fn shorter_side_mm(&self) -> f64 {
        self.arc_below_mm.min(self.arc_above_mm)
    }

    /// Principal curvatures of the tool: along the profile and around the axis, 1/mm.
    pub fn curvatures_per_mm(&self) -> (f64, f64) {
        let smallest = geom::tolerance::SOLVED_MM;
        (1.0 / self.profile_radius_mm.max(smallest), 1.0 / self.around_radius_mm.max(smallest))
    }

    fn on_arc(a: &Arc, kappa: f64) -> Self {
        let (r_mm, z_mm) = a.point(kappa);
        let sin = kappa.sin();
        let around = if a.r0_mm == 0.0 { a.radius_mm } else { a.r0_mm / sin + a.radius_mm };
        Self {
            kappa_rad: kappa,
            r_mm,
            z_mm,
            profile_radius_mm: a.radius_mm,
            around_radius_mm: around,
            arc_below_mm: a.radius_mm * (kappa - a.kappa_lo_rad).max(0.0),
            arc_above_mm: a.radius_mm * (a.kappa_hi_rad - kappa).max(0.0),
            centre_mm: (a.r0_mm, a.z0_mm),
            touch: if a.radius_mm > 0.0 { Touch::Arc } else { Touch::Corner },
        }
    }

    fn on_line(l: &Line) -> Self {
        let flat_bottom = l.kappa_rad <= PARALLEL_RAD;
        let share = if flat_bottom { 0.0 } else { 0.5 };
        let r_mm = l.from_mm.0 + share * (l.to_mm.0 - l.from_mm.0);
        let z_mm = l.from_mm.1 + share * (l.to_mm.1 - l.from_mm.1);
        let length = l.length_mm();
        Self {
            kappa_rad: l.kappa_rad,
            r_mm,
            z_mm,
            profile_radius_mm: f64::INFINITY,
            around_radius_mm: if flat_bottom { f64::INFINITY } else { r_mm / l.kappa_rad.sin() },
            arc_below_mm: if flat_bottom { length } else { 0.5 * length },
            arc_above_mm: if flat_bottom { length } else { 0.5 * length },
            centre_mm: (r_mm, z_mm),
            touch: Touch::Line,
        }
    }
}

impl Profile {
    /// The contact at `kappa_rad`. Where an arc and another element share the angle the arc of the
    /// larger radius is taken, but the flat bottom, where there is one, at 0.
    pub fn contact(&self, kappa_rad: f64) -> Result<Contact, NoContact> {
        let mut best: Option<(f64, Contact)> = None;
        for element in self.elements() {
            let (lo, hi) = element.kappa_range();
            if !(kappa_rad >= lo - PARALLEL_RAD && kappa_rad <= hi + PARALLEL_RAD) {
                continue;
            }
            let (rank, contact) = match element {
                Element::Arc(a) => (a.radius_mm, Contact::on_arc(a, kappa_rad.clamp(lo, hi))),
                Element::Line(l) if l.kappa_rad <= PARALLEL_RAD => {
                    (f64::INFINITY, Contact::on_line(l))
                }
                Element::Line(l) => (1e-9, Contact::on_line(l)),
            };
            if best.as_ref().is_none_or(|(r, _)| rank > *r) {
                best = Some((rank, contact));
            }
        }
        best.map(|(_, c)| c).ok_or_else(|| self.no_contact(kappa_rad))
    }

    /// The contact on the main arc, refused where another element would touch.
    pub fn arc_contact(&self, kappa_rad: f64) -> Result<Contact, NoContact> {
        let Some(arc) = self.main_arc() else {
            return Err(NoContact::NoArc { kappa_rad });
        };
        let (lo, hi) = (arc.kappa_lo_rad, arc.kappa_hi_rad);
        if kappa_rad >= lo - PARALLEL_RAD && kappa_rad <= hi + PARALLEL_RAD {
            return Ok(Contact::on_arc(&arc, kappa_rad.clamp(lo, hi)));
        }
        Err(NoContact::OffTheArc { kappa_rad, lo_rad: lo, hi_rad: hi })
    }

    fn no_contact(&self, kappa_rad: f64) -> NoContact {
        let hi_rad = self.elements().last().map_or(0.0, |e| e.kappa_range().1);
        NoContact::OffTheProfile { kappa_rad, hi_rad }
    }
}

/// Angle between a unit normal and a unit axis, rad, exact near 0 and near 180°.
pub fn kappa_between(normal: Vec3, axis: Vec3) -> f64 {
    normal.cross(axis).length().atan2(normal.dot(axis))
}

/// Direction from the axis to the contact, unit, perpendicular to `axis`; zero where normal and
/// axis are parallel and every direction serves.
pub fn radial_direction(normal: Vec3, axis: Vec3) -> Vec3 {
    let against = axis * normal.dot(axis) - normal;
    let length = against.length();
    if length > PARALLEL_RAD { against / length } else { Vec3::ZERO }
}

/// Tip of a cutter that touches `site` with its axis (unit) along `axis`; `contact` is that of
/// [`kappa_between`] the site's normal and the axis. Part frame, mm.
pub fn tip_at(site: &Site, axis: Vec3, contact: &Contact) -> Vec3 {
    let e = radial_direction(site.normal, axis);
    let (r0, z0) = contact.centre_mm;
    // on an arc the tip follows from the centre, which the normal alone leads to
    let radius = if contact.touch == Touch::Line { 0.0 } else { contact.profile_radius_mm };
    site.point + site.normal * radius - e * r0 - axis * z0
}
