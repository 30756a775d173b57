//! Where a saving of time comes from, in steps that change one cause at a time.
//!
//! Every step is a run with one cause changed. On a machine without limits of acceleration, jerk
//! and block time the planner finds length over feed, run by run (tested below), so those runs are
//! written down in closed form; the real machine is planned on either side. (1) today's contact lines give way to the proposal's, at today's feed, on a machine
//! that reaches every feed at once and without leads and links; (2) today's feed gives way to the
//! proposal's; (3) leads and links are added on that ideal machine; (4) the machine is made real.
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
    use geom::Vec3;
    use machine::{AccountOptions, AxisSpec, MachineSpec, Scenario, Timer};
    use toolpath::{Pose, Run};

    const FEED_MM_S: f64 = 75.0;

    fn machine() -> Machine {
        let mut spec = MachineSpec {
            id: "plain".to_owned(),
            name: "three axes".to_owned(),
            layout: "XYZ".to_owned(),
            block_time_ms: Some(1.0),
            ..MachineSpec::default()
        };
        for name in ["X", "Y", "Z"] {
            let axis = AxisSpec {
                max_feed_mm_min: Some(30_000.0),
                accel_m_s2: Some(5.0),
                jerk_m_s3: Some(50.0),
                ..AxisSpec::default()
            };
            spec.axes.insert(name.to_owned(), axis);
        }
        Machine::new(&spec).expect("a sound machine")
    }

    fn run(kind: RunKind, ends: [Vec3; 2], feed_mm_s: f64) -> Run {
        let pose = |k: u32| Pose { tip: ends[0].lerp(ends[1], f64::from(k) / 40.0), axis: Vec3::Z };
        let poses: Vec<Pose> = (0..=40).map(pose).collect();
        let tip_feed_mm_s = vec![feed_mm_s; poses.len() - 1];
        Run { kind, pass: 0, poses, contacts: Vec::new(), tip_feed_mm_s }
    }

    /// Passes to and fro, joined at feed, with a rapid at either end.
    fn serpentine() -> Toolpath {
        let at = |x: f64, y: f64, z: f64| Vec3::new(x, y, z);
        let mut runs =
            vec![run(RunKind::Rapid, [at(0.0, 0.0, 60.0), at(0.0, 0.0, 0.0)], f64::INFINITY)];
        for k in 0..6 {
            let y = f64::from(k);
            let [from, to] = if k % 2 == 0 { [0.0, 80.0] } else { [80.0, 0.0] };
            runs.push(run(RunKind::Cut, [at(from, y, 0.0), at(to, y, 0.0)], FEED_MM_S));
            runs.push(run(RunKind::Link, [at(to, y, 0.0), at(to, y + 1.0, 0.0)], FEED_MM_S));
        }
        Toolpath { runs }
    }

    /// Times as the planner finds them: cutting and linking.
    fn planned(scenario: &Scenario) -> [f64; 2] {
        let (path, machine) = (serpentine(), machine());
        let timer = Timer::new(&path, &machine, &AccountOptions::default());
        let times = timer.and_then(|t| t.times(scenario)).expect("a path that can be driven");
        [times.cutting_s, times.linking_s]
    }

    #[test]
    fn without_limits_the_planner_finds_length_over_feed() {
        let cut_s = 6.0 * 80.0 / FEED_MM_S;
        let link_s = ideal_link_s(&serpentine(), &machine());
        let limitless =
            Scenario { accel: 1e6, jerk: 1e15, block_time: 1e-9, ..Scenario::default() };
        let [cutting_s, linking_s] = planned(&limitless);
        assert!((cutting_s / cut_s - 1.0).abs() < 1e-4, "{cutting_s} s, not {cut_s} s");
        assert!((linking_s / link_s - 1.0).abs() < 1e-3, "{linking_s} s, not {link_s} s");
        // and a machine with limits takes longer, so the test can fail
        let [cutting_s, linking_s] = planned(&Scenario::default());
        assert!(cutting_s > 1.01 * cut_s && linking_s > 1.5 * link_s);
    }

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
