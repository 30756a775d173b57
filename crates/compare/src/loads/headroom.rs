//! How much faster an operation could go before the next limit binds.

use super::force::Answering;
use crate::job::Prepared;
use crate::scene::Scene;
use machine::AxisName;
use study::outcome::Headroom;
use toolpath::Toolpath;

/// Peaks grow with the feed along a straight line (edge part and chip part), so that two of them
/// give the feed at which a limit is reached.
pub(super) fn of(
    scene: &Scene<'_>,
    _prepared: &Prepared<'_>,
    toolpath: &Toolpath,
    loads: &[Answering],
) -> Headroom {
    let mut room: Vec<(f64, String)> =
        loads.iter().flat_map(|a| [until_limit(a), until_lasting(a)]).flatten().collect();
    room.extend(axis_feed(scene, toolpath));
    let next = room.iter().min_by(|a, b| a.0.total_cmp(&b.0));
    let used = loads.iter().flat_map(|a| {
        let name = a.load.kind.label().0;
        let share = |load: Option<f64>, limit: Option<f64>| Some(load? / limit?);
        let peak = share(a.load.peak, a.load.limit).map(|s| (name.to_owned(), s));
        let rms = share(a.load.rms, a.load.rms_limit).map(|s| (format!("{name} without end"), s));
        [peak, rms].into_iter().flatten()
    });
    Headroom {
        feed_factor: next.map(|n| n.0),
        next_limit: next.map(|n| n.1.clone()),
        binds: used.max_by(|a, b| a.1.total_cmp(&b.1)),
    }
}

/// Factor on the feed at which a load reaches its limit.
fn until_limit(a: &Answering) -> Option<(f64, String)> {
    let (peak, limit, twice) = (a.load.peak?, a.load.limit?, a.at_twice?);
    let by_feed = twice - peak;
    (by_feed > 0.0).then(|| (1.0 + (limit - peak) / by_feed, a.load.kind.label().0.to_owned()))
}

/// Factor on the feed at which a load that heats reaches what may be asked for without end.
fn until_lasting(a: &Answering) -> Option<(f64, String)> {
    let (rms, limit, twice) = (a.load.rms?, a.load.rms_limit?, a.rms_at_twice?);
    let by_feed = twice - rms;
    let name = format!("{} without end", a.load.kind.label().0);
    (by_feed > 0.0).then(|| (1.0 + (limit - rms) / by_feed, name))
}

/// Factor on the feed at which the fastest move asks for all that the slowest linear axis has.
fn axis_feed(scene: &Scene<'_>, toolpath: &Toolpath) -> Option<(f64, String)> {
    let linear = scene.study.machine.axes.iter().filter(|a| !AxisName::is_rotary(a.name));
    let slowest = linear.min_by(|a, b| a.max_speed.total_cmp(&b.max_speed))?;
    let cuts = toolpath.runs.iter().filter(|r| r.kind.is_cut());
    let fastest = cuts.flat_map(|r| r.tip_feed_mm_s.iter().copied()).fold(0.0, f64::max);
    let name = format!("axis {} feed", slowest.name);
    (fastest > 0.0).then(|| (slowest.max_speed / fastest, name))
}
