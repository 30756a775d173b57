//! Lines at constant height over all faces of a feature, so close that they hold the step along the
//! surface, on vertical walls as well.

use clearance::fitting::Station;
use geom::{Vec2, Vec3};
use part::Part;
use rayon::prelude::*;

use crate::atlas::Row;
use crate::cover::Lines;
use crate::error::PatternError;
use crate::ground::Ground;
use crate::reach::{Reach, stops};
use crate::rung;
use crate::slice::{OnSlice, Slice, slices};
use crate::steep::Steep;
use crate::strip::StripSample;

/// Heights at which it is first asked where the cutter can stand.
const FEW_LEVELS: usize = 24;
/// How far from the rims the outermost lines are looked for, as a share of the height.
const RIM: f64 = 1e-6;
/// Largest spacing of places along a line, steps, and its limits, mm.
const ALONG: (f64, f64, f64) = (0.5, 0.05, 1.5);
/// How exactly the lowest height that is reached is found, mm.
const LIMIT_MM: f64 = 4e-3;
/// Spacing of the places at which it is asked whether the cutter can stand, mm.
const REACH_MM: f64 = 1.0;
/// Share of a line's length that counts as the whole.
const WHOLE: f64 = 0.98;

/// Faces that lines at constant height are laid on.
pub(crate) struct Wall<'a> {
    pub(crate) part: &'a Part,
    pub(crate) triangles: Vec<u32>,
    pub(crate) up: Vec3,
}

/// Rows with what was measured between them.
pub(crate) struct Walled<'a> {
    pub(crate) rows: Vec<Row<'a>>,
    pub(crate) strips: Vec<Vec<StripSample>>,
    pub(crate) ground: Ground,
}

/// A line's places.
struct Level<'a> {
    height: f64,
    lines: Vec<Slice<'a>>,
    places: Vec<Vec<Place>>,
}

#[derive(Clone, Copy)]
struct Place {
    on: OnSlice,
    /// Step allowed; `None` where the cutter does not stand, or the place is too flat for levels.
    allowed_mm: Option<f64>,
}

impl<'a> Wall<'a> {
    fn range(&self) -> (f64, f64) {
        let mesh = &self.part.mesh;
        self.triangles
            .iter()
            .flat_map(|t| mesh.corners(*t as usize))
            .map(|p| p.dot(self.up))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), h| (lo.min(h), hi.max(h)))
    }

    /// A spacing of places that suits the step.
    fn along_mm(&self, reach: &Reach<'_>) -> f64 {
        let (share, least, most) = ALONG;
        reach.stance.stepover_mm.map_or(most, |s| (share * s).clamp(least, most))
    }

    fn level(&self, reach: &Reach<'_>, height: f64, along_mm: f64) -> Level<'a> {
        let lines = slices(self.part, &self.triangles, self.up, height);
        let places = lines
            .iter()
            .map(|line| {
                stops(line, 0.0, along_mm)
                    .into_iter()
                    .filter_map(|t| Some(Place { on: line.at(t)?, allowed_mm: None }))
                    .collect::<Vec<Place>>()
            })
            .collect();
        let mut level = Level { height, lines, places };
        for place in level.places.iter_mut().flatten() {
            let standing = reach.touching(&place.on.site, place.on.forward);
            place.allowed_mm = standing
                .and_then(|_| reach.stance.allowed_mm(&place.on.site, place.on.forward).ok())
                .filter(|mm| reach.steep.near(&place.on.site, 0.5 * mm));
        }
        level
    }

    /// Levels from the top down, no spacing wider than allowed where the cutter stands.
    fn levels(&self, reach: &Reach<'_>) -> Result<Vec<Level<'a>>, PatternError> {
        let along_mm = self.along_mm(reach);
        let (lo, hi) = self.range();
        let rim = RIM * (hi - lo);
        let rate = |height: f64| self.level(reach, height, along_mm).strips_per_mm(&reach.steep);
        let heights = rung::heights(lo + rim, hi - rim, &rate)?;
        Ok(heights.into_par_iter().map(|h| self.level(reach, h, along_mm)).collect())
    }

    /// Places all over the faces, with the direction of the lines.
    pub(crate) fn places(&self) -> Vec<Station> {
        let (lo, hi) = self.range();
        (0..FEW_LEVELS)
            .map(|k| lo + (hi - lo) * (k as f64 + 0.5) / FEW_LEVELS as f64)
            .flat_map(|height| slices(self.part, &self.triangles, self.up, height))
            .flat_map(|line| {
                let places: Vec<OnSlice> =
                    stops(&line, 0.0, ALONG.2).into_iter().filter_map(|t| line.at(t)).collect();
                places
            })
            .map(|p| Station { site: p.site, feed: p.forward })
            .collect()
    }

    /// Rows over all that is reached. Closed lines begin a little farther along than those above, so
    /// that a way with turns of `radius_mm` leads on from one to the next.
    pub(crate) fn rows(
        &self,
        reach: &Reach<'_>,
        radius_mm: f64,
    ) -> Result<Walled<'a>, PatternError> {
        let along_mm = self.along_mm(reach);
        let mut levels = self.levels(reach)?;
        let mut reached: Vec<Vec<Row<'a>>> =
            levels.par_iter().map(|l| reach_of(reach, l, along_mm)).collect();
        self.down_to_the_limit(reach, along_mm, &mut levels, &mut reached);
        staggered(&mut reached, radius_mm);
        levels.reverse();
        reached.reverse();
        let strips = levels.windows(2).map(|w| between(reach, &w[0], &w[1], self.up)).collect();
        let ground = Ground::of_places(levels.iter().flat_map(|l| stations(l)));
        let mut rows: Vec<Row<'a>> = Vec::new();
        for (level, of_level) in reached.into_iter().enumerate() {
            rows.extend(of_level.into_iter().map(|r| Row { level, ..r }));
        }
        Ok(Walled { rows, strips, ground })
    }

    /// Where a level is reached and the next one is not, the lowest height between that is.
    fn down_to_the_limit(
        &self,
        reach: &Reach<'_>,
        along_mm: f64,
        levels: &mut Vec<Level<'a>>,
        reached: &mut Vec<Vec<Row<'a>>>,
    ) {
        let length = |rows: &[Row<'_>]| rows.iter().map(Row::length_mm).sum::<f64>();
        let mut k = 0;
        while k + 1 < levels.len() {
            let (above, below) = (length(&reached[k]), length(&reached[k + 1]));
            k += 1;
            if below >= WHOLE * above {
                continue;
            }
            let (mut good, mut bad) = (levels[k - 1].height, levels[k].height);
            let mut found: Option<(Level<'a>, Vec<Row<'a>>)> = None;
            while good - bad > LIMIT_MM {
                let level = self.level(reach, 0.5 * (good + bad), along_mm);
                let rows = reach_of(reach, &level, along_mm);
                if length(&rows) >= WHOLE * above {
                    good = level.height;
                    found = Some((level, rows));
                } else {
                    bad = level.height;
                }
            }
            if let Some((level, rows)) = found {
                levels.insert(k, level);
                reached.insert(k, rows);
                k += 1;
            }
        }
    }
}

fn reach_of<'a>(reach: &Reach<'_>, level: &Level<'a>, along_mm: f64) -> Vec<Row<'a>> {
    level
        .lines
        .par_iter()
        .flat_map_iter(|line| reach.rows(line, 0.0, along_mm.max(REACH_MM)))
        .collect()
}

/// Lets each closed line begin where a smooth way from the one above leads to.
fn staggered(levels: &mut [Vec<Row<'_>>], radius_mm: f64) {
    let mut before: Vec<Vec3> = Vec::new();
    for rows in levels {
        let mut starts = Vec::new();
        for row in rows {
            let whole = row.spans.len() == 1
                && row.slice.closed
                && row.length_mm() >= row.slice.length_mm() - 1e-9;
            if let (true, Some(first)) = (whole, row.slice.at(0.0)) {
                let off = |p: &Vec3| p.distance_squared(first.site.point);
                let near = before.iter().min_by(|a, b| off(a).total_cmp(&off(b))).copied();
                let begin = near.map_or(0.0, |p| onward(&row.slice, p, radius_mm));
                row.spans = vec![(begin, begin + row.slice.length_mm())];
                starts.extend(row.slice.at(begin).map(|p| p.site.point));
            }
        }
        before = starts;
    }
}

/// The parameter a little farther along a line than the place nearest to a point.
fn onward(slice: &Slice<'_>, from: Vec3, radius_mm: f64) -> f64 {
    let length = slice.length_mm();
    let nearest = stops(slice, 0.0, (0.25 * radius_mm).clamp(0.1, 1.0))
        .into_iter()
        .filter_map(|t| Some((t, slice.at(t)?.site.point.distance(from))))
        .min_by(|a, b| a.1.total_cmp(&b.1));
    let Some((t, apart)) = nearest else { return 0.0 };
    // two arcs that shift a way sideways by `apart` are that long
    (t + crate::link::EASE * radius_mm + 2.2 * (radius_mm * apart).sqrt()).rem_euclid(length)
}

impl Level<'_> {
    /// Strips needed per mm of height, by the steep place that needs most.
    fn strips_per_mm(&self, steep: &Steep) -> f64 {
        let places = self.places.iter().flatten().filter(|p| steep.holds(&p.on.site));
        let needed = |p: &Place| Some(1.0 / (steep.slope(&p.on.site) * p.allowed_mm?));
        places.filter_map(needed).fold(0.0, f64::max)
    }

    fn points(&self) -> Vec<Vec<Vec3>> {
        self.places.iter().map(|l| l.iter().map(|p| p.on.site.point).collect()).collect()
    }
}

/// Spacing along the surface to a place of the next line; `None` where the line ends beside.
fn spacing(p: &Place, foot: Vec3) -> Option<f64> {
    let across = foot - p.on.site.point;
    let chord = across.length();
    let beside = across.dot(p.on.forward).abs();
    if beside > 0.5 * chord {
        return None;
    }
    let n = p.on.site.normal;
    let flat = (across - n * across.dot(n)).try_normalize()?;
    let bend = p.on.site.curvature.along(flat);
    Some(chord * (1.0 + (bend * chord).powi(2) / 24.0))
}

fn between(reach: &Reach<'_>, line: &Level<'_>, next: &Level<'_>, up: Vec3) -> Vec<StripSample> {
    let most = line.places.iter().flatten().filter_map(|p| p.allowed_mm).fold(0.0, f64::max);
    if most <= 0.0 {
        return Vec::new();
    }
    let lines = Lines::new(&next.points(), 3.0 * most);
    line.places
        .iter()
        .flatten()
        .filter_map(|p| {
            p.allowed_mm?;
            let foot = lines.nearest(p.on.site.point)?.place;
            let spacing_mm = spacing(p, foot)?;
            let point = 0.5 * (p.on.site.point + foot);
            Some(StripSample {
                point,
                q: Vec2::new(point.dot(up), 0.0),
                spacing_mm,
                allowed_mm: p.allowed_mm,
                cusp_mm: reach.stance.cusp_mm(&p.on.site, p.on.forward, spacing_mm),
            })
        })
        .collect()
}

fn stations(level: &Level<'_>) -> Vec<(Station, f64)> {
    let of_line = |places: &Vec<Place>| {
        let length = |w: &[Place]| w[0].on.site.point.distance(w[1].on.site.point);
        places
            .windows(2)
            .filter_map(|w| {
                let station = Station { site: w[0].on.site, feed: w[0].on.forward };
                Some((station, w[0].allowed_mm? * length(w)))
            })
            .collect::<Vec<_>>()
    };
    level.places.iter().flat_map(of_line).collect()
}
