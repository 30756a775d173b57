//! What each limit holds and what relaxing it saves.

use super::AuditOptions;
use super::data::LimitLine;
use super::pieces::Pieces;
use super::sentence;
use machine::track::Track;
use machine::{AccountError, Machine, Scenario, TrackAccount};

/// All that the time goes to, by falling share.
pub(super) fn limits(
    track: &Track,
    machine: &Machine,
    account: &TrackAccount,
    pieces: &Pieces,
    options: &AuditOptions,
) -> Result<Vec<LimitLine>, AccountError> {
    let times = &account.times;
    let moving_s = times.cutting_s + times.rapid_s;
    let examined = options.worth_of.min(account.limits.len());
    let relaxed: Vec<Option<Scenario>> = account.limits[..examined]
        .iter()
        .map(|l| l.limit.relaxed(&Scenario::default(), options.relax))
        .collect();
    let mut scenarios = vec![Scenario::default()];
    scenarios.extend(relaxed.iter().flatten().cloned());
    let found = pieces.times(machine, &scenarios)?;
    let mut next = found[1..].iter();
    let mut lines = Vec::new();
    let facts = sentence::Facts::of(track, account);
    for (i, share) in account.limits.iter().enumerate() {
        let examined = relaxed.get(i).is_some_and(Option::is_some);
        let worth_s = if examined && found[0] > 0.0 {
            // the plan is near its optimum only: a relaxed limit seems to cost a little at times
            next.next().map(|s| (moving_s * (1.0 - s / found[0])).max(0.0))
        } else {
            None
        };
        lines.push(LimitLine {
            limit: share.limit.to_string(),
            time_share: share.time_share,
            worth_s,
            because: facts.limit(
                share.limit,
                machine,
                (options.relax, share.time_share * times.total_s),
            ),
        });
    }
    let waits = [
        ("tool change", times.tool_change_s, "the tool is changed"),
        ("dwell", times.dwell_s, "the program asks for dwells"),
        (
            "spindle and auxiliary words",
            times.other_s,
            "the spindle ramps and M words take their time, at rest",
        ),
    ];
    for (name, seconds, because) in waits.into_iter().filter(|(_, s, _)| *s > 0.0) {
        lines.push(LimitLine {
            limit: name.into(),
            time_share: seconds / times.total_s,
            worth_s: Some(seconds * (1.0 - 1.0 / options.relax)),
            because: format!(
                "{because}; worth if it took {:.0} % less",
                100.0 * (1.0 - 1.0 / options.relax)
            ),
        });
    }
    lines.sort_by(|a, b| b.time_share.total_cmp(&a.time_share));
    Ok(lines)
}
