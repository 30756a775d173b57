//! What the numbers of an audit rest on.

use super::sentence::short;
use crate::program::Program;
use machine::{Event, Machine, TrackAccount};

/// Holds until loads along the program tell air from cuts.
pub(super) const AIR: &str = "moves in air are told from cuts only where the spindle stands or holds no tool: no stock is known";

/// Cautions, the ones that move most first.
pub(super) fn of(
    program: &Program,
    machine: &Machine,
    account: &TrackAccount,
    whole: bool,
) -> Vec<String> {
    let mut all = vec![
        "times are predicted by a model of the machine, at an override of 100 %; they are not measured"
            .to_owned(),
    ];
    for a in &machine.assumptions {
        all.push(format!(
            "{} is not in the machine file: {} assumed, {} to {} held possible ({})",
            a.key,
            short(a.value),
            short(a.low),
            short(a.high),
            a.why
        ));
    }
    let of = |pick: fn(&Event) -> bool| program.track.waits.iter().any(|w| pick(&w.event));
    if machine.spindle_ramp_s == 0.0 && of(|e| matches!(e, Event::Spindle { .. })) {
        all.push(
            "spindle_ramp_s is not in the machine file: the spindle's ramps count as 0".into(),
        );
    }
    let zero_words =
        program.track.waits.iter().zip(&account.waits_s).any(|(wait, s)| {
            *s == 0.0 && matches!(&wait.event, Event::Word(word) if !is_stop(word))
        });
    if zero_words {
        all.push("M words that the machine file's m_codes do not list count as 0 s".into());
    }
    if of(|e| matches!(e, Event::Word(word) if is_stop(word))) {
        all.push("M0 and M1 count as restarted at once".into());
    }
    if let Some(places) = machine.magazine
        && program.tools.len() > places as usize
    {
        let tools = program.tools.len();
        all.push(format!("the program calls {tools} tools; the magazine has {places} places"));
    }
    if !whole {
        all.push(
            "worths and the interval come from ten pieces of the program that stand for the whole"
                .into(),
        );
    }
    all.push(AIR.into());
    all
}

fn is_stop(word: &str) -> bool {
    matches!(word, "M0" | "M1" | "M2" | "M30")
}
