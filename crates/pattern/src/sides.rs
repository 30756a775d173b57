//! Features with walls: what faces up is laid out in plan, walls get lines at constant height, and
//! what the cutter cannot reach is left over and told.

use clearance::Obstacle;
use clearance::fitting::Station;
use geom::{Site, Vec2, Vec3};
use rayon::prelude::*;

use crate::atlas::{Atlas, polyline};
use crate::chart::{Chart, Shifted, Spot};
use crate::choose::{self, Choice, Lessons};
use crate::chord::cusp_to_lay_mm;
use crate::clear::Surroundings;
use crate::cover;
use crate::drive::Work;
use crate::error::{At, PatternError, Warning};
use crate::family::Family;
use crate::fill::Gaps;
use crate::finish::{MARGIN, MOST_STATIONS, Progress, cells, family, stance};
use crate::ground::Ground;
use crate::job::{FaceJob, Pattern};
use crate::lattice::Lattice;
use crate::lay::{Laid, lay};
use crate::outcome::FacePasses;
use crate::plan::{PlanChart, triangles_of};
use crate::prove::Stopped;
use crate::reach::Reach;
use crate::stance::Stance;
use crate::steep::Steep;
use crate::strip::{StripSample, Strips};
use crate::trim::Piece;
use crate::wall::Wall;

/// Slope from which a triangle is a wall, and from which it faces down: cosines of the angle to +Z
/// (60° and 120°).
const WALL: f64 = 0.5;
const DOWN: f64 = -0.5;
/// Cells over the longer side at which it is first asked where the cutter can stand.
const FEW_CELLS: usize = 60;

/// Triangles of a feature by the side that they turn.
pub(crate) struct Sides<'a> {
    job: &'a FaceJob<'a>,
    walls: Vec<u32>,
    tops: Vec<u32>,
    /// Area that faces down, mm².
    down_mm2: f64,
}

/// Lines of tops and walls.
struct Lines<'a> {
    atlas: Atlas<'a>,
    family: Family<'a>,
    ground: Ground,
    laid: Laid,
}

impl<'a> Sides<'a> {
    /// Of a job's faces; `None` where there is no such face.
    pub(crate) fn of(job: &'a FaceJob<'a>) -> Option<Self> {
        let mesh = &job.part.mesh;
        let mut sides = Self { job, walls: Vec::new(), tops: Vec::new(), down_mm2: 0.0 };
        for t in triangles_of(job.part, job.faces)? {
            let [a, b, c] = mesh.corners(t as usize);
            let cross = (b - a).cross(c - a);
            let up = cross.dot(job.frame.up);
            if up > WALL * cross.length() {
                sides.tops.push(t);
            } else if up > DOWN * cross.length() {
                sides.walls.push(t);
            } else {
                sides.down_mm2 += 0.5 * cross.length();
            }
        }
        Some(sides)
    }

    /// Whether some of it is a wall.
    pub(crate) fn has_walls(&self) -> bool {
        !self.walls.is_empty()
    }

    /// What faces up, in plan.
    pub(crate) fn plan(&self) -> Option<PlanChart<'a>> {
        PlanChart::of_triangles(self.job.part, &self.tops, self.job.frame)
    }

    /// What gets lines at constant height.
    fn wall(&self) -> Wall<'a> {
        let level = self.job.pattern == Pattern::Level;
        let tops: &[u32] = if level { &self.tops } else { &[] };
        let triangles = self.walls.iter().chain(tops).copied().collect();
        Wall { part: self.job.part, triangles, up: self.job.frame.up }
    }

    /// Passes over tops and walls, as far as the cutter reaches.
    ///
    /// # Errors
    /// As [`crate::finish_face`].
    pub(crate) fn finished(&self, progress: Progress<'_>) -> Result<FacePasses, PatternError> {
        let job = self.job;
        let plan = self.plan();
        let wall = self.wall();
        let few = plan.as_ref().map(|p| Lattice::over(p, FEW_CELLS, 0));
        let surroundings = Surroundings::of(job);
        surroundings.with(|obstacles| {
            let all: Vec<Station> = wall
                .places()
                .into_iter()
                .chain(few.iter().flat_map(Lattice::feature).map(|(_, s)| self.station(s)))
                .collect();
            let asked = Stance { cusp_mm: cusp_to_lay_mm(job, &all), ..stance(job) };
            let stations = within_form(&all, &asked)?;
            let steep = self.steep(&all);
            let mut lessons = Lessons::default();
            loop {
                let choice =
                    Choice { job, asked, stations: &stations, obstacles, lessons: &lessons };
                let stance = choice.made()?;
                progress(0.1);
                let reach = self.reach(stance, obstacles, steep);
                let top = plan.as_ref().map(|base| Top::new(base, &reach, self));
                let grid = top.as_ref().map(|t| Lattice::over(t, cells(t, job), MARGIN));
                let lines = self.lines(&wall, top.as_ref().zip(grid.as_ref()), &reach)?;
                progress(0.5);
                let shifted = Shifted { base: &lines.atlas, offset_mm: job.stock_left_mm };
                let (family, ground) = (&lines.family, &lines.ground);
                let work = Work { chart: &shifted, job, stance, ground, family, obstacles };
                match work.finished(lines.laid, progress) {
                    Ok(passes) => return Ok(self.told(passes)),
                    Err(Stopped::Error(e)) => return Err(e),
                    Err(Stopped::InTheWay(obstruction)) => {
                        lessons.obstructions.push(obstruction);
                        lessons.refused.push(stance.rule);
                    }
                }
            }
        })
    }

    /// Passes with what is to be told of the sides that get none.
    pub(crate) fn told(&self, mut passes: FacePasses) -> FacePasses {
        if self.down_mm2 > geom::tolerance::COINCIDENT_MM {
            passes.warnings.push(Warning::NotSeen { area_mm2: self.down_mm2 });
        }
        passes
    }

    /// What gets lines at constant height.
    fn steep(&self, all: &[Station]) -> Steep {
        let up = self.job.frame.up;
        if self.job.pattern == Pattern::Level { Steep::of(all, up) } else { Steep::all(up) }
    }

    fn reach<'r>(
        &self,
        stance: Stance<'r>,
        obstacles: &'r [Obstacle<'r>],
        steep: Steep,
    ) -> Reach<'r>
    where
        'a: 'r,
    {
        let offset_mm = self.job.stock_left_mm;
        let mesh_off_mm = self.job.part.deviation_mm;
        Reach { assembly: self.job.assembly, stance, obstacles, steep, offset_mm, mesh_off_mm }
    }

    /// A place of the plan with the direction of the pattern there.
    fn station(&self, spot: &Spot) -> Station {
        Station { site: spot.site, feed: self.forward(spot) }
    }

    fn forward(&self, spot: &Spot) -> Vec3 {
        let along = self.job.direction_rad.map_or(Vec2::X, Vec2::from_angle);
        let level = self.job.frame.up.cross(spot.site.normal);
        if self.job.pattern == Pattern::Level && level.length() > LEVEL {
            return level.normalize();
        }
        spot.tangent(along).normalize()
    }

    fn lines<'l>(
        &self,
        wall: &Wall<'l>,
        top: Option<(&'l Top<'l>, &'l Lattice)>,
        reach: &Reach<'_>,
    ) -> Result<Lines<'l>, PatternError> {
        let walled = wall.rows(reach, self.job.lead_radius_mm)?;
        let chart = top.map(|t| t.0 as &dyn Chart);
        let atlas = Atlas::new(chart, walled.rows);
        let mut pieces = atlas.pieces();
        let mut strips = Strips { strips: walled.strips };
        let mut ground = walled.ground;
        let mut over = Family::Straight { along: Vec2::X };
        if let Some((top, lattice)) = top.filter(|t| t.1.inside.iter().any(|i| *i)) {
            let rows = strips.strips.len() + 1;
            let (more, measured) = if self.job.pattern == Pattern::Level {
                (self.filled(&atlas, &pieces, top, reach, &mut strips)?, Vec::new())
            } else {
                let family = family(top, self.job, lattice, &reach.stance)?;
                let laid = lay(top, lattice, &family, &reach.stance, self.job)?;
                ground = ground.and(Ground::of_lattice(top, lattice, &family));
                over = family;
                (laid.pieces, laid.strips.strips)
            };
            pieces.extend(more.into_iter().map(|p| Piece { level: p.level + rows, ..p }));
            strips.strips.push(Vec::new());
            strips.strips.extend(measured);
        }
        if pieces.is_empty() {
            let at = ground.stations().first().map_or(Vec3::ZERO, |s| s.site.point);
            return Err(PatternError::NotReached { at: At(at) });
        }
        Ok(Lines { atlas, family: over, ground, laid: Laid { pieces, strips } })
    }

    /// Lines where levels leave places; strips between levels that they cover are dropped.
    fn filled(
        &self,
        atlas: &Atlas<'_>,
        rows: &[Piece],
        top: &Top<'_>,
        reach: &Reach<'_>,
        strips: &mut Strips,
    ) -> Result<Vec<Piece>, PatternError> {
        let step = reach.stance.stepover_mm.unwrap_or(FINE_MM);
        let mut lines: Vec<Vec<Vec3>> =
            rows.par_iter().map(|p| polyline(atlas, p, 0.25 * step)).collect();
        let stands = |site: &Site, forward: Vec3| reach.standing(site, forward).is_some();
        let (stance, up) = (&reach.stance, self.job.frame.up);
        let gaps = Gaps { chart: top, stance, stands: &stands, up, steep: &reach.steep };
        let levels = lines.len();
        let pieces = gaps.filled(&mut lines, 0)?;
        let more = cover::Lines::new(&lines[levels..], step);
        let half = |s: &StripSample| 0.5 * s.allowed_mm.unwrap_or(step);
        strips.strips.iter_mut().for_each(|strip| {
            strip.retain(|s| more.nearest(s.point).is_none_or(|n| n.distance_mm > half(s)));
        });
        Ok(pieces)
    }
}

/// Slope from which the direction along a level is known (sine).
const LEVEL: f64 = 1e-4;
/// Spacing of the places along a line where only a cusp is asked for, mm.
const FINE_MM: f64 = 0.5;

/// The places at which the cutter's form takes the angle.
fn within_form(all: &[Station], asked: &Stance<'_>) -> Result<Vec<Station>, PatternError> {
    let takes = |s: &&Station| asked.allowed_mm(&s.site, s.feed).is_ok();
    let some: Vec<Station> = all.iter().filter(takes).copied().collect();
    let Some(first) = all.first() else { return Err(PatternError::NothingSeen) };
    if some.is_empty() {
        choose::survey(all, asked)?;
        asked.allowed_mm(&first.site, first.feed)?;
    }
    let stride = (some.len() / MOST_STATIONS).max(1);
    Ok(some.into_iter().step_by(stride).collect())
}

/// What faces up, as far as the cutter can stand there.
struct Top<'a> {
    base: &'a PlanChart<'a>,
    reach: &'a Reach<'a>,
    sides: &'a Sides<'a>,
    /// Nodes at which the cutter digs in elsewhere, or does not touch; none: it stands everywhere.
    not: Option<(Lattice, Vec<bool>)>,
}

impl<'a> Top<'a> {
    fn new(base: &'a PlanChart<'a>, reach: &'a Reach<'a>, sides: &'a Sides<'a>) -> Self {
        let grid = Lattice::over(base, cells(base, sides.job), MARGIN);
        let stands = |s: &Spot| {
            let at = sides.station(s);
            reach.standing(&at.site, at.feed).is_some()
        };
        let not: Vec<bool> = grid
            .spots
            .par_iter()
            .zip(&grid.inside)
            .map(|(spot, inside)| *inside && !spot.as_ref().is_some_and(stands))
            .collect();
        let some = not.iter().any(|n| *n);
        Self { base, reach, sides, not: some.then_some((grid, not)) }
    }

    fn stands(&self, spot: &Spot) -> bool {
        let Some((grid, not)) = &self.not else { return true };
        let at = self.sides.station(spot);
        self.reach.touching(&at.site, at.feed).is_some()
            && !grid.nearest(spot.q).is_some_and(|k| not[k])
    }
}

impl Chart for Top<'_> {
    fn bounds(&self) -> (Vec2, Vec2) {
        self.base.bounds()
    }
    fn covers(&self, q: Vec2) -> bool {
        if self.not.is_none() { self.base.covers(q) } else { self.at(q).is_some() }
    }
    fn at(&self, q: Vec2) -> Option<Spot> {
        self.base.at(q).filter(|s| self.stands(s))
    }
    fn corners(&self) -> Vec<Vec2> {
        self.base.corners()
    }
    fn area_mm2(&self) -> f64 {
        self.base.area_mm2()
    }
    fn beyond(&self, near: &Spot, q: Vec2) -> Option<Spot> {
        self.base.beyond(near, q)
    }
}
