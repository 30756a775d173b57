//! From what was laid to what is written: tools, tracks, the zone that tools keep clear of.

use super::Request;
use crate::failure::Failure;
use crate::input::Input;
use ::compare::motion::Laid;
use geom::Vec3;
use machine::{Machine, Track};
use post::{Job, Piece, Refused, Tool, Zone};
use study::Stock;

/// Tools come and go clear of everything by this and their own radius, mm.
const CLEAR_MM: f64 = 10.0;
/// Share of the chord tolerance within which the ends of straight moves lie on the arc that stands
/// for them.
const ARC_SHARE: f64 = 0.25;

/// The job of a process.
pub(super) fn job<'a>(
    input: &'a Input,
    process: &str,
    laid: &[Laid<'_>],
    request: &Request,
) -> Result<Job<'a>, Failure> {
    let machine = &input.study.machine;
    let mut tools: Vec<Tool> = Vec::new();
    let mut ids: Vec<&str> = Vec::new();
    let mut pieces = Vec::new();
    for one in laid {
        let at = ids.iter().position(|id| *id == one.cutter.id).unwrap_or_else(|| {
            ids.push(&one.cutter.id);
            tools.push(Tool {
                number: ids.len() as u32,
                words: one.cutter.id.clone(),
                length_mm: one.route.mounting.tool_length_mm,
                radius_mm: one.radius_mm,
            });
            ids.len() - 1
        });
        pieces.push(piece(one, at, machine, request)?);
    }
    Ok(Job {
        title: format!("{}: {process}", input.study.name),
        machine,
        zone: zone(input, &pieces),
        clear_mm: CLEAR_MM,
        tools,
        pieces,
    })
}

fn piece(
    one: &Laid<'_>,
    tool: usize,
    machine: &Machine,
    request: &Request,
) -> Result<Piece, Failure> {
    let refused = |why: String| {
        let message = format!("operation \"{}\": {why}", one.operation.name);
        Failure::other(message, "change the operation's axis or the machine")
    };
    let mut track = Track::of_toolpath(&one.toolpath, machine, &one.route)
        .map_err(|error| refused(error.to_string()))?;
    if request.other_solution {
        track = track.other_solution(machine).ok_or_else(|| {
            refused("the rotary axes of this machine have one solution alone".to_owned())
        })?;
    }
    let restarts = restarts(one, &track, request.restart_passes);
    Ok(Piece {
        name: one.operation.name.clone(),
        tool,
        rpm: one.rpm,
        coolant: coolant(one.operation.coolant),
        predicted_s: one.total_s,
        track,
        restarts,
        arc_mm: ARC_SHARE * one.chord_mm,
        chord_mm: one.chord_mm,
    })
}

/// Indices of the moves with which every so many passes begin.
fn restarts(one: &Laid<'_>, track: &Track, passes: Option<usize>) -> Vec<usize> {
    let Some(passes) = passes.filter(|n| *n > 0) else { return Vec::new() };
    let pass_of = |run: u32| one.toolpath.runs.get(run as usize).map_or(0, |r| r.pass);
    let mut next = passes;
    let mut out = Vec::new();
    for (i, step) in track.moves.iter().enumerate() {
        if pass_of(step.block) >= next {
            out.push(i);
            next += passes;
        }
    }
    out
}

/// Where part, stock, clamps and all tips are.
fn zone(input: &Input, pieces: &[Piece]) -> Zone {
    let study = &input.study;
    let turn = study.setup.rotation_rad;
    let mounting = machine::Mounting::from_degrees(
        study.setup.origin_mm.to_array(),
        turn.to_array().map(f64::to_degrees),
    );
    let margin = match &study.part.stock {
        Some(Stock::Block { margin_mm } | Stock::Cylinder { margin_mm }) => *margin_mm,
        Some(Stock::NearNet { layer_mm }) => Vec3::splat(*layer_mm),
        Some(Stock::File(_)) | None => Vec3::ZERO,
    };
    let of_part = Zone::around(input.part.mesh.vertices.iter().copied())
        .map(|z| Zone { low: z.low - margin, high: z.high + margin });
    let corners = of_part.iter().flat_map(Zone::corners);
    let stock = input.stock().ok().flatten();
    let of_stock = stock.iter().flat_map(|s| s.mesh.vertices.iter().copied());
    let clamps = input.fixtures.iter().flat_map(|f| f.vertices.iter().copied());
    let of_frame =
        corners.chain(of_stock).chain(clamps).map(|p| mounting.rotation * p + mounting.origin_mm);
    let tips = pieces.iter().flat_map(|p| {
        std::iter::once(p.track.start.linear).chain(p.track.moves.iter().map(|m| m.to.linear))
    });
    Zone::around(of_frame.chain(tips)).unwrap_or(Zone { low: Vec3::ZERO, high: Vec3::ZERO })
}

/// What to do about a refusal: the other solution of the rotary axes where it would serve.
pub(super) fn other_way(job: &Job<'_>, refused: &Refused, taken: bool) -> String {
    let fits = |piece: &Piece| {
        piece.track.other_solution(job.machine).is_some_and(|track| {
            let piece = Piece { track, ..piece.clone() };
            post::travel::beyond(job, &piece).is_empty()
        })
    };
    if !job.pieces.iter().all(fits) {
        return refused.remedy.clone();
    }
    let call = if taken { "leave out --other-solution" } else { "add --other-solution" };
    format!(
        "{call}: in that solution of the rotary axes every axis stays inside; or {}",
        refused.remedy
    )
}

/// What is switched on.
fn coolant(coolant: Option<study::Coolant>) -> Option<post::Coolant> {
    match coolant {
        None | Some(study::Coolant::Dry) => None,
        Some(study::Coolant::Mist) => Some(post::Coolant::Mist),
        Some(study::Coolant::Air) => Some(post::Coolant::Air),
        Some(study::Coolant::Flood) => Some(post::Coolant::Flood),
        Some(study::Coolant::Through) => Some(post::Coolant::Through),
    }
}
