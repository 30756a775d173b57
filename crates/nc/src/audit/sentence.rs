//! Sentences that say why a limit holds, with the figures behind it.

use machine::track::{Feed, Track};
use machine::{AxisLimit, AxisName, Limit, Machine, TrackAccount};
use std::collections::BTreeMap;

/// What moves under one limit look like.
#[derive(Debug, Clone, Default)]
struct Held {
    moves: usize,
    time_s: f64,
    path_mm: f64,
    rapid_s: f64,
}

/// Figures of a program by limit.
#[derive(Debug, Clone)]
pub(super) struct Facts {
    held: BTreeMap<Limit, Held>,
    cutting_s: f64,
    /// The feed that most time at feed is programmed at, mm/min.
    usual_feed: Option<f64>,
}

impl Facts {
    pub(super) fn of(track: &Track, account: &TrackAccount) -> Self {
        let mut held: BTreeMap<Limit, Held> = BTreeMap::new();
        let mut feeds: BTreeMap<u64, f64> = BTreeMap::new();
        for (step, taken) in track.moves.iter().zip(&account.moves) {
            let entry = held.entry(taken.limit).or_default();
            entry.moves += 1;
            entry.time_s += taken.time_s;
            entry.path_mm += taken.path_mm;
            match step.feed {
                Feed::Rapid => entry.rapid_s += taken.time_s,
                Feed::Speed(speed) => *feeds.entry(speed.to_bits()).or_default() += taken.time_s,
                Feed::Time(_) => {}
            }
        }
        let most = feeds.into_iter().fold(None, |best: Option<(u64, f64)>, (bits, s)| match best {
            Some((_, most)) if most >= s => best,
            _ => Some((bits, s)),
        });
        Self {
            held,
            cutting_s: account.times.cutting_s,
            usual_feed: most.map(|(bits, _)| f64::from_bits(bits) * 60.0),
        }
    }

    /// Why this limit holds for `time_s`, and what its worth belongs to.
    pub(super) fn limit(
        &self,
        limit: Limit,
        machine: &Machine,
        (relax, time_s): (f64, f64),
    ) -> String {
        let none = Held::default();
        let held = self.held.get(&limit).unwrap_or(&none);
        let more = 100.0 * (relax - 1.0);
        let mean_mm = held.path_mm / held.moves.max(1) as f64;
        match limit {
            Limit::ProgrammedFeed => self.feed(time_s, relax),
            Limit::BlockTime => format!(
                "the control takes a block in {} ms; moves of {mean_mm:.3} mm on average are over \
                 before; worth at 1/{relax} of it",
                short(1e3 * machine.block_time_s.value)
            ),
            Limit::CornerTolerance => format!(
                "corners may be rounded by {} mm, and the speed through them follows from it; worth \
                 at {} mm",
                short(machine.path_tolerance_mm.value),
                short(relax * machine.path_tolerance_mm.value)
            ),
            Limit::CornerStep => format!(
                "no axis may step by more than {} mm/min at a corner; worth at {more:.0} % more",
                short(60.0 * machine.control.corner_step_mm_s.value)
            ),
            Limit::LookAhead => {
                "the control sees too few blocks ahead to go faster and still stop; worth with more of \
                 them"
                    .to_owned()
            }
            Limit::PathAccel => {
                format!("acceleration along the path is at its most; worth at {more:.0} % more")
            }
            Limit::RadialAccel => {
                format!("acceleration across the path is at its most; worth at {more:.0} % more")
            }
            Limit::Filter => {
                format!("each stop comes later by the axes' filter; worth at 1/{relax} of it")
            }
            Limit::InPosition => format!(
                "the axes settle for {} s at every stop; worth at 1/{relax} of it",
                short(machine.in_position_s)
            ),
            Limit::Axis(axis, what) => axis_sentence(machine, axis, what, held, more),
            Limit::StandStill => "moves begin and end at rest there; no figure relaxes it".to_owned(),
        }
    }

    /// The time under the programmed feed is counted piece by piece of the moves, as its share is: a short
    /// plunge that mostly gathers speed has its part in it.
    fn feed(&self, time_s: f64, relax: f64) -> String {
        let share = 100.0 * time_s / self.cutting_s.max(f64::MIN_POSITIVE);
        let change = self.usual_feed.map_or_else(String::new, |f| {
            format!(", from {f:.0} to {:.0} mm/min for most of that time", relax * f)
        });
        format!(
            "{share:.1} % of the time at feed runs at the feed of the program; worth of raising every F by \
             {:.0} %{change}; the rest is held by the machine",
            100.0 * (relax - 1.0)
        )
    }
}

fn axis_sentence(
    machine: &Machine,
    name: AxisName,
    what: AxisLimit,
    held: &Held,
    more: f64,
) -> String {
    let Some(axis) = machine.axis(name) else { return String::new() };
    let rotary = name.is_rotary();
    let scale = if rotary { 1f64.to_degrees() } else { 1.0 };
    let rapids = if held.rapid_s > 0.5 * held.time_s { "rapids" } else { "moves at feed" };
    let mean_mm = held.path_mm / held.moves.max(1) as f64;
    let mostly = match held.moves {
        0 => "in parts of moves that other limits rule longer".to_owned(),
        1 => format!("mostly in one of the {rapids}, {mean_mm:.3} mm long"),
        _ => format!("mostly in {rapids} of {mean_mm:.3} mm on average"),
    };
    match what {
        AxisLimit::Speed => {
            let unit = if rotary { "deg/min" } else { "mm/min" };
            let speed = short(60.0 * scale * axis.max_speed);
            format!(
                "axis {name} runs at its fastest of {speed} {unit}, {mostly}; worth at {more:.0} % more"
            )
        }
        AxisLimit::Acceleration => {
            let (value, unit) = if rotary {
                (scale * axis.accel.value, "deg/s2")
            } else {
                (1e-3 * axis.accel.value, "m/s2")
            };
            format!(
                "axis {name} changes speed with its {} {unit}, {mostly}; worth at {more:.0} % more",
                short(value)
            )
        }
        AxisLimit::Jerk => {
            let (value, unit) = if rotary {
                (scale * axis.jerk.value, "deg/s3")
            } else {
                (1e-3 * axis.jerk.value, "m/s3")
            };
            format!(
                "axis {name} changes acceleration with its {} {unit}, {mostly}; worth at {more:.0} % more",
                short(value)
            )
        }
    }
}

/// A figure without needless digits.
pub(super) fn short(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    text.to_owned()
}
