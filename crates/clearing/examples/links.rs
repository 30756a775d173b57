//! How smooth and how long the links of seeded random pockets are: `links [FIRST LAST [ARC_DEG]]`.
//! BOTH=1: passes both ways. JUDGE=1: what they shave, as the judge of the tests finds it (slow).
#![allow(missing_docs, unreachable_pub, reason = "an example")]

#[path = "../tests/support/mod.rs"]
mod support;

use clearing::{Kind, Method, Run, clear};
use std::time::Instant;
use support::judge;

/// Lengths of links, mm.
fn lengths(runs: &[Run]) -> impl Iterator<Item = f64> {
    let links = runs.iter().filter(|r| r.kind == Kind::Link);
    links.map(|r| {
        r.points.windows(2).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1])).sum::<f64>()
    })
}

fn main() {
    let numbers: Vec<f64> = std::env::args().skip(1).filter_map(|a| a.parse().ok()).collect();
    let (first, last) = (numbers.first().unwrap_or(&0.0), numbers.get(1).unwrap_or(&200.0));
    let arc_deg = *numbers.get(2).unwrap_or(&45.0);
    let (mut all, mut corners, mut lifts, mut seconds) = (Vec::new(), [0usize; 4], 0, Vec::new());
    let (mut cut_mm, mut remnant_mm, mut shaved) = (0.0, 0.0, Vec::new());
    for seed in *first as u64..*last as u64 {
        let scene = support::random::pocket(seed);
        let mut job = support::scenes::job(&scene, arc_deg, Method::ConstantEngagement);
        job.both_ways = std::env::var("BOTH").is_ok();
        let begun = Instant::now();
        let Ok(out) = clear(&job) else { continue };
        seconds.push(begun.elapsed().as_secs_f64());
        all.extend(lengths(&out.runs));
        let here = judge::cornered(&out.runs, job.chord_mm);
        (0..4).for_each(|k| corners[k] += here[k]);
        lifts += out.shares.lifts;
        if std::env::var("JUDGE").is_ok() {
            let verdict = judge::drive(&out.runs, &scene.inside, &scene.stock, 5.0, usize::MAX);
            shaved.extend(verdict.links_rad.iter().map(|a| a.to_degrees()));
        }
        (cut_mm, remnant_mm) = (cut_mm + out.shares.cutting_mm, remnant_mm + out.shares.remnant_mm);
    }
    all.sort_by(f64::total_cmp);
    seconds.sort_by(f64::total_cmp);
    let at = |list: &[f64], share: f64| list[((list.len() - 1) as f64 * share) as usize];
    println!(
        "{} links, {lifts} lifts; with a corner of more than 5°: {} ({:.2} %), at their beginning {}, within {}, at their end {}",
        all.len(),
        corners[0],
        1e2 * corners[0] as f64 / all.len() as f64,
        corners[1],
        corners[2],
        corners[3],
    );
    println!(
        "length in all {:.0} mm, median {:.2}, nine in ten {:.2}, longest {:.1}; cut {cut_mm:.0} mm, remnants {remnant_mm:.0} mm",
        all.iter().sum::<f64>(),
        at(&all, 0.5),
        at(&all, 0.9),
        at(&all, 1.0)
    );
    if !shaved.is_empty() {
        let over = |deg: f64| shaved.iter().filter(|a| **a > deg).count();
        println!(
            "shaved, links over 5°, 10°, 15°, 20°: {}, {}, {}, {}; most {:.1}°",
            over(5.0),
            over(10.0),
            over(15.0),
            over(20.0),
            shaved.iter().copied().fold(0.0, f64::max)
        );
    }
    println!(
        "{} pockets, median {:.3} s, slowest {:.3} s",
        seconds.len(),
        at(&seconds, 0.5),
        at(&seconds, 1.0)
    );
}
