//! Cutting runs, and links between passes that stay down.

use cutter::Relative;
use geom::{Sym2, Vec2, Vec3};
use toolpath::{Contact, Pose, Run, RunKind};

use crate::height::{Discs, HeightMap};
use crate::job::{Feed, Frame};
use crate::stance::Standing;
use crate::turn::{Headed, eased, shortest};

/// How far leads and links may leave their arcs, mm: they touch nothing.
pub(crate) const CHORD_MM: f64 = 0.002;
/// Length over which a link that stays down bends into a turn, as a multiple of its radius, and how far
/// its straight moves may leave it, mm: the finer, the less a control slows at their corners.
pub(crate) const EASE: f64 = 1.5;
const SMOOTH_MM: f64 = 5e-4;
/// Heights to which a link that stays down rises, as shares of its radius: the lowest that is clear.
pub(crate) const LIFTS: [f64; 2] = [0.25, 1.0];
/// Largest angle between the normals at both ends of a link that stays down: its cosine.
const SAME_NORMAL: f64 = 0.94;
/// Longest link that stays down, as a multiple of its radius, besides the way across.
const REACH: f64 = 6.0;

/// One pass, driven: poses and contacts in order of the feed.
pub(crate) struct Driven {
    pub(crate) standings: Vec<Standing>,
}

impl Driven {
    /// Its poses.
    pub(crate) fn poses(&self) -> Vec<Pose> {
        self.standings.iter().map(pose).collect()
    }
}

/// What links need besides the passes.
pub(crate) struct Linker<'a> {
    pub(crate) frame: Frame,
    pub(crate) radius_mm: f64,
    pub(crate) clearance_mm: f64,
    pub(crate) feed: Feed,
    pub(crate) step_mm: f64,
    pub(crate) heights: Option<&'a HeightMap>,
    pub(crate) discs: &'a Discs,
}

/// Tip and axis of a standing cutter.
pub(crate) fn pose(s: &Standing) -> Pose {
    Pose { tip: s.tip, axis: s.axis }
}

impl Linker<'_> {
    fn speed(&self) -> f64 {
        match self.feed {
            Feed::AtContact(v) | Feed::AtTip(v) => v,
        }
    }

    /// A run at one speed.
    pub(crate) fn run(&self, kind: RunKind, pass: usize, poses: Vec<Pose>, speed: f64) -> Run {
        let moves = poses.len().saturating_sub(1);
        Run { kind, pass, poses, contacts: Vec::new(), tip_feed_mm_s: vec![speed; moves] }
    }

    /// The cutting run of a pass.
    pub(crate) fn cut(&self, pass: usize, driven: &Driven) -> Run {
        let s = &driven.standings;
        let tip_feed_mm_s = s
            .windows(2)
            .map(|w| match self.feed {
                Feed::AtTip(v) => v,
                Feed::AtContact(v) => {
                    let contact = w[0].site.point.distance(w[1].site.point);
                    let tip = w[0].tip.distance(w[1].tip);
                    if contact > 0.0 && tip > 0.0 { v * tip / contact } else { v }
                }
            })
            .collect();
        Run {
            kind: RunKind::Cut,
            pass,
            poses: s.iter().map(pose).collect(),
            contacts: s
                .iter()
                .map(|s| Contact { point: s.site.point, normal: s.site.normal })
                .collect(),
            tip_feed_mm_s,
        }
    }

    /// Candidate link that stays down: one smooth curve over the tangent plane, whose bend grows and
    /// falls evenly, which rises with a hollow surface as both ends see it and, in its middle, by
    /// `lift` radii more; `None` where the ends lie too far apart or face apart.
    pub(crate) fn stay_down(
        &self,
        end: &Standing,
        start: &Standing,
        lift: f64,
    ) -> Option<Vec<Pose>> {
        let n = (end.site.normal + start.site.normal).normalize();
        let delta = start.site.point - end.site.point;
        let near = delta.length() <= REACH * self.radius_mm.max(self.step_mm);
        if !near || end.site.normal.dot(start.site.normal) < SAME_NORMAL || self.radius_mm <= 0.0 {
            return None;
        }
        let x = (end.feed - n * end.feed.dot(n)).normalize();
        let y = n.cross(x);
        let flat = |v: Vec3| Vec2::new(v.dot(x), v.dot(y));
        let ease_mm = EASE * self.radius_mm;
        let on = Vec2::X * (0.5 * ease_mm);
        let heading_rad = flat(start.feed).to_angle();
        let from = Headed { at: Vec2::ZERO, heading_rad: 0.0 };
        let before = flat(delta) - Vec2::from_angle(heading_rad) * (0.5 * ease_mm);
        let to = Headed { at: before, heading_rad };
        let way = shortest(Headed { at: on, ..from }, to, self.radius_mm);
        let total = ease_mm + way.iter().map(|s| s.length).sum::<f64>();
        let spacing = (8.0 * SMOOTH_MM * self.radius_mm).sqrt();
        let slopes = (end.feed.dot(n), start.feed.dot(n));
        let (hollow0, hollow1) = (Hollow::at(end), Hollow::at(start));
        let (off0, off1) = (end.tip - end.site.point, start.tip - start.site.point);
        let mut out = vec![pose(end)];
        let places = eased(from, &way, ease_mm, spacing);
        let last = places.len() as f64;
        for (k, place) in places.into_iter().enumerate() {
            let f = (k + 1) as f64 / last;
            let along = x * place.x + y * place.y;
            let ways = (hollow0.rise_mm(along), hollow1.rise_mm(along - delta));
            let height = rise(delta.dot(n), slopes, total, f)
                + lift * self.radius_mm * hump(f)
                + ways.0
                + (ways.1 - ways.0) * smooth(f);
            let contact = end.site.point + along + n * height;
            let axis = slerp(end.axis, start.axis, f);
            out.push(Pose { tip: contact + off0.lerp(off1, f), axis });
        }
        if let Some(last) = out.last_mut() {
            *last = pose(start);
        }
        Some(out)
    }

    /// A run at feed that cuts nothing.
    pub(crate) fn at_feed(&self, kind: RunKind, pass: usize, poses: Vec<Pose>) -> Run {
        self.run(kind, pass, poses, self.speed())
    }
}

/// How the tip climbs where the surface is hollow about a standing cutter.
struct Hollow {
    along_profile: Vec3,
    around: Vec3,
    rising: Sym2,
}

impl Hollow {
    fn at(s: &Standing) -> Self {
        let relative = Relative::at(&s.site, s.axis, &s.contact);
        let climb = relative.and_then(|r| r.climb());
        Self {
            along_profile: relative.map_or(Vec3::ZERO, |r| r.along_profile),
            around: relative.map_or(Vec3::ZERO, |r| r.around),
            rising: climb.map_or(Sym2::default(), Sym2::rising),
        }
    }

    /// Height over the tangent plane at a distance from the contact.
    fn rise_mm(&self, away: Vec3) -> f64 {
        0.5 * self.rising.form(away.dot(self.along_profile), away.dot(self.around))
    }
}

/// Cubic from 0 to `height` with the given slopes at both ends of a way of length `total`.
fn rise(height: f64, slopes: (f64, f64), total: f64, f: f64) -> f64 {
    let g = 1.0 - f;
    slopes.0 * total * g * g * f + height * f * f * (3.0 - 2.0 * f) - slopes.1 * total * f * f * g
}

/// Smooth from 0 to 1 and back, level and straight at both ends and on top.
fn hump(f: f64) -> f64 {
    smooth(2.0 * f.min(1.0 - f))
}

/// Smooth from 0 to 1, level and straight at both ends.
fn smooth(f: f64) -> f64 {
    f * f * f * (10.0 - 15.0 * f + 6.0 * f * f)
}

/// Great-circle interpolation of unit vectors; opposite ones go over no particular side.
pub(crate) fn slerp(a: Vec3, b: Vec3, f: f64) -> Vec3 {
    let angle = a.cross(b).length().atan2(a.dot(b));
    let sin = angle.sin();
    if sin <= geom::tolerance::PARALLEL_RAD {
        return a.lerp(b, f).normalize_or(a);
    }
    ((a * ((1.0 - f) * angle).sin() + b * (f * angle).sin()) / sin).normalize()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slerp_keeps_an_even_rate() {
        // derived: a quarter of 40° is 10°, which normalised linear interpolation misses
        let b = Vec3::new(40_f64.to_radians().sin(), 0.0, 40_f64.to_radians().cos());
        let q = slerp(Vec3::Z, b, 0.25);
        assert!((q.x.atan2(q.z).to_degrees() - 10.0).abs() < 1e-12);
    }

    #[test]
    fn humps_and_rises_meet_their_ends() {
        assert_eq!((hump(0.0), hump(0.5), hump(1.0)), (0.0, 1.0, 0.0));
        assert!((rise(0.3, (0.1, -0.2), 8.0, 1.0) - 0.3).abs() < 1e-15);
        let slope = rise(0.3, (0.1, -0.2), 8.0, 1e-7) / (8.0 * 1e-7);
        assert!((slope - 0.1).abs() < 1e-5);
    }
}
