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
use crate::slice::{OnSlice, Slice, slices};
use crate::strip::StripSample;

/// Share of the mean slope of a line below which a place is too flat for levels: it would crowd
/// them everywhere else, and is filled otherwise.
pub(crate) const FLAT_SHARE: f64 = 0.3;
/// Most levels.
const MOST_LEVELS: usize = 20_000;
/// Spacing over what is allowed that is aimed at.
const AIM: f64 = 0.992;
/// How near to it is near enough.
const NEAR: f64 = 0.006;
/// Tries for a height.
const TRIES: usize = 14;
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
        let flat = FLAT_SHARE * level.mean_slope(self.up);
        for place in level.places.iter_mut().flatten() {
            let steep = slope(&place.on, self.up) >= flat;
            let stands = || reach.touching(&place.on.site, place.on.forward).is_some();
            place.allowed_mm = (steep && stands())
                .then(|| reach.stance.allowed_mm(&place.on.site, place.on.forward).ok())
                .flatten();
        }
        level
    }

    /// Heights from the top down, no spacing wider than allowed where the cutter stands.
    fn levels(&self, reach: &Reach<'_>) -> Result<Vec<Level<'a>>, PatternError> {
        let along_mm = self.along_mm(reach);
        let (lo, hi) = self.range();
        let rim = RIM * (hi - lo);
        let (lo, hi) = (lo + rim, hi - rim);
        let mut out: Vec<Level<'a>> = Vec::new();
        let mut above = self.level(reach, hi, along_mm);
        let bottom = self.level(reach, lo, along_mm);
        let mut share = (0.5 - above.beyond(rim, self.up)).max(0.25);
        let left = (0.5 - bottom.beyond(rim, self.up)).max(0.25);
        while out.len() < MOST_LEVELS {
            let next = self.below(reach, &above, lo, share * AIM, along_mm)?;
            if next.height <= lo {
                // less than a step is left: in its middle along the surface, and near enough to the rim
                let across = widest(&above, &bottom);
                let share = (across - left).max(0.5 * across);
                let last = self.below(reach, &above, lo, share, along_mm)?;
                let height = if last.height > lo { last.height } else { 0.5 * (lo + above.height) };
                out.push(self.level(reach, height, along_mm));
                break;
            }
            // half a step from the lower rim nothing is left to cut
            let last = widest(&next, &bottom) <= left;
            above = self.level(reach, next.height, along_mm);
            out.push(next);
            share = 1.0;
            if last {
                break;
            }
        }
        if out.len() == MOST_LEVELS {
            return Err(PatternError::TooManyPasses { passes: MOST_LEVELS as f64 });
        }
        Ok(out)
    }

    /// The lowest height whose lines lie no more than `share` steps from those above.
    fn below(
        &self,
        reach: &Reach<'_>,
        above: &Level<'a>,
        lo: f64,
        share: f64,
        along_mm: f64,
    ) -> Result<Level<'a>, PatternError> {
        let needed = |p: &Place| Some(p.allowed_mm? * slope(&p.on, self.up));
        let first = above.places.iter().flatten().filter_map(needed).fold(f64::INFINITY, f64::min);
        let unsure = if first.is_finite() { first } else { along_mm };
        let mut drop = share * unsure.max(1e-4 * along_mm);
        let (mut fits, mut wide): (Option<Level<'a>>, Option<f64>) = (None, None);
        for _ in 0..TRIES {
            let height = (above.height - drop).max(lo);
            let tried = self.level(reach, height, along_mm);
            let ratio = widest(above, &tried) / share;
            let fit = ratio <= 1.0;
            if fit {
                let done = height <= lo || ratio >= 1.0 - NEAR;
                let height = tried.height;
                fits = Some(tried);
                if done {
                    break;
                }
                let grown = drop * (1.0 / ratio.max(0.25)).min(2.0);
                drop = wide.map_or(grown, |w| grown.min(0.5 * (above.height - height + w)));
            } else {
                wide = Some(drop);
                let least = fits.as_ref().map_or(0.0, |f| above.height - f.height);
                drop = (drop * (1.0 - 0.5 * NEAR) / ratio).max(0.5 * (least + drop).min(drop));
            }
            if let Some((f, w)) = fits.as_ref().zip(wide)
                && w - (above.height - f.height) < NEAR * w
            {
                break;
            }
        }
        fits.ok_or(PatternError::NoPass)
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

/// Sine of the angle between surface and plan.
fn slope(place: &OnSlice, up: Vec3) -> f64 {
    place.site.normal.cross(up).length()
}

impl Level<'_> {
    fn mean_slope(&self, up: Vec3) -> f64 {
        let all: Vec<f64> = self.places.iter().flatten().map(|p| slope(&p.on, up)).collect();
        all.iter().sum::<f64>() / (all.len() as f64).max(1.0)
    }

    /// How far a rim lies beyond the line, `rim_mm` higher or lower, over the step allowed. A surface
    /// that runs out flat is that much wider: at the height z over its foot an arc of slope s is still
    /// 2 z / s long (derived: z = d² / 2 r, s = d / r).
    fn beyond(&self, rim_mm: f64, up: Vec3) -> f64 {
        let places = self.places.iter().flatten();
        let share = |p: &Place| Some(2.0 * rim_mm / (slope(&p.on, up) * p.allowed_mm?));
        places.filter_map(share).fold(0.0, f64::max)
    }

    fn points(&self) -> Vec<Vec<Vec3>> {
        self.places.iter().map(|l| l.iter().map(|p| p.on.site.point).collect()).collect()
    }
}

/// Widest spacing of two levels over what is allowed.
fn widest(above: &Level<'_>, below: &Level<'_>) -> f64 {
    let most = above.places.iter().flatten().filter_map(|p| p.allowed_mm).fold(0.0, f64::max);
    if most <= 0.0 {
        return 0.0;
    }
    let lines = Lines::new(&below.points(), 3.0 * most);
    above
        .places
        .iter()
        .flatten()
        .filter_map(|p| {
            let allowed = p.allowed_mm?;
            let Some((_, foot)) = lines.nearest(p.on.site.point) else { return Some(3.0) };
            let spacing = spacing(p, foot)?;
            Some(spacing / allowed)
        })
        .fold(0.0, f64::max)
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
            let (_, foot) = lines.nearest(p.on.site.point)?;
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
