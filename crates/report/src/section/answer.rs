//! The answer in words, before any table.

use crate::markup::{escape, notes};
use crate::number::{percent, range, time};
use study::outcome::{Claim, Outcome, ProcessOutcome};

/// One paragraph for each proposal, then the warnings of the study.
pub(crate) fn render(outcome: &Outcome) -> String {
    let mut out = String::from("<section class=\"answer\">");
    let Some((today, proposals)) = outcome.processes.split_first() else {
        return out + "<p>The study holds no process.</p></section>";
    };
    if proposals.is_empty() {
        out.push_str(&format!(
            "<p><strong>{}</strong> is predicted to take {}. A second process is needed to claim a \
             saving.</p>",
            escape(&today.name),
            time(today.time_s)
        ));
    }
    for proposal in proposals {
        out.push_str(&paragraph(outcome, today, proposal));
    }
    out.push_str(&notes("Mind", &outcome.warnings));
    out + "</section>\n"
}

fn paragraph(outcome: &Outcome, today: &ProcessOutcome, proposal: &ProcessOutcome) -> String {
    let claim = whole_process_claim(outcome, &proposal.name);
    let share = (today.time_s - proposal.time_s) / today.time_s;
    let (verb, amount) = if share >= 0.0 { ("saves", share) } else { ("costs", -share) };
    let interval = claim.map_or_else(String::new, |c| {
        let percent_of = |s: f64| 100.0 * s;
        let shares = units::Interval::new(percent_of(c.interval.low), percent_of(c.interval.high));
        format!(" ({} at {} confidence)", range(shares, 3, "%"), percent(c.confidence))
    });
    let quality = claim.map_or_else(String::new, quality_words);
    format!(
        "<p><strong>{}</strong> {verb} a predicted {} of the time of <strong>{}</strong>{interval}: \
         {} instead of {}. {quality}</p>",
        escape(&proposal.name),
        percent(amount),
        escape(&today.name),
        time(proposal.time_s),
        time(today.time_s)
    )
}

fn whole_process_claim<'a>(outcome: &'a Outcome, process: &str) -> Option<&'a Claim> {
    let of_process = outcome.claims.iter().filter(|c| c.process == process);
    of_process.into_iter().find(|c| c.operation.is_none() && c.quantity == "time_saved_share")
}

fn quality_words(claim: &Claim) -> String {
    if claim.like_for_like {
        return "<span class=\"tag\">like for like</span>".to_owned();
    }
    let how = claim.differs.as_deref().unwrap_or("the limits met are not the same");
    format!("<span class=\"tag differs\">quality differs</span> {}", escape(how))
}
