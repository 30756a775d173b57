//! Which way the axis leans: as asked where that is clear, else with the smallest change that is.

use clearance::Obstacle;
use clearance::fitting::Station;
use cutter::axis::Side;
use toolpath::Pose;

use crate::clear::{only_touches, room_at_mm, room_mm};
use crate::error::{At, AxisTried, PatternError};
use crate::job::{AxisRule, FaceJob, LeanSide, Traverse};
use crate::prove::Obstruction;
use crate::remedy::{Remedy, largest_arc};
use crate::stance::{Rule, Stance};

/// Places of the feature at which leans are compared.
const STATIONS: usize = 120;
/// Contact angles that are tried over the usable band.
const ANGLES: usize = 13;
/// Changes of the lead that are tried, deg.
const LEADS_DEG: [f64; 6] = [3.0, -3.0, 6.0, -6.0, 10.0, -10.0];
/// Arc needed beside the contact as a share of the step: half, and some for its bend.
const SIDE: f64 = 0.502;
/// Axes that are tried after proofs have failed.
const ROUNDS: usize = 6;
/// What a change of the lead counts against one of the contact angle: a lead turns the arc away from
/// standing across the feed and costs step-over, another contact angle within the band does not.
const LEAD_COUNTS: f64 = 2.0;
/// Room that neck, shank and holder need, mm.
pub(crate) const ROOM_MM: f64 = 0.2;
/// How much more room the other side must give to be taken where either will do, mm.
const WORTH_MM: f64 = 0.5;

/// Whether the cutter touches everywhere without gouging beside its contact.
///
/// # Errors
/// The first place in the grid's order where it does not touch; where it gouges the worst place, with
/// the largest arc that fits the whole feature.
pub(crate) fn survey(stations: &[Station], stance: &Stance<'_>) -> Result<(), PatternError> {
    let mut worst: Option<PatternError> = None;
    for s in stations {
        let standing = stance.stand(&s.site, s.feed, false)?;
        match stance.relative(&standing) {
            Ok(_) => {}
            Err(e) if tighter(&e, worst.as_ref()) => worst = Some(e),
            Err(_) => {}
        }
    }
    match worst {
        Some(PatternError::Gouges { at, surface_radius_mm, largest_arc_mm }) => {
            let fitting = largest_arc(stations, stance).unwrap_or(largest_arc_mm);
            Err(PatternError::Gouges { at, surface_radius_mm, largest_arc_mm: fitting })
        }
        Some(other) => Err(other),
        None => Ok(()),
    }
}

fn tighter(e: &PatternError, than: Option<&PatternError>) -> bool {
    let radius = |e: &PatternError| match e {
        PatternError::Gouges { surface_radius_mm, .. } => *surface_radius_mm,
        _ => f64::INFINITY,
    };
    than.is_none_or(|w| radius(e) < radius(w))
}

/// What proofs have found so far: where something stood in the way, and of which axis.
#[derive(Debug, Default)]
pub(crate) struct Lessons {
    /// Where.
    pub(crate) obstructions: Vec<Obstruction>,
    /// Rules for the axis that were proven not to do.
    pub(crate) refused: Vec<Rule>,
}

impl Lessons {
    fn last(&self) -> Option<&Obstruction> {
        self.obstructions.last()
    }
}

/// What a choice is made with.
pub(crate) struct Choice<'c, 'a> {
    pub(crate) job: &'c FaceJob<'a>,
    pub(crate) asked: Stance<'a>,
    pub(crate) stations: &'c [Station],
    pub(crate) obstacles: &'c [Obstacle<'c>],
    pub(crate) lessons: &'c Lessons,
}

/// The best so far with its room, mm.
struct Best<'a> {
    room_mm: f64,
    stance: Stance<'a>,
}

impl<'a> Choice<'_, 'a> {
    /// The stance to use: of the sides, angles and leads permitted the one with the smallest change
    /// that gives neck, shank and holder room at the stations, and keeps clear where proofs have
    /// failed before.
    ///
    /// # Errors
    /// [`PatternError::Collides`] where none does.
    pub(crate) fn made(&self) -> Result<Stance<'a>, PatternError> {
        let Rule::Tilted { .. } = self.asked.rule else {
            return self.lessons.last().map_or(Ok(self.asked), |o| Err(self.obstructed(o)));
        };
        if let Some(o) = self.lessons.last().filter(|_| self.lessons.refused.len() > ROUNDS) {
            return Err(self.obstructed(o));
        }
        let stride = (self.stations.len() / STATIONS).max(1);
        let some: Vec<Station> = self.stations.iter().copied().step_by(stride).collect();
        match (self.roomiest(&some), self.lessons.last()) {
            (Some(b), _) if b.room_mm >= ROOM_MM => Ok(b.stance),
            (_, Some(o)) => Err(self.obstructed(o)),
            (Some(b), None) => Err(self.too_narrow(&b.stance, &some)),
            (None, None) => Ok(self.asked),
        }
    }

    /// The first lean with room enough, on the side with clearly more; else the one with the most.
    fn roomiest(&self, some: &[Station]) -> Option<Best<'a>> {
        let Rule::Tilted { side, .. } = self.asked.rule else { return None };
        let sides = if self.either_side() { vec![side, other(side)] } else { vec![side] };
        let mut best: Option<Best<'a>> = None;
        let mut narrow: Vec<usize> = Vec::new();
        for (kappa_rad, lead_rad) in self.leans() {
            for side in &sides {
                let rule = Rule::Tilted { kappa_rad, lead_rad, side: *side };
                let tried = Stance { rule, ..self.asked };
                let least = best.as_ref().map_or(f64::NEG_INFINITY, |b| b.room_mm + WORTH_MM);
                let gained = self.room(&tried, some, least, &mut narrow);
                if let Some(room_mm) = gained.filter(|r| *r > least) {
                    best = Some(Best { room_mm, stance: tried });
                }
            }
            if best.as_ref().is_some_and(|b| b.room_mm >= ROOM_MM) {
                break;
            }
        }
        best
    }

    /// Contact angles and leads: those asked for, then by how much they change.
    fn leans(&self) -> Vec<(f64, f64)> {
        let Rule::Tilted { kappa_rad, lead_rad, .. } = self.asked.rule else { return Vec::new() };
        let (lo, hi) = band(&self.asked, self.stations);
        let over = |i: usize| lo + (hi - lo) * i as f64 / (ANGLES - 1) as f64;
        let angles: Vec<f64> = (0..ANGLES)
            .map(over)
            .filter(|k| (k - kappa_rad).abs() > geom::tolerance::PARALLEL_RAD)
            .chain([kappa_rad])
            .collect();
        let leads: Vec<f64> = LEADS_DEG
            .iter()
            .map(|change| lead_rad + change.to_radians())
            .chain([lead_rad])
            .collect();
        let mut out: Vec<(f64, f64)> =
            angles.iter().flat_map(|k| leads.iter().map(|l| (*k, *l))).collect();
        let change =
            |(k, l): &(f64, f64)| (k - kappa_rad).abs() + LEAD_COUNTS * (l - lead_rad).abs();
        out.sort_by(|a, b| change(a).total_cmp(&change(b)));
        out
    }

    /// Room of neck, shank and holder over the stations, mm; `None` where the cutter cannot stand, or
    /// has no more than `least_mm` at one of the places that were narrow for axes before.
    fn room(
        &self,
        tried: &Stance<'_>,
        some: &[Station],
        least_mm: f64,
        narrow: &mut Vec<usize>,
    ) -> Option<f64> {
        if self.lessons.refused.contains(&tried.rule) || !self.heeds(tried) {
            return None;
        }
        let assembly = self.job.assembly;
        let at = |k: usize| self.poses(tried, &some[k]);
        for k in narrow.iter() {
            let room = room_mm(assembly, &at(*k)?, self.obstacles);
            if room < ROOM_MM && room <= least_mm {
                return None;
            }
        }
        if some.iter().any(|s| tried.allowed_mm(&s.site, s.feed).is_err()) {
            return None;
        }
        let poses: Vec<Vec<Pose>> = (0..some.len()).map(at).collect::<Option<_>>()?;
        let rooms = crate::clear::rooms_mm(assembly, &poses, self.obstacles);
        let (k, room) = rooms.into_iter().enumerate().min_by(|a, b| a.1.total_cmp(&b.1))?;
        if room < ROOM_MM && !narrow.contains(&k) {
            narrow.push(k);
        }
        Some(room)
    }

    /// Poses at a station: one for each way in which it is driven.
    fn poses(&self, stance: &Stance<'_>, s: &Station) -> Option<Vec<Pose>> {
        let leads = matches!(stance.rule, Rule::Tilted { lead_rad, .. } if lead_rad != 0.0);
        let both = leads && self.job.traverse == Traverse::BothWays;
        [false, true]
            .into_iter()
            .take(if both { 2 } else { 1 })
            .map(|against| pose(stance, s, against))
            .collect()
    }

    /// Whether a stance is clear where proofs have failed before.
    fn heeds(&self, tried: &Stance<'_>) -> bool {
        let assembly = self.job.assembly;
        self.lessons.obstructions.iter().all(|o| {
            pose(tried, &o.station, o.against).is_some_and(|p| {
                room_at_mm(assembly, p, self.obstacles) >= ROOM_MM
                    && only_touches(assembly, p, self.obstacles)
            })
        })
    }

    /// What stood in the way at last.
    fn obstructed(&self, o: &Obstruction) -> PatternError {
        PatternError::Collides {
            body: o.what.body.name(),
            with: o.what.with(),
            at: At(o.what.place),
            on: Some((o.on, o.pass)),
            depth_mm: o.what.depth_mm,
            tried: self.tried(),
            remedy: self.finer(
                o.what.depth_mm,
                moved(o.what.with(), self.remedy().words(&self.asked, &[(o.station, o.against)])),
            ),
        }
    }

    /// What to do with a mesh into which the cutter digs no deeper than its facets leave in doubt.
    fn finer(&self, depth_mm: f64, remedy: String) -> String {
        let meshed = self.job.faces.iter().any(|f| self.job.part.faces[*f].surface.is_none());
        if !meshed || !(0.0..FACET_MM).contains(&depth_mm) {
            return remedy;
        }
        format!(
            "export the mesh more finely (between the corners of its facets, and beside its borders, \
             the face is only estimated); or {remedy}"
        )
    }

    /// The place with the least room under the best that there is.
    fn too_narrow(&self, stance: &Stance<'_>, some: &[Station]) -> PatternError {
        let near = |s: &Station| {
            let at = pose(stance, s, false)?;
            let what = crate::clear::behind_at(self.job.assembly, at, self.obstacles)?;
            Some((*s, what))
        };
        let mut worst: Vec<_> = some.iter().filter_map(near).collect();
        worst.sort_by(|a, b| a.1.distance_mm.total_cmp(&b.1.distance_mm));
        let Some((_, what)) = worst.first() else { return PatternError::NoPass };
        let places: Vec<(Station, bool)> =
            worst.iter().take(PLACES).map(|(s, _)| (*s, false)).collect();
        let with = if what.obstacle == 0 { "part" } else { "fixture" };
        PatternError::Collides {
            body: what.what.name(),
            with,
            at: At(what.place),
            on: None,
            depth_mm: -what.distance_mm,
            tried: self.tried(),
            remedy: moved(with, self.remedy().words(stance, &places)),
        }
    }

    fn tried(&self) -> AxisTried {
        match self.asked.rule {
            Rule::Fixed(_) => AxisTried::Fixed,
            Rule::Normal => AxisTried::Normal,
            Rule::Tilted { lead_rad, .. } => {
                let (lo, hi) = band(&self.asked, self.stations);
                let most = LEADS_DEG.iter().copied().fold(0.0, f64::max);
                let lead = lead_rad.to_degrees();
                AxisTried::Band {
                    kappa_deg: (lo.to_degrees(), hi.to_degrees()),
                    lead_deg: (lead - most, lead + most),
                }
            }
        }
    }

    fn remedy(&self) -> Remedy<'_> {
        Remedy {
            spec: self.job.assembly.cutter.spec(),
            all: self.stations,
            obstacles: self.obstacles,
            either_side: self.either_side(),
        }
    }

    fn either_side(&self) -> bool {
        matches!(self.job.axis, AxisRule::Tilted { lean: LeanSide::Auto, .. })
    }
}

/// What else there is to do where a fixture stands in the way.
fn moved(with: &str, remedy: String) -> String {
    if with == "fixture" { format!("move the fixture, or {remedy}") } else { remedy }
}

/// How far the facets of a coarse mesh may leave its face in doubt, mm.
const FACET_MM: f64 = 0.2;
/// Narrowest places at which another cutter is tried.
const PLACES: usize = 8;

pub(crate) fn other(side: Side) -> Side {
    if side == Side::Left { Side::Right } else { Side::Left }
}

/// Contact angles that leave enough of the arc beside the contact for the step.
pub(crate) fn band(stance: &Stance<'_>, stations: &[Station]) -> (f64, f64) {
    let step = stations
        .iter()
        .step_by((stations.len() / 16).max(1))
        .filter_map(|s| stance.allowed_mm(&s.site, s.feed).ok())
        .fold(0.0, f64::max);
    let whole = stance.cutter.usable_kappa_rad().unwrap_or((0.0, 0.0));
    let (lo, hi) = stance.cutter.kappa_with_side_rad(SIDE * step).unwrap_or(whole);
    // a cutter lying flat would drag its shank along: the axis stays off the tangent plane
    (lo, hi.min(std::f64::consts::FRAC_PI_2))
}

/// The pose at a station.
pub(crate) fn pose(stance: &Stance<'_>, s: &Station, against: bool) -> Option<Pose> {
    let standing = stance.stand(&s.site, s.feed, against).ok()?;
    Some(crate::link::pose(&standing))
}
