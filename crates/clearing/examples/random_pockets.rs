//! Clears seeded random pockets and says what failed: `random_pockets [FIRST LAST [ARC_DEG [EVERY]]]`;
//! every how many points the judge looks. BOTH=1: passes both ways.
#![allow(missing_docs, unreachable_pub, reason = "an example")]

#[path = "../tests/support/mod.rs"]
mod support;

use clearing::{Clearing, ClearingError, Hold, Kind, Method, clear};
use std::collections::BTreeMap;

/// Time on the processor so far, s: other work on the machine does not count. Where the system does not
/// tell, 0.
fn processor_s() -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    told.split(' ').next().and_then(|n| n.parse::<f64>().ok()).map_or(0.0, |n| 1e-9 * n)
}

/// Lengths whose arc is larger than `limit`, and the largest, by run and by what holds it.
fn over(out: &Clearing, limit: f64) -> BTreeMap<String, (f64, f64)> {
    let mut all = BTreeMap::new();
    for run in &out.runs {
        for i in 1..run.points.len() {
            let (arc, hold) = (run.arc_of_contact_rad[i], run.hold[i]);
            if arc <= limit || matches!(hold, Hold::Entry | Hold::Slot) {
                continue;
            }
            let (a, b) = (run.points[i - 1], run.points[i]);
            let place: &mut (f64, f64) = all.entry(format!("{:?} {hold:?}", run.kind)).or_default();
            place.0 += (b[0] - a[0]).hypot(b[1] - a[1]);
            place.1 = place.1.max(arc);
        }
    }
    all
}

fn main() {
    let numbers: Vec<f64> = std::env::args().skip(1).filter_map(|a| a.parse().ok()).collect();
    let (first, last) = (numbers.first().unwrap_or(&0.0), numbers.get(1).unwrap_or(&200.0));
    let target = numbers.get(2).unwrap_or(&45.0).to_radians();
    let every = numbers.get(3).map_or(101, |n| *n as usize);
    let (mut steered, mut within, mut slowest, mut gouge) = (0usize, 0usize, (0f64, 0u64), 0f64);
    let (mut refused, mut peak, mut lengths) = (0, 0f64, [0f64; 9]);
    let (mut largest, mut shaved, mut over_mm) = (0f64, 0f64, 0f64);
    for seed in *first as u64..*last as u64 {
        let scene = support::random::pocket(seed);
        let mut job = support::scenes::job(&scene, target.to_degrees(), Method::ConstantEngagement);
        job.both_ways = std::env::var("BOTH").is_ok();
        let begun = processor_s();
        let out = match clear(&job) {
            Ok(out) => out,
            Err(e) => {
                refused += 1;
                if !matches!(e, ClearingError::TooWide { .. }) {
                    println!("{seed}: {e}");
                }
                continue;
            }
        };
        let took = processor_s() - begun;
        if took > slowest.0 {
            slowest = (took, seed);
        }
        let verdict = support::judge::drive(&out.runs, &scene.inside, &scene.stock, 5.0, every);
        gouge = gouge.max(verdict.gouge_mm);
        let (mut n, mut good) = (0, 0);
        for (r, i, arc) in &verdict.arcs {
            if out.runs[*r].hold[*i] == Hold::Steered && out.runs[*r].kind == Kind::Cut {
                if (arc - target).abs() > 5f64.to_radians() && std::env::var("OUT").is_ok() {
                    let run = &out.runs[*r];
                    let p = |k: usize| geom::Vec2::from(run.points[k]);
                    let (a, b) = (p(i - 1) - p(i.max(&2) - 2), p(*i) - p(i - 1));
                    println!(
                        "out {r} {i}/{}: {:.1} planner {:.1} step {:.3} before {:.3} turn {:.2} width {:.3}",
                        run.points.len(),
                        arc.to_degrees(),
                        run.arc_of_contact_rad[*i].to_degrees(),
                        b.length(),
                        a.length(),
                        a.angle_to(b).to_degrees(),
                        run.width_mm[*i]
                    );
                }
                n += 1;
                good += usize::from((arc - target).abs() < 5f64.to_radians());
            }
            if out.runs[*r].kind == Kind::Trochoid && out.runs[*r].hold[*i] == Hold::Neck {
                peak = peak.max(*arc);
                if *arc > target + 0.2 {
                    println!(
                        "loop {r} point {i} of {}: {:.1}, planner {:.1}",
                        out.runs[*r].points.len(),
                        arc.to_degrees(),
                        out.runs[*r].arc_of_contact_rad[*i].to_degrees()
                    );
                }
            }
        }
        (steered, within) = (steered + n, within + good);
        if verdict.gouge_mm > 0.0051 {
            let (r, i) = verdict.gouge_at;
            println!(
                "gouge in {:?} {} of {} at {:?}",
                out.runs[r].kind,
                i,
                out.runs[r].points.len(),
                out.runs[r].points[i]
            );
        }
        for (hold, (length, most)) in over(&out, target + 15f64.to_radians()) {
            over_mm += length;
            println!("  over by 15° in {hold}: {length:.2} mm, {:.1}", most.to_degrees());
        }
        let s = &out.shares;
        largest = largest.max(s.peak_rad);
        shaved = shaved.max(verdict.link_arc_rad);
        let parts = [
            s.cutting_mm,
            s.steered_mm,
            s.entering_mm,
            s.leaving_mm,
            s.wall_mm,
            s.remnant_mm,
            s.neck_mm,
            s.entry_mm,
            s.air_mm,
        ];
        (0..9).for_each(|k| lengths[k] += parts[k]);
        let reach = {
            let room = scene.inside.grown(-5.0005);
            scene.inside.less(&room.grown(5.0)).area_mm2()
        };
        println!(
            "{seed}: {took:.2} s, {:.0} mm2, steered {:.3} within {good}/{n}, neck {:.3}, air {:.2}, {} links {} lifts, rest {:.1} (out of reach {reach:.1}), gouge {:.4}, link {:.1}, peak {:.1}",
            scene.inside.area_mm2(),
            s.steered_mm / s.cutting_mm,
            s.neck_mm / s.cutting_mm,
            s.air_mm / s.cutting_mm,
            s.links,
            s.lifts,
            out.rest.area_mm2(),
            verdict.gouge_mm,
            verdict.link_arc_rad.to_degrees(),
            s.peak_rad.to_degrees(),
        );
    }
    println!(
        "refused {refused}; gouge at most {gouge:.4} mm; slowest {:.2} s (seed {}); within 5° {:.4} of {steered} judged; judged peak in loops {:.1}; largest arc {:.1}, {over_mm:.1} mm over the target by 15°; links shave {:.1}; shares of cutting {:?}",
        slowest.0,
        slowest.1,
        within as f64 / steered as f64,
        peak.to_degrees(),
        largest.to_degrees(),
        shaved.to_degrees(),
        lengths.map(|l| (l / lengths[0] * 1e4).round() / 1e4),
    );
}
