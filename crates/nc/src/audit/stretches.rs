//! The stretches at feed that lose most against their programmed feed.

use super::data::WorstStretch;
use machine::track::{Feed, Track};
use machine::{Limit, Machine, TrackAccount};
use std::collections::BTreeMap;

/// A stretch is no longer than this share of the total time.
const LONGEST_SHARE: f64 = 0.004;

/// A stretch while it grows.
#[derive(Debug, Default)]
struct Growing {
    first: usize,
    /// First and last line.
    lines: [u32; 2],
    moves: usize,
    runs: usize,
    at_s: f64,
    time_s: f64,
    programmed_s: f64,
    path_mm: f64,
    /// Time and loss under each limit, s.
    held: BTreeMap<Limit, [f64; 2]>,
}

impl Growing {
    /// The same lines of a loop or a subprogram, run again.
    fn add(&mut self, other: &Self) {
        self.moves += other.moves;
        self.runs += other.runs;
        self.time_s += other.time_s;
        self.programmed_s += other.programmed_s;
        self.path_mm += other.path_mm;
        for (limit, [time_s, lost_s]) in &other.held {
            let held = self.held.entry(*limit).or_default();
            held[0] += time_s;
            held[1] += lost_s;
        }
    }
}

/// The stretches with those of the same lines and tool as one.
fn summed(track: &Track, all: Vec<Growing>) -> Vec<Growing> {
    let mut places: BTreeMap<([u32; 2], u16), usize> = BTreeMap::new();
    let mut out: Vec<Growing> = Vec::with_capacity(all.len());
    for growing in all {
        let key = (growing.lines, track.moves[growing.first].tool);
        match places.get(&key) {
            Some(&at) => out[at].add(&growing),
            None => {
                places.insert(key, out.len());
                out.push(growing);
            }
        }
    }
    out
}

/// At most `most` stretches, the one that loses most first. A stretch is a row of moves at feed of
/// one tool, with no rapid, no wait and no way back to an earlier line in it; what loops and
/// subprograms run again counts as one.
pub(super) fn worst(
    track: &Track,
    machine: &Machine,
    account: &TrackAccount,
    most: usize,
) -> Vec<WorstStretch> {
    let longest_s = LONGEST_SHARE * account.times.total_s;
    let mut waits = track.waits.iter().zip(&account.waits_s).peekable();
    let (mut now_s, mut all) = (0.0, Vec::new());
    let mut growing = Growing::default();
    for (index, (step, taken)) in track.moves.iter().zip(&account.moves).enumerate() {
        let back = step.block < growing.lines[1];
        let mut ends = step.feed == Feed::Rapid || back || growing.time_s >= longest_s;
        while let Some((_, seconds)) = waits.next_if(|(w, _)| w.after <= index) {
            now_s += seconds;
            ends = true;
        }
        if ends && growing.moves > 0 {
            all.push(std::mem::take(&mut growing));
        }
        if step.feed != Feed::Rapid {
            if growing.moves == 0 {
                (growing.first, growing.at_s) = (index, now_s);
                (growing.lines[0], growing.runs) = (step.block, 1);
            }
            growing.lines[1] = step.block;
            growing.moves += 1;
            growing.time_s += taken.time_s;
            growing.programmed_s += taken.programmed_s;
            growing.path_mm += taken.path_mm;
            let held = growing.held.entry(taken.limit).or_default();
            held[0] += taken.time_s;
            held[1] += taken.time_s - taken.programmed_s;
        }
        now_s += taken.time_s;
    }
    if growing.moves > 0 {
        all.push(growing);
    }
    let mut all = summed(track, all);
    let lost = |g: &Growing| g.time_s - g.programmed_s;
    all.sort_by(|a, b| lost(b).total_cmp(&lost(a)).then(a.first.cmp(&b.first)));
    let losing = all.into_iter().filter(|g| lost(g) > 0.0);
    losing.take(most).map(|g| finish(track, machine, &g)).collect()
}

fn finish(track: &Track, machine: &Machine, growing: &Growing) -> WorstStretch {
    let none = (Limit::StandStill, [0.0; 2]);
    let (limit, [held_s, _]) = growing
        .held
        .iter()
        .fold(none, |best, (limit, s)| if s[1] > best.1[1] { (*limit, *s) } else { best });
    WorstStretch {
        lines: growing.lines,
        moves: growing.moves,
        runs: growing.runs,
        tool: track.moves[growing.first].tool.into(),
        at_s: growing.at_s,
        time_s: growing.time_s,
        programmed_s: growing.programmed_s,
        path_mm: growing.path_mm,
        limit: limit.to_string(),
        limit_share: if growing.time_s > 0.0 { held_s / growing.time_s } else { 0.0 },
        because: because(machine, growing, limit),
    }
}

fn because(machine: &Machine, growing: &Growing, limit: Limit) -> String {
    let mean_mm = growing.path_mm / growing.moves as f64;
    let asked = 60.0 * growing.path_mm / growing.programmed_s.max(f64::MIN_POSITIVE);
    let got = 60.0 * growing.path_mm / growing.time_s.max(f64::MIN_POSITIVE);
    let turning = growing.path_mm <= 0.0;
    let words = if growing.moves == 1 { "move" } else { "moves" };
    let mut text = if turning {
        format!("{} {words} of the rotary axes alone", growing.moves)
    } else {
        format!(
            "{} {words} of {mean_mm:.3} mm on average, at {got:.0} instead of {asked:.0} mm/min",
            growing.moves
        )
    };
    let block_s = machine.block_time_s.value;
    let reach = mean_mm / (asked / 60.0);
    if !turning && reach < block_s {
        text.push_str(&format!(
            "; at the programmed feed a move lasts {:.2} ms, shorter than a block's {:.2} ms",
            1e3 * reach,
            1e3 * block_s
        ));
    } else if let Limit::Axis(axis, _) = limit {
        text.push_str(&format!("; axis {axis} cannot follow faster"));
    }
    if growing.runs > 1 {
        text.push_str(&format!("; {} runs of these lines together", growing.runs));
    }
    text
}
