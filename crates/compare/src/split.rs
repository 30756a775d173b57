//! Where a saving of time comes from, in steps that change one cause at a time.
//!
//! The planner runs once on either side; the steps between are path over feed, not further runs of
//! the planner. (1) today's contact lines give way to the proposal's, at today's feed, on a machine
//! that reaches every feed at once and without leads and links; (2) today's feed gives way to the
//! proposal's; (3) leads and links are added on that ideal machine; (4) the rest is what
//! the planned times hold beyond the ideal machine's.
//! The four steps add up to the whole difference.

use machine::{AxisName, Machine};
use study::outcome::Split;
use toolpath::{RunKind, Toolpath};

/// The runs of one operation that the split needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Causes {
    /// Length of the contact lines, mm.
    pub(crate) path_mm: f64,
    /// Contact feed: path over time on the ideal machine, mm/s.
    pub(crate) contact_feed_mm_s: f64,
    /// Leads and links on the ideal machine, s.
    pub(crate) ideal_link_s: f64,
    /// All of it on the real machine, s.
    pub(crate) real_s: f64,
}

impl Causes {
    fn ideal_cut_s(&self) -> f64 {
        self.path_mm / self.contact_feed_mm_s
    }

    fn machine_s(&self) -> f64 {
        self.real_s - self.ideal_cut_s() - self.ideal_link_s
    }
}

/// The split of the time saved from `today` to `proposal`; both sides list the operations that face
/// each other in the same order.
pub(crate) fn split(today: &[Causes], proposal: &[Causes]) -> Split {
    let total = |side: &[Causes], f: &dyn Fn(&Causes) -> f64| -> f64 { side.iter().map(f).sum() };
    let new_lines_old_feed: f64 = proposal
        .iter()
        .enumerate()
        .map(|(i, p)| p.path_mm / today.get(i).unwrap_or(p).contact_feed_mm_s)
        .sum();
    let ideal = Causes::ideal_cut_s;
    Split {
        stepover_s: total(today, &ideal) - new_lines_old_feed,
        feed_s: new_lines_old_feed - total(proposal, &ideal),
        links_s: total(today, &|c| c.ideal_link_s) - total(proposal, &|c| c.ideal_link_s),
        machine_s: total(today, &Causes::machine_s) - total(proposal, &Causes::machine_s),
    }
}

/// Leads and links on a machine that reaches every feed at once; rapids at the speed of the slowest
/// linear axis, s.
pub(crate) fn ideal_link_s(path: &Toolpath, machine: &Machine) -> f64 {
    let linear = machine.axes.iter().filter(|a| !AxisName::is_rotary(a.name));
    let rapid_mm_s = linear.map(|a| a.max_speed).fold(f64::INFINITY, f64::min);
    let links = path.runs.iter().filter(|r| r.kind != RunKind::Cut);
    links
        .flat_map(|run| run.poses.windows(2).zip(&run.tip_feed_mm_s))
        .map(|(ends, feed)| ends[0].tip.distance(ends[1].tip) / feed.min(rapid_mm_s))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_steps_add_up_to_the_whole() {
        let today = Causes {
            path_mm: 60_000.0,
            contact_feed_mm_s: 120.0,
            ideal_link_s: 12.0,
            real_s: 560.0,
        };
        let proposal =
            Causes { path_mm: 6_000.0, contact_feed_mm_s: 60.0, ideal_link_s: 2.0, real_s: 120.0 };
        let s = split(&[today], &[proposal]);
        let sum = s.stepover_s + s.feed_s + s.links_s + s.machine_s;
        assert!((sum - 440.0).abs() < 1e-9);
        assert!((s.stepover_s - 450.0).abs() < 1e-9 && (s.feed_s + 50.0).abs() < 1e-9);
    }
}
