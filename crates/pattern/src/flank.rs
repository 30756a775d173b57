//! Contacts of a cutter whose axis stands still: on a wall its flank touches along a line, and what
//! follows an arc without a corner cuts as well.

use std::f64::consts::FRAC_PI_2;

use cutter::{Contact, Element, Line, NoContact, Profile, Touch};

/// How far a wall may lean over before it counts as one that does, rad: what tessellated walls and
/// those of a file stand off upright by.
const UPRIGHT_RAD: f64 = 1e-4;
/// Radius that stands for a straight flank, mm: what it leaves over is far below what is resolved, and
/// a wall as hollow counts as straight.
const STRAIGHT_MM: f64 = 1e5;
/// How well the angles of neighbouring elements agree where they meet without a corner, rad.
const SMOOTH_RAD: f64 = 1e-6;

/// The contact at `kappa_rad` with a fixed axis. On a straight flank the lower end is taken, so that
/// the tip stands no deeper than it must. Straight pieces that follow an arc smoothly are further out
/// than the arc would be: they count as room beside the contact.
///
/// # Errors
/// As [`Profile::contact`].
pub(crate) fn contact(profile: &Profile, kappa_rad: f64) -> Result<Contact, NoContact> {
    let upright = (kappa_rad - FRAC_PI_2).abs() < UPRIGHT_RAD;
    let kappa = if upright { FRAC_PI_2 } else { kappa_rad };
    let mut found = profile.contact(kappa)?;
    let lines = || profile.elements().iter().filter_map(line);
    if found.touch == Touch::Line && kappa > UPRIGHT_RAD {
        if let Some(flank) = lines().find(|l| (l.kappa_rad - kappa).abs() < SMOOTH_RAD) {
            (found.r_mm, found.z_mm) = flank.from_mm;
            found.centre_mm = flank.from_mm;
            found.profile_radius_mm = STRAIGHT_MM;
        }
        return Ok(found);
    }
    if found.touch == Touch::Arc {
        let radius = found.profile_radius_mm;
        let (lo, hi) = (kappa - found.arc_below_mm / radius, kappa + found.arc_above_mm / radius);
        let beside = |end: f64| {
            let smooth = lines().filter(|l| (l.kappa_rad - end).abs() < SMOOTH_RAD);
            smooth.map(Line::length_mm).sum::<f64>()
        };
        found.arc_above_mm += beside(hi);
        found.arc_below_mm += beside(lo);
    }
    Ok(found)
}

fn line(element: &Element) -> Option<&Line> {
    match element {
        Element::Line(l) => Some(l),
        Element::Arc(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cutter::{Cutter, CutterSpec, Form};

    fn of(form: Form, corner_radius_mm: Option<f64>) -> Cutter {
        let flute_length_mm = Some(20.0);
        let spec = CutterSpec { corner_radius_mm, flute_length_mm, ..CutterSpec::new(form, 10.0) };
        Cutter::new(&spec).expect("a cutter")
    }

    #[test]
    fn a_flank_touches_at_its_lower_end() {
        // derived: a sharp end mill stands with its tip at the height of the contact, one with a
        // corner of 2 mm that much lower
        let at = |c: &Cutter| contact(c.profile(), FRAC_PI_2 + 2e-5).expect("the flank");
        let (flat, round) = (at(&of(Form::Flat, None)), at(&of(Form::CornerRadius, Some(2.0))));
        assert_eq!((flat.r_mm, flat.z_mm), (5.0, 0.0));
        assert!((round.r_mm - 5.0).abs() < 1e-12 && (round.z_mm - 2.0).abs() < 1e-12);
        assert!((round.arc_above_mm - 18.0).abs() < 1e-9, "{}", round.arc_above_mm);
    }

    #[test]
    fn a_ball_has_its_flank_beside_it() {
        let ball = of(Form::Ball, None);
        let steep = contact(ball.profile(), 80_f64.to_radians()).expect("the ball");
        let left = 5.0 * 10_f64.to_radians() + 15.0;
        assert!((steep.arc_above_mm - left).abs() < 1e-9, "{}", steep.arc_above_mm);
    }
}
