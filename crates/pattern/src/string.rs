//! Passes, leads and links strung together in the order in which they are driven.

use toolpath::{RunKind, Toolpath};

use crate::joint::Joint;
use crate::lead::{Lead, Shape};
use crate::link::{Driven, Linker};
use crate::order::Turn;
use crate::outcome::{AxisUsed, FacePasses, Pass, Spread};
use crate::strip::Strips;
use crate::trim::Piece;

/// What joints came to.
#[derive(Debug, Clone, Default)]
pub(crate) struct Strung {
    /// All runs in order.
    pub(crate) toolpath: Toolpath,
    /// For each pass whether the link to it stayed down.
    pub(crate) linked: Vec<bool>,
    /// Highest rise of a rapid over the clearance asked for, mm.
    pub(crate) rise_mm: f64,
    /// Leads that were shortened or turned.
    pub(crate) changed_leads: usize,
    /// Leads that were left out.
    pub(crate) straight_leads: usize,
}

impl Strung {
    fn count(&mut self, lead: &Lead) {
        match lead.shape {
            Shape::AsAsked => {}
            Shape::Changed => self.changed_leads += 1,
            Shape::Straight => self.straight_leads += 1,
        }
    }

    fn joint(&mut self, linker: &Linker<'_>, pass: usize, last: bool, joint: Joint) {
        let (off, way, on) = match joint {
            Joint::Down(way) => {
                return self.toolpath.runs.push(linker.at_feed(RunKind::Link, pass, way));
            }
            Joint::Air { off, way, on } => (off, way, on),
        };
        if let Some(lead) = off {
            self.count(&lead);
            let run = linker.at_feed(RunKind::LeadOut, pass.saturating_sub(1), lead.outwards);
            self.toolpath.runs.push(run);
        }
        self.rise_mm = self.rise_mm.max(way.rise_mm);
        let owner = if last { pass.saturating_sub(1) } else { pass };
        self.toolpath.runs.extend(way.runs(linker, owner));
        if let Some(lead) = on {
            self.count(&lead);
            let inwards = lead.outwards.into_iter().rev().collect();
            self.toolpath.runs.push(linker.at_feed(RunKind::LeadIn, pass, inwards));
        }
    }
}

/// Passes and what joins them, strung together.
pub(crate) fn string(linker: &Linker<'_>, driven: &[Driven], joints: Vec<Joint>) -> Strung {
    let mut strung = Strung::default();
    for (pass, joint) in joints.into_iter().enumerate() {
        let next = driven.get(pass);
        if next.is_some() {
            strung.linked.push(matches!(joint, Joint::Down(_)));
        }
        strung.joint(linker, pass, next.is_none(), joint);
        strung.toolpath.runs.extend(next.map(|d| linker.cut(pass, d)));
    }
    strung
}

/// Lengths and passes of a toolpath; what else is known is filled in by the caller.
pub(crate) fn summary(
    strung: Strung,
    pieces: &[Piece],
    turns: &[Turn],
    stepover_mm: Option<Spread>,
    axis: AxisUsed,
) -> FacePasses {
    let Strung { toolpath, linked, .. } = strung;
    let cuts: Vec<_> = toolpath.runs.iter().filter(|r| r.kind.is_cut()).collect();
    let passes: Vec<Pass> = cuts
        .iter()
        .zip(turns)
        .zip(&linked)
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
