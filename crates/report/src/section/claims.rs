//! Every claim: value, interval, what it rests on, what settles it; and where a saving comes from.

use crate::figure::{interval, split};
use crate::markup::{escape, figure, table};
use crate::number::{percent, range, significant, time, with_unit};
use study::outcome::{Claim, OperationOutcome, Outcome};

/// The claims as dots, as a table, and the splits of the savings of time.
pub(crate) fn render(outcome: &Outcome) -> String {
    if outcome.claims.is_empty() {
        return String::new();
    }
    let mut out = String::from("<section><h2>Claims</h2>");
    out.push_str(
        "<p>A claim is a predicted number with the interval in which it is expected at the stated \
         confidence. It is open until a trial settles it.</p>",
    );
    out.push_str(&dots(outcome));
    out.push_str(&list(outcome));
    let splits: String = shown(outcome).filter_map(|c| causes(outcome, c)).collect();
    if !splits.is_empty() {
        out.push_str("<h3>Where the time goes</h3><p class=\"small\">Found by changing one cause at a \
             time: the proposal's passes at today's feed, then its own feed, then leads and links, all \
             on a machine that reaches every feed at once; and last the machine as it is.</p>");
        out.push_str(&splits);
    }
    out + "</section>\n"
}

fn subject(claim: &Claim) -> String {
    claim.operation.as_ref().map_or_else(
        || claim.process.clone(),
        |operation| format!("{}, {operation}", claim.process),
    )
}

/// Claims worth a line: where a process is one operation, the operation's saving is the process's.
fn shown(outcome: &Outcome) -> impl Iterator<Item = &Claim> {
    let single = outcome.processes.iter().all(|p| p.operations.len() == 1);
    outcome
        .claims
        .iter()
        .filter(move |c| !(single && c.operation.is_some() && c.quantity == "time_saved_s"))
}

fn dots(outcome: &Outcome) -> String {
    let rows: Vec<interval::Dot> = shown(outcome)
        .filter(|c| c.quantity == "time_saved_s")
        .map(|c| interval::Dot {
            label: subject(c),
            value: c.value,
            interval: c.interval,
            hollow: !c.like_for_like,
        })
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    let caption = format!(
        "Time saved against {}, predicted. Filled: like for like. Hollow: the quality differs.",
        escape(&outcome.processes.first().map(|p| p.name.clone()).unwrap_or_default())
    );
    figure(&interval::dots(&rows, "s"), &caption)
}

fn quantity(claim: &Claim) -> (&'static str, &'static str) {
    match claim.quantity.as_str() {
        "time_saved_s" => ("time saved", "s"),
        "time_saved_share" => ("share of the time saved", ""),
        "cost_saved_per_part" => ("cost saved per part", ""),
        "cusp_max_um" => ("largest cusp", "µm"),
        "surface_offset_um" => ("surface off nominal", "µm"),
        _ => ("value", ""),
    }
}

fn list(outcome: &Outcome) -> String {
    let head = ["claim", "predicted", "interval", "quality", "rests on", "settled by"];
    let rows: Vec<Vec<String>> = shown(outcome)
        .map(|c| {
            let (words, unit) = quantity(c);
            let is_share = c.quantity == "time_saved_share";
            let unit =
                if c.quantity == "cost_saved_per_part" { outcome.currency.as_str() } else { unit };
            let value = if is_share {
                with_unit(100.0 * c.value, 3, "%")
            } else {
                format!("{}\u{202f}{}", significant(c.value, 3), escape(unit))
            };
            let ends = if is_share {
                let percents =
                    units::Interval::new(100.0 * c.interval.low, 100.0 * c.interval.high);
                range(percents, 3, "%")
            } else {
                range(c.interval, 3, unit)
            };
            vec![
                format!("{}: {words}", escape(&subject(c))),
                value,
                format!("{ends} <span class=\"small\">at {}</span>", percent(c.confidence)),
                if c.like_for_like {
                    "like for like".to_owned()
                } else {
                    "quality differs".to_owned()
                },
                format!("<span class=\"small\">{}</span>", escape(&c.rests_on.join("; "))),
                format!("<span class=\"small\">{}</span>", escape(&c.settled_by)),
            ]
        })
        .collect();
    table("claims", &head.map(str::to_owned), &rows)
}

fn causes(outcome: &Outcome, claim: &Claim) -> Option<String> {
    let split = claim.split.as_ref()?;
    let today = outcome.processes.first()?;
    let proposal = outcome.processes.iter().find(|p| p.name == claim.process)?;
    let (before_s, after_s) = match &claim.operation {
        None => (today.time_s - today.tool_change_s, proposal.time_s - proposal.tool_change_s),
        Some(name) => {
            let after = proposal.operations.iter().find(|o| o.name == *name)?;
            let same = |o: &&OperationOutcome| o.feature == after.feature && o.kind == after.kind;
            (today.operations.iter().find(same)?.time.total_s, after.time.total_s)
        }
    };
    let caption = format!(
        "{}: from {} to {}, tool changes left out.",
        escape(&subject(claim)),
        time(before_s),
        time(after_s)
    );
    Some(figure(&split::steps(before_s, after_s, split), &caption))
}
