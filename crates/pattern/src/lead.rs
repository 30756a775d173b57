//! Leads: how the cutter rolls on and off the surface, the one asked for first, then shorter, turned
//! and straight ones for places where the part stands in its way.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

use geom::Vec3;
use toolpath::Pose;

use crate::link::{CHORD_MM, Linker, pose};
use crate::stance::Standing;

/// Shorter radii that are tried, as shares of the one asked for.
const SHORTER: [f64; 2] = [0.5, 0.25];
/// Turns of the arc's plane about the feed that are tried, towards the side of the lean and away
/// from it, rad.
const TURNS_RAD: [f64; 2] = [FRAC_PI_4, -FRAC_PI_4];

/// Which end of a pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum End {
    /// Where it begins.
    Start,
    /// Where it ends.
    Finish,
}

/// What a lead looks like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Shape {
    /// As asked for.
    AsAsked,
    /// A smaller radius, or the arc turned about the feed.
    Changed,
    /// None: the cutter comes and goes along its axis.
    Straight,
}

/// A lead, from the surface outwards at both ends of a pass.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Lead {
    pub(crate) shape: Shape,
    /// Poses, the one on the surface first.
    pub(crate) outwards: Vec<Pose>,
}

impl Lead {
    /// The pose farthest from the surface.
    pub(crate) fn free(&self, end: &Standing) -> Pose {
        self.outwards.last().copied().unwrap_or_else(|| pose(end))
    }
}

impl Linker<'_> {
    /// The lead asked for at one end of a pass, and the others in the order in which they are tried.
    pub(crate) fn leads(&self, s: &Standing, end: End) -> (Lead, Vec<Lead>) {
        let straight = |shape| Lead { shape, outwards: vec![pose(s)] };
        if self.radius_mm <= 0.0 {
            return (straight(Shape::AsAsked), Vec::new());
        }
        let along = s.feed * if end == End::Finish { 1.0 } else { -1.0 };
        let left = s.site.normal.cross(s.feed);
        let lean = if s.axis.dot(left) < 0.0 { -left } else { left };
        let n = s.site.normal;
        let arc = |shape, rise, share| {
            let outwards = quarter(s, along, rise, share * self.radius_mm);
            Lead { shape, outwards }
        };
        let mut others: Vec<Lead> =
            SHORTER.map(|share| arc(Shape::Changed, n, share)).into_iter().collect();
        for turn in TURNS_RAD {
            let rise = n * f64::cos(turn) + lean * f64::sin(turn);
            let shares = std::iter::once(1.0).chain(SHORTER);
            others.extend(shares.map(|share| arc(Shape::Changed, rise, share)));
        }
        others.push(straight(Shape::Straight));
        (arc(Shape::AsAsked, n, 1.0), others)
    }
}

/// Quarter arc off the surface, tangential to `along`, that rises towards `rise`.
fn quarter(s: &Standing, along: Vec3, rise: Vec3, radius_mm: f64) -> Vec<Pose> {
    let per_step = 2.0 * (1.0 - CHORD_MM / radius_mm).clamp(-1.0, 1.0).acos();
    let n = (FRAC_PI_2 / per_step).ceil().clamp(2.0, 90.0);
    (0..=n as usize)
        .map(|k| {
            let (sin, cos) = (FRAC_PI_2 * k as f64 / n).sin_cos();
            let off = along * sin + rise * (1.0 - cos);
            Pose { tip: s.tip + off * radius_mm, axis: s.axis }
        })
        .collect()
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::height::Discs;
    use crate::job::{Feed, Frame};
    use cutter::{Assembly, CutterSpec, Form};
    use geom::{Site, Sym2, TangentTensor};

    fn standing(axis: Vec3) -> Standing {
        let curvature = TangentTensor { e1: Vec3::X, e2: Vec3::Y, entries: Sym2::default() };
        let site = Site { point: Vec3::ZERO, normal: Vec3::Z, curvature };
        let cutter = cutter::Cutter::new(&CutterSpec::new(Form::Ball, 12.0)).expect("a ball");
        let kappa = cutter::contact::kappa_between(Vec3::Z, axis);
        let contact = cutter.profile().contact(kappa).expect("a ball touches anywhere");
        let tip = cutter::tip_at(&site, axis, &contact);
        Standing { site, feed: Vec3::X, axis, contact, tip }
    }

    fn with<R>(radius_mm: f64, work: impl FnOnce(&Linker<'_>) -> R) -> R {
        let ball = Assembly::new(&CutterSpec::new(Form::Ball, 12.0)).expect("a ball");
        work(&Linker {
            frame: Frame::default(),
            radius_mm,
            clearance_mm: 2.0,
            feed: Feed::AtTip(1.0),
            step_mm: 0.2,
            heights: None,
            discs: &Discs::of(&ball),
        })
    }

    fn all(linker: &Linker<'_>, s: &Standing, end: End) -> Vec<Lead> {
        let (asked, others) = linker.leads(s, end);
        std::iter::once(asked).chain(others).collect()
    }

    #[test]
    fn every_arc_leaves_along_the_feed_and_rises() {
        for lean in [-0.3_f64, 0.0, 0.3] {
            let s = standing(Vec3::new(0.0, lean.sin(), lean.cos()));
            with(2.0, |linker| {
                for (end, sign) in [(End::Start, -1.0), (End::Finish, 1.0)] {
                    let leads = all(linker, &s, end);
                    assert_eq!((leads.len(), leads[0].shape), (10, Shape::AsAsked));
                    for lead in &leads[..9] {
                        let way = &lead.outwards;
                        assert_eq!(way[0].tip, s.tip);
                        let first = (way[1].tip - way[0].tip).normalize();
                        assert!(first.x * sign > 0.97, "{first}");
                        assert!(way.windows(2).all(|w| w[1].tip.z > w[0].tip.z));
                    }
                    assert_eq!(leads[9].outwards, [pose(&s)]);
                }
            });
        }
    }

    #[test]
    fn mirrored_leans_have_mirrored_leads() {
        let flip = |p: &Pose| Pose {
            tip: p.tip * Vec3::new(1.0, -1.0, 1.0),
            axis: p.axis * Vec3::new(1.0, -1.0, 1.0),
        };
        let axis = Vec3::new(0.1, 0.4, 0.9).normalize();
        let (one, other) = (standing(axis), standing(axis * Vec3::new(1.0, -1.0, 1.0)));
        with(1.5, |linker| {
            let (a, b) = (all(linker, &one, End::Finish), all(linker, &other, End::Finish));
            for (a, b) in a.iter().zip(&b) {
                let mirrored: Vec<Pose> = a.outwards.iter().map(flip).collect();
                assert!(
                    mirrored.iter().zip(&b.outwards).all(|(p, q)| p.tip.distance(q.tip) < 1e-12)
                );
            }
        });
    }

    #[test]
    fn without_a_radius_there_is_no_arc() {
        let s = standing(Vec3::Z);
        with(0.0, |linker| assert_eq!(all(linker, &s, End::Start).len(), 1));
    }
}
