//! Walls and floors of pockets finished in layers: what is left, how many layers, what is told.

#![allow(clippy::unwrap_used, reason = "a test may unwrap")]

mod support;

use study::outcome::OperationOutcome;
use support::{faces_of_rings, operations as finished, rounded_ring, run};

/// A block with a pocket of `x` × `y` × `depth` mm in its top at z = 20, its corners rounded by `r`, and
/// `beside` mm of block round it.
fn block(x: f64, y: f64, depth: f64, r: f64, beside: f64) -> String {
    let (a, b) = (0.5 * x, 0.5 * y);
    let outer = [a + beside, b + beside, r + beside];
    let rings = [(outer, 0.0), (outer, 20.0), ([a, b, r], 20.0), ([a, b, r], 20.0 - depth)];
    let vertices: String = rings.iter().map(|(plan, z)| rounded_ring(*plan, 0.0, *z)).collect();
    vertices + &faces_of_rings()
}

fn head(tolerance_um: f64) -> String {
    format!(
        "[study]\nname = \"Pocket\"\nmachine = \"three-axis-12k\"\n[part]\nfile = \"block.obj\"\nunit = \"mm\"\n\
         material = \"en-aw-7075-t651\"\n[[feature]]\nname = \"pocket\"\nkind = \"pocket\"\n\
         select = {{ near_mm = [0.0, 0.0, 8.0] }}\ntolerance_um = {tolerance_um:.1}\n[[process]]\nname = \"new\"\n"
    )
}

fn operation(kind: &str, cutter: &str, more: &str) -> String {
    format!(
        "[[process.operation]]\nname = \"{kind}\"\nfeature = \"pocket\"\nkind = \"{kind}\"\n\
         cutter = \"{cutter}\"\nrpm = 10000\nfeed_per_tooth_mm = 0.05\n{more}\n"
    )
}

fn cutter(id: &str, teeth: u32, stickout: f64) -> String {
    format!(
        "[[cutter]]\nid = \"{id}\"\nform = \"flat\"\ndiameter_mm = 10.0\nteeth = {teeth}\n\
         flute_length_mm = 22.0\noverall_length_mm = 120.0\nshank_diameter_mm = 10.0\nhelix_deg = 30.0\n\
         stickout_mm = {stickout:.1}\nrunout_um = 0.0\n"
    )
}

fn told<'a>(o: &'a OperationOutcome, what: &str) -> &'a str {
    let found = o.warnings.iter().find(|w| w.contains(what));
    found.unwrap_or_else(|| panic!("{what}: {:?}", o.warnings))
}

#[test]
fn floor_and_walls_come_out_at_nominal_in_either_order() {
    let part = block(50.0, 40.0, 12.0, 7.0, 20.0);
    let floor = operation("finish-floor", "end", "");
    let walls = operation("finish-wall", "end", "");
    for kinds in [[&floor, &walls], [&walls, &floor]] {
        let text = head(40.0) + kinds[0] + kinds[1] + &cutter("end", 4, 40.0);
        let found = finished(&text, &part);
        told(&found[0], "near-net stock");
        told(&found[0], "told of the last operation");
        assert_eq!(found[0].cusp.cut_max_um, None);
        // corners of 7 mm in chords of 3.75° lie 3.7 µm off (derived: r (1 − cos 1.875°)), and the path
        // keeps 0.5 µm off
        let last = &found[1];
        assert!(last.cusp.cut_max_um.unwrap() < 5.0, "{:?}", last.cusp);
        for o in &found {
            assert!(o.gouge.unwrap().depth_um < 4.0, "{:?}", o.gouge);
            assert!(o.time.total_s > 0.0 && o.loads.iter().all(|l| l.peak.is_some()));
        }
        // derived: border less corners, times height and allowance; plan area times allowance
        let around = 2.0 * (50.0 + 40.0) - (8.0 - 2.0 * std::f64::consts::PI) * 7.0;
        let plan = 50.0 * 40.0 - (4.0 - std::f64::consts::PI) * 49.0;
        let all = 1e-3 * 0.2 * (around * 12.0 + plan);
        let cut: f64 = found.iter().map(|o| o.swarf.volume_cm3.unwrap()).sum();
        assert!((cut / all - 1.0).abs() < 0.03, "{cut} {all}");
    }
}

#[test]
fn a_slender_cutter_takes_more_layers_of_a_wall() {
    let part = block(50.0, 40.0, 14.0, 7.0, 20.0);
    let wall = |stickout, tolerance, more: &str| {
        let text =
            head(tolerance) + &operation("finish-wall", "end", more) + &cutter("end", 4, stickout);
        finished(&text, &part).remove(0)
    };
    let (stiff, slender) = (wall(35.0, 15.0, ""), wall(75.0, 15.0, ""));
    let levels = |o: &OperationOutcome| o.roughed.as_ref().unwrap().levels;
    assert!(levels(&slender) > levels(&stiff), "{} {}", levels(&slender), levels(&stiff));
    for o in [&stiff, &slender] {
        told(o, "are allowed");
        let r = o.roughed.as_ref().unwrap();
        // the floor's allowance stands: passes end on top of it
        assert!((r.levels as f64 * r.depth_mm - 13.8).abs() < 1e-6, "{r:?}");
        let left = o.form_error.as_ref().unwrap();
        assert!(left.left_um.high <= 15.0, "{left:?}");
        // the band beside it is the floor's
        assert!(o.broken.iter().all(|b| b.contains("not reached")), "{:?}", o.broken);
    }
    assert_eq!(levels(&wall(75.0, 15.0, "depth_per_pass_mm = 7.0")), 2);
    // one layer, and a pass that takes off what the first left
    let (first, sprung) = (
        wall(75.0, 15.0, "depth_per_pass_mm = 14.0"),
        wall(75.0, 15.0, "depth_per_pass_mm = 14.0\nspring_passes = 1"),
    );
    let left = |o: &OperationOutcome| o.form_error.clone().unwrap();
    assert!(left(&first).left_um.high > 15.0);
    assert!(first.broken.iter().any(|b| b.contains("gives way")), "{:?}", first.broken);
    assert!(left(&sprung).left_um.high < 0.5 * left(&first).left_um.high);
    // what it brings is not certain: the range keeps what stood before
    assert!(left(&sprung).range_um.high >= left(&first).left_um.high);
    assert!(sprung.path_mm > 1.8 * first.path_mm, "{} {}", sprung.path_mm, first.path_mm);
}

#[test]
fn a_thin_wall_is_told_of_and_taken_in_thinner_layers() {
    let wall = |beside: f64| {
        let part = block(50.0, 40.0, 14.0, 7.0, beside);
        let text = head(30.0) + &operation("finish-wall", "end", "") + &cutter("end", 4, 40.0);
        finished(&text, &part).remove(0)
    };
    let (thin, thick) = (wall(0.8), wall(20.0));
    let words = told(&thin, "in turn in even layers");
    assert!(words.contains("0.80 mm thick and 14.0 mm high"), "{words}");
    assert!(!thick.warnings.iter().any(|w| w.contains("mm thick")), "{:?}", thick.warnings);
    let levels = |o: &OperationOutcome| o.roughed.as_ref().unwrap().levels;
    assert!(levels(&thin) > levels(&thick), "{} {}", levels(&thin), levels(&thick));
}

#[test]
fn a_cutter_of_more_teeth_is_named() {
    let part = block(50.0, 40.0, 12.0, 7.0, 20.0);
    let cutters = cutter("end", 3, 40.0) + &cutter("end-6", 6, 40.0);
    let text = head(60.0) + &operation("finish-wall", "end", "") + &cutters;
    let found = finished(&text, &part);
    assert!(told(&found[0], "\"end-6\"").contains("with 6 teeth instead of 3"));
    let text = head(60.0) + &operation("finish-wall", "end-6", "") + &cutters;
    assert!(!finished(&text, &part)[0].warnings.iter().any(|w| w.contains("teeth instead")));
}

#[test]
fn what_cannot_be_finished_is_refused_with_place_and_remedy() {
    let part = block(50.0, 40.0, 12.0, 7.0, 20.0);
    let refused = |operations: &str, cutters: &str| {
        run(&(head(40.0) + operations + cutters), &part).unwrap_err()
    };
    let end = cutter("end", 4, 40.0);
    let ball = end.replace("form = \"flat\"", "form = \"ball\"");
    let round = refused(&operation("finish-floor", "end", ""), &ball);
    assert!(round.contains("cuts no flat floor") && round.contains("study.toml:"), "{round}");
    let spring = refused(&operation("finish-floor", "end", "spring_passes = 1"), &end);
    assert!(spring.contains("finishes no wall"), "{spring}");
    let many = refused(&operation("finish-wall", "end", "spring_passes = 9"), &end);
    assert!(many.contains("spring_passes"), "{many}");
    let wide = end.replace("diameter_mm = 10.0", "diameter_mm = 45.0");
    let fits = refused(&operation("finish-wall", "end", ""), &wide);
    assert!(fits.contains("fits nowhere") || fits.contains("no stock"), "{fits}");
    let short = end
        .replace("flute_length_mm = 22.0", "flute_length_mm = 8.0")
        .replace("shank_diameter_mm = 10.0", "shank_diameter_mm = 12.0");
    let reach = refused(&operation("finish-wall", "end", ""), &short);
    assert!(reach.contains("does not reach"), "{reach}");
    // a corner of the pocket was roughed, so that the rest is known to be full
    let touched = operation(
        "rough-pocket",
        "end",
        "depth_per_pass_mm = 3.0\nwidth_mm = 2.0\nstock_left_mm = 4.0\nentry = \"helix\"",
    ) + &operation("finish-floor", "end", "");
    let full = run(&(head(40.0) + &touched + &end), &part);
    let words = full.map(|o| o.processes[0].operations[1].roughed.clone().unwrap().depth_mm);
    assert!(words.as_ref().is_ok_and(|depth| (depth - 4.0).abs() < 1e-6), "{words:?}");
}
