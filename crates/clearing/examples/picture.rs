//! Draws paths coloured by arc of contact: `picture FILE.html NAME... [random SEED...]`.
#![allow(missing_docs, unreachable_pub, reason = "an example")]

#[path = "../tests/support/mod.rs"]
mod support;

use clearing::{Clearing, Kind, Method, clear};
use std::fmt::Write as _;
use support::scenes::Scene;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let (file, wanted) = words.split_first().expect("a file to write");
    let mut page = String::from("<html><body style='font:13px sans-serif;margin:8px'>");
    let scenes = support::scenes::all();
    for word in wanted {
        let (word, method) = match word.strip_prefix('=') {
            Some(w) => (w, Method::ContourParallel),
            None => (word.as_str(), Method::ConstantEngagement),
        };
        let random;
        let scene = match word.parse::<u64>() {
            Ok(seed) => {
                random = support::random::pocket(seed);
                &random
            }
            Err(_) => scenes.iter().find(|s| s.name == word).expect("a scene of that name"),
        };
        draw(&mut page, scene, method);
    }
    std::fs::write(file, page + "</body></html>").expect("the file can be written");
}

fn draw(page: &mut String, scene: &Scene, method: Method) {
    let arc_deg: f64 = std::env::var("ARC").ok().and_then(|v| v.parse().ok()).unwrap_or(45.0);
    let mut job = support::scenes::job(scene, arc_deg, method);
    job.both_ways = std::env::var("BOTH").is_ok();
    let begun = std::time::Instant::now();
    let out = match clear(&job) {
        Ok(out) => out,
        Err(e) => {
            let _ = write!(page, "<p>{}: {e}</p>", scene.name);
            return;
        }
    };
    let took = begun.elapsed().as_secs_f64();
    let s = &out.shares;
    let moves: usize = out.runs.iter().map(|r| r.points.len()).sum();
    println!(
        "{}: {took:.2} s, {moves} points, steered {:.3} (within {:.4}), in {:.3} out {:.3} wall {:.3} remnant {:.3} neck {:.3} slot {:.3}; cutting {:.0} air {:.0} mm, {} links, {} lifts, peak {:.1}, rest {:.1} of {:.0} mm2",
        scene.name,
        s.steered_mm / s.cutting_mm,
        s.steered_within_mm / s.steered_mm,
        s.entering_mm / s.cutting_mm,
        s.leaving_mm / s.cutting_mm,
        s.wall_mm / s.cutting_mm,
        s.remnant_mm / s.cutting_mm,
        s.neck_mm / s.cutting_mm,
        s.slot_mm / s.cutting_mm,
        s.cutting_mm,
        s.air_mm,
        s.links,
        s.lifts,
        s.peak_rad.to_degrees(),
        out.rest.area_mm2(),
        scene.inside.and(&scene.stock).area_mm2(),
    );
    let [cornered, ..] = support::judge::cornered(&out.runs, job.chord_mm);
    let to = |kind: Kind| -> f64 {
        let pairs = out.runs.windows(2).filter(|w| w[0].kind == Kind::Link && w[1].kind == kind);
        pairs.map(|w| w[0].length_mm()).sum()
    };
    println!("  links to cuts {:.0}, to loops {:.0} mm", to(Kind::Cut), to(Kind::Trochoid));
    println!("  links with a corner: {cornered}");
    svg(page, scene, &out, job.arc_rad);
}

fn svg(page: &mut String, scene: &Scene, out: &Clearing, target: f64) {
    let loops = scene.inside.loops();
    let all = || loops.iter().flatten();
    let lo = all().fold([f64::MAX; 2], |a, p| [a[0].min(p[0]), a[1].min(p[1])]);
    let hi = all().fold([f64::MIN; 2], |a, p| [a[0].max(p[0]), a[1].max(p[1])]);
    // a part of it, mm: VIEW=x,y,x,y
    let view = std::env::var("VIEW").unwrap_or_default();
    let view: Vec<f64> = view.split(',').filter_map(|v| v.parse().ok()).collect();
    let (lo, hi) = match view[..] {
        [a, b, c, d] => ([a, b], [c, d]),
        _ => (lo, hi),
    };
    let scale = 1100.0 / (hi[0] - lo[0]);
    let at = |p: &[f64; 2]| format!("{:.2},{:.2}", scale * (p[0] - lo[0]), scale * (hi[1] - p[1]));
    let _ = write!(
        page,
        "<h3>{}</h3><svg width='1110' height='{:.0}' style='background:#fff'>",
        scene.name,
        scale * (hi[1] - lo[1]) + 10.0
    );
    let shape = |page: &mut String, region: &planar::Region, style: &str| {
        let paths: Vec<String> = region
            .loops()
            .iter()
            .map(|l| format!("M{}Z", l.iter().map(at).collect::<Vec<_>>().join("L")))
            .collect();
        let _ = write!(page, "<path d='{}' fill-rule='evenodd' {style}/>", paths.join(""));
    };
    shape(page, &scene.inside, "fill='#f2f2f2' stroke='#000'");
    shape(page, &out.rest, "fill='#d66'");
    for run in &out.runs {
        for i in 1..run.points.len() {
            let style = match run.kind {
                Kind::Link => "stroke='#aaa' stroke-width='0.7'".into(),
                Kind::Lift => "stroke='#f0f' stroke-dasharray='4'".into(),
                _ => format!(
                    "stroke='{}' stroke-width='1.3'",
                    colour(run.arc_of_contact_rad[i] / target)
                ),
            };
            let (a, b) = (at(&run.points[i - 1]), at(&run.points[i]));
            let _ = write!(page, "<path d='M{a}L{b}' {style}/>");
        }
        if run.kind != Kind::Link && run.kind != Kind::Lift {
            let a = at(&run.points[0]);
            let (x, y) = a.split_once(',').expect("a pair");
            let _ = write!(page, "<circle cx='{x}' cy='{y}' r='2' fill='#090'/>");
        }
    }
    page.push_str("</svg>");
}

/// From pale over blue to black at the target, red above it: lightness falls evenly (CIE L*).
fn colour(share: f64) -> String {
    if share > 1.12 {
        let over = ((share - 1.12) / 1.0).min(1.0);
        return format!("rgb(255,{:.0},0)", 140.0 * (1.0 - over));
    }
    let t = share.clamp(0.0, 1.0);
    format!("hsl({:.0},80%,{:.0}%)", 190.0 + 40.0 * t, 80.0 - 50.0 * t)
}
