//! From a job to passes: chart, levels, pieces, poses, links.

use clearance::Obstacle;
use cutter::axis::Side;
use geom::Vec2;

use crate::chart::{Chart, Shifted};
use crate::choose::{self, Choice, Lessons};
use crate::chord::cusp_to_lay_mm;
use crate::clear::Surroundings;
use crate::drive::Work;
use crate::equal_cusp;
use crate::error::{PatternError, Warning};
use crate::family::{Family, SLIGHT_STIFFNESS, STIFFNESS};
use crate::ground::Ground;
use crate::job::{AxisRule, FaceJob, LeanSide, Pattern};
use crate::lattice::Lattice;
use crate::lay::lay;
use crate::outcome::FacePasses;
use crate::parameter::ParameterChart;
use crate::prove::Stopped;
use crate::sides::Sides;
use crate::spiral;
use crate::stance::{Rule, Stance};

/// Cells over the longer side of the feature.
const CELLS: usize = 160;
/// Cells to a step of a spiral, whose turns have corners; and most of them over the longer side.
const CELLS_PER_STEP: f64 = 12.0;
const MOST_CELLS: usize = 480;
/// Nodes round the feature.
pub(crate) const MARGIN: usize = 12;
/// Most places at which the cutter is tried before passes are laid.
pub(crate) const MOST_STATIONS: usize = 2000;

/// Told how far the work has come, from 0 to 1.
pub type Progress<'a> = &'a (dyn Fn(f64) + Sync);

/// Passes over a face.
///
/// # Errors
/// [`PatternError`]: what does not fit, where, and what would do.
pub fn finish_face(job: &FaceJob<'_>, progress: Progress<'_>) -> Result<FacePasses, PatternError> {
    check(job)?;
    let last = job.part.faces.len().saturating_sub(1);
    if let Some(face) = job.faces.iter().copied().find(|f| *f > last || job.part.faces.is_empty()) {
        return Err(PatternError::NoSuchFace { face, last });
    }
    let mut warnings = Vec::new();
    if job.faces.iter().any(|f| job.part.faces[*f].surface.is_none()) {
        warnings.push(Warning::CurvatureEstimated { deviation_mm: job.part.deviation_mm });
    }
    let mut passes = if matches!(job.pattern, Pattern::AlongU | Pattern::AlongV) {
        let none = PatternError::NoParameters {
            faces: job.faces.len(),
            exact: job.faces.iter().all(|f| job.part.faces[*f].surface.is_some()),
        };
        let [face] = job.faces else { return Err(none) };
        let chart = ParameterChart::new(job.part, *face).ok_or(none)?;
        finish_on(&chart, job, progress)?
    } else {
        let sides = Sides::of(job).ok_or(PatternError::NothingSeen)?;
        if sides.has_walls() || job.pattern == Pattern::Level {
            sides.finished(progress)?
        } else {
            let chart = sides.plan().ok_or(PatternError::NothingSeen)?;
            sides.told(finish_on(&chart, job, progress)?)
        }
    };
    warnings.append(&mut passes.warnings);
    passes.warnings = warnings;
    Ok(passes)
}

fn check(job: &FaceJob<'_>) -> Result<(), PatternError> {
    if job.stepover_mm.is_none() && job.cusp_mm.is_none() {
        return Err(PatternError::NoDensity);
    }
    let positive = [
        ("stepover_mm", job.stepover_mm),
        ("the cusp in mm", job.cusp_mm),
        ("the chord tolerance in mm", job.chord_mm),
    ];
    for (quantity, value) in positive {
        if let Some(value) = value.filter(|v| !(*v > 0.0 && v.is_finite())) {
            return Err(PatternError::Input { quantity, value, expected: "a positive number" });
        }
    }
    let not_negative = [
        ("lead_radius_mm", job.lead_radius_mm),
        ("clearance_mm", job.clearance_mm),
        ("the stock left in mm", job.stock_left_mm),
    ];
    for (quantity, value) in not_negative {
        if !(value >= 0.0 && value.is_finite()) {
            return Err(PatternError::Input { quantity, value, expected: "0 or more" });
        }
    }
    Ok(())
}

/// Passes over a chart.
///
/// # Errors
/// As [`finish_face`].
pub fn finish_on(
    chart: &dyn Chart,
    job: &FaceJob<'_>,
    progress: Progress<'_>,
) -> Result<FacePasses, PatternError> {
    check(job)?;
    let shifted = Shifted { base: chart, offset_mm: job.stock_left_mm };
    let chart: &dyn Chart = if job.stock_left_mm > 0.0 { &shifted } else { chart };
    let lattice = Lattice::over(chart, cells(chart, job), MARGIN);
    progress(0.1);
    let surroundings = Surroundings::of(job);
    surroundings.with(|obstacles| {
        let mut lessons = Lessons::default();
        loop {
            let (first, stance) = stood(chart, job, &lattice, obstacles, &lessons)?;
            progress(0.2);
            let laid = first
                .map_or_else(|| family(chart, job, &lattice, &stance), Ok)
                .and_then(|family| Ok((lay(chart, &lattice, &family, &stance, job)?, family)));
            let (laid, family) = match laid {
                Ok(found) => found,
                // the fault is of an axis that nobody asked for: another may do
                Err(_) if self::stance(job).rule != stance.rule => {
                    lessons.refused.push(stance.rule);
                    continue;
                }
                Err(e) => return Err(e),
            };
            progress(0.5);
            let (family, ground) = (&family, &Ground::of_lattice(chart, &lattice, &family));
            let work = Work { chart, job, stance, ground, family, obstacles };
            match work.finished(laid, progress) {
                Ok(passes) => return Ok(passes),
                Err(Stopped::Error(e)) => return Err(e),
                Err(Stopped::InTheWay(obstruction)) => {
                    lessons.obstructions.push(obstruction);
                    lessons.refused.push(stance.rule);
                }
            }
        }
    })
}

/// Cells over the longer side of the feature.
pub(crate) fn cells(chart: &dyn Chart, job: &FaceJob<'_>) -> usize {
    if job.pattern != Pattern::Spiral {
        return CELLS;
    }
    let longer = Lattice::longer_side_mm(chart);
    let wanted = job.stepover_mm.map_or(f64::INFINITY, |s| CELLS_PER_STEP * longer / s);
    (wanted as usize).clamp(CELLS, MOST_CELLS)
}

/// How the cutter stands, clear of part and fixtures as far as is known before passes are laid, and
/// where proofs have failed before; with the family of lines where the axis is the one asked for.
fn stood<'a, 'l>(
    chart: &dyn Chart,
    job: &FaceJob<'a>,
    lattice: &'l Lattice,
    obstacles: &[Obstacle<'_>],
    lessons: &Lessons,
) -> Result<(Option<Family<'l>>, Stance<'a>), PatternError> {
    let along = job.direction_rad.map_or(Vec2::X, Vec2::from_angle);
    let straight = Family::Straight { along };
    let ground = Ground::of_lattice(chart, lattice, &straight);
    let asked = Stance { cusp_mm: cusp_to_lay_mm(job, ground.stations()), ..stance(job) };
    choose::survey(ground.stations(), &asked)?;
    let first = family(chart, job, lattice, &asked)?;
    let stations = Ground::of_lattice(chart, lattice, &first).some(MOST_STATIONS);
    let choice = Choice { job, asked, stations: &stations, obstacles, lessons };
    let stance = choice.made()?;
    Ok(((stance.rule == asked.rule).then_some(first), stance))
}

/// The stance that the job asks for.
pub(crate) fn stance<'a>(job: &FaceJob<'a>) -> Stance<'a> {
    let rule = match job.axis {
        AxisRule::Fixed => Rule::Fixed(job.frame.up),
        AxisRule::Normal => Rule::Normal,
        AxisRule::Tilted { kappa_rad, lead_rad, lean } => Rule::Tilted {
            kappa_rad: kappa_rad.unwrap_or_else(|| job.assembly.cutter.default_kappa_rad()),
            lead_rad,
            side: if lean == LeanSide::Right { Side::Right } else { Side::Left },
        },
    };
    Stance {
        cutter: &job.assembly.cutter,
        rule,
        stepover_mm: job.stepover_mm,
        cusp_mm: job.cusp_mm,
    }
}

pub(crate) fn family<'l>(
    chart: &dyn Chart,
    job: &FaceJob<'_>,
    lattice: &'l Lattice,
    stance: &Stance<'_>,
) -> Result<Family<'l>, PatternError> {
    let plan = job.direction_rad.map(Vec2::from_angle);
    Ok(match job.pattern {
        Pattern::Parallel => Family::Straight { along: plan.unwrap_or(Vec2::X) },
        Pattern::AlongU => Family::Straight { along: Vec2::X },
        Pattern::AlongV => Family::Straight { along: Vec2::Y },
        Pattern::Level => return Err(PatternError::LevelsOfChart),
        Pattern::Spiral => {
            let values = spiral::depth(chart, lattice, stance)?;
            Family::Field { lattice, values, stiffness: SLIGHT_STIFFNESS }
        }
        Pattern::EqualCusp => {
            let values = equal_cusp::count(lattice, stance, plan)?;
            Family::Field { lattice, values, stiffness: STIFFNESS }
        }
    })
}
