//! Passes, leads and links strung together in the order in which they are driven.

use toolpath::{Pose, RunKind, Toolpath};

use crate::link::{Driven, Linker};
use crate::order::Turn;
use crate::outcome::{AxisUsed, FacePasses, Pass, Spread};
use crate::strip::Strips;
use crate::trim::Piece;

/// All runs in order, for each pass whether the link to it stayed down, and the highest rise.
pub(crate) fn string(
    linker: &Linker<'_>,
    driven: &[Driven],
    links: Vec<Option<Vec<Pose>>>,
) -> (Toolpath, Vec<bool>, f64) {
    let mut toolpath = Toolpath::default();
    let mut linked = Vec::with_capacity(driven.len());
    let mut highest = 0.0_f64;
    for ((pass, d), stay) in driven.iter().enumerate().zip(links) {
        let (Some(start), Some(end)) = (d.standings.first(), d.standings.last()) else { continue };
        let before = pass.checked_sub(1).and_then(|p| driven[p].standings.last());
        linked.push(stay.is_some());
        if let Some(way) = stay {
            toolpath.runs.push(linker.at_feed(RunKind::Link, pass, way));
        } else {
            let lead_in = linker.lead_in(start);
            match before {
                None => toolpath.runs.extend(linker.enter(lead_in[0])),
                Some(b) => {
                    let lead_out = linker.lead_out(b);
                    let from = lead_out[lead_out.len() - 1];
                    toolpath.runs.push(linker.at_feed(RunKind::LeadOut, pass - 1, lead_out));
                    let (runs, rise) = linker.through_air(pass, from, lead_in[0]);
                    highest = highest.max(rise);
                    toolpath.runs.extend(runs);
                }
            }
            toolpath.runs.push(linker.at_feed(RunKind::LeadIn, pass, lead_in));
        }
        toolpath.runs.push(linker.cut(pass, d));
        if pass + 1 == driven.len() {
            let lead_out = linker.lead_out(end);
            let from = lead_out[lead_out.len() - 1];
            toolpath.runs.push(linker.at_feed(RunKind::LeadOut, pass, lead_out));
            toolpath.runs.extend(linker.leave(pass, from));
        }
    }
    (toolpath, linked, highest)
}

/// Lengths and passes of a toolpath; what else is known is filled in by the caller.
pub(crate) fn summary(
    toolpath: Toolpath,
    pieces: &[Piece],
    turns: &[Turn],
    linked: &[bool],
    stepover_mm: Option<Spread>,
    axis: AxisUsed,
) -> FacePasses {
    let cuts: Vec<_> = toolpath.runs.iter().filter(|r| r.kind.is_cut()).collect();
    let passes: Vec<Pass> = cuts
        .iter()
        .zip(turns)
        .zip(linked)
        .map(|((run, turn), linked)| Pass {
            level: pieces[turn.piece].level,
            path_mm: run.contact_length_mm(),
            tip_path_mm: run.tip_length_mm(),
            moves: run.poses.len().saturating_sub(1),
            from: run.contacts[0].point,
            to: run.contacts[run.contacts.len() - 1].point,
            linked: *linked,
        })
        .collect();
    let length = |wanted: &dyn Fn(RunKind) -> bool| {
        toolpath.runs.iter().filter(|r| wanted(r.kind)).map(|r| r.tip_length_mm()).sum()
    };
    let at_feed = |k| matches!(k, RunKind::LeadIn | RunKind::LeadOut | RunKind::Link);
    let in_air = |k| matches!(k, RunKind::Retract | RunKind::Rapid | RunKind::Approach);
    FacePasses {
        path_mm: passes.iter().map(|p| p.path_mm).sum(),
        tip_path_mm: passes.iter().map(|p| p.tip_path_mm).sum(),
        link_mm: length(&at_feed),
        rapid_mm: length(&in_air),
        stepover_mm,
        predicted_cusp_max_mm: None,
        predicted_cusp_mean_mm: None,
        path_bound_mm: None,
        chord_mm: 0.0,
        axis,
        closest_approach: None,
        strips: Strips::default(),
        warnings: Vec::new(),
        passes,
        toolpath,
    }
}
