//! Pockets cleared in layers: volumes and rest by closed forms, the feed that follows the load, and
//! what cannot be done.

#![allow(clippy::unwrap_used, reason = "a test may unwrap")]

mod support;

use std::f64::consts::PI;
use support::{operations as cleared, run};

/// A block with a pocket of `x` × `y` × `depth` mm with sharp corners in its top at z = 20.
fn block(x: f64, y: f64, depth: f64) -> String {
    let ring = |a: f64, b: f64, z: f64| {
        format!("v {} {} {z}\nv {a} {} {z}\nv {a} {b} {z}\nv {} {b} {z}\n", -a, -b, -b, -a)
    };
    let (a, b) = (0.5 * x, 0.5 * y);
    let mut text = ring(a + 20.0, b + 20.0, 0.0) + &ring(a + 20.0, b + 20.0, 20.0);
    text += &(ring(a, b, 20.0) + &ring(a, b, 20.0 - depth));
    text += "f 4 3 2 1\n";
    for i in 1..=4 {
        let j = i % 4 + 1;
        for (lo, hi) in [(0, 4), (4, 8), (8, 12)] {
            text += &format!("f {} {} {} {}\n", lo + i, lo + j, hi + j, hi + i);
        }
    }
    text + "f 13 14 15 16\n"
}

const HEAD: &str = r#"
[study]
name = "Pocket"
machine = "three-axis-12k"
[part]
file = "block.obj"
unit = "mm"
material = "en-aw-7075-t651"
[[feature]]
name = "pocket"
kind = "pocket"
select = { near_mm = [0.0, 0.0, 14.0] }
[[process]]
name = "today"
"#;

fn operation(kind: &str, cutter: &str, width: f64, more: &str) -> String {
    format!(
        "[[process.operation]]\nname = \"{kind} {cutter}\"\nfeature = \"pocket\"\nkind = \"{kind}\"\n\
         cutter = \"{cutter}\"\ndepth_per_pass_mm = 6.0\nwidth_mm = {width:.2}\nrpm = 10000\n\
         feed_per_tooth_mm = 0.05\n{more}\n"
    )
}

fn cutter(d: f64, flutes: f64) -> String {
    format!(
        "[[cutter]]\nid = \"flat-{d}\"\nform = \"flat\"\ndiameter_mm = {d:.1}\nteeth = 3\n\
         flute_length_mm = {flutes:.1}\noverall_length_mm = 80.0\nshank_diameter_mm = {:.1}\n\
         helix_deg = 30.0\nstickout_mm = 40.0\nrunout_um = 0.0\n",
        d + 2.0
    )
}

#[test]
fn a_pocket_and_its_corners_by_closed_forms() {
    let way = "clearing = \"constant-engagement\"\nentry = \"helix\"\ncoolant = \"flood\"\nchord_um = 2.0";
    let text = HEAD.to_owned()
        + &operation("rough-pocket", "flat-10", 1.5, way)
        + &operation("rest-corners", "flat-4", 0.5, way)
        + &cutter(10.0, 22.0)
        + &cutter(4.0, 12.0);
    let found = cleared(&text, &block(44.0, 30.0, 6.0));
    let (rough, rest) = (found[0].roughed.as_ref().unwrap(), found[1].roughed.as_ref().unwrap());
    // derived: a disc of radius r leaves r² − πr²/4 in each right corner
    let corners = |r: f64| (4.0 - PI) * r * r;
    // the path turns by a tenth of the radius at least, so that a corner keeps at most that of 1.1 r;
    // it may stay off the walls, 148 mm round, by chords of path and border
    let walls = 148.0 * 3.0 * 0.002;
    assert_eq!((rough.levels, rough.depth_mm), (1, 6.0));
    assert!((rough.stock_cm3 - 7.92).abs() < 1e-3, "{rough:?}");
    for (found, r) in [(rough, 5.0), (rest, 2.0)] {
        let room = corners(r) - walls..corners(1.1 * r) + walls;
        assert!(room.contains(&found.rest_mm2), "{} {room:?}", found.rest_mm2);
    }
    assert!(
        (1e3 * rest.stock_cm3 / 6.0 - rough.rest_mm2).abs() < 1e-3,
        "what one leaves the other finds"
    );
    // the simulated stock agrees with the plan, to half a cell along the border
    let (by_plan, left) = (rough.stock_cm3 - rough.rest_cm3, rough.left.unwrap());
    let border = 1e-3 * 148.0 * 6.0 * left.cell_mm;
    assert!((left.removed_cm3 - by_plan).abs() < border, "{} {by_plan}", left.removed_cm3);
    assert!(left.least_mm > -left.cell_mm && left.most_mm > 1.0, "{left:?}");
    // volume over time is the rate; loads, chips and life are all there
    let o = &found[0];
    assert!((rough.rate_cm3_min - 60.0 * by_plan / o.time.cutting_s).abs() < 1e-6);
    assert!(o.loads.iter().all(|l| l.peak.is_some_and(|p| p > 0.0)), "{:?}", o.loads);
    assert!(o.swarf.verdict.iter().any(|v| v.contains("without chip breakers")), "{:?}", o.swarf);
    assert!(o.swarf.bulk_volume_cm3.unwrap() > o.swarf.volume_cm3.unwrap());
    assert!(o.warnings.iter().any(|w| w.contains("stay where the cutter")), "{:?}", o.warnings);
    assert!(rough.arc_peak_deg > rough.arc_target_deg - 1.0, "{rough:?}");
}

#[test]
fn a_feed_that_follows_the_load_saves_a_quarter_in_contour_parallel_pockets() {
    let text = |feed: &str| {
        HEAD.to_owned()
            + &operation("rough-pocket", "flat-10", 1.0, &format!("feed = \"{feed}\""))
            + &cutter(10.0, 22.0)
    };
    let part = block(150.0, 100.0, 6.0);
    let (even, follows) = (cleared(&text("constant"), &part), cleared(&text("scheduled"), &part));
    let gain = follows[0].roughed.as_ref().unwrap().feed_gain.unwrap();
    assert!((gain.constant_s / even[0].time.total_s - 1.0).abs() < 1e-9);
    let saved = 1.0 - follows[0].time.total_s / even[0].time.total_s;
    assert!(saved >= 0.25, "{saved}: {gain:?}");
    // at no higher peak of force, torque and chip
    for (a, b) in even[0].loads.iter().zip(&follows[0].loads) {
        assert!(b.peak.unwrap() <= a.peak.unwrap() * (1.0 + 1e-9), "{:?} {:?}", a, b);
    }
}

#[test]
fn what_cannot_be_cleared_is_refused_with_place_and_remedy() {
    let part = block(44.0, 30.0, 14.0);
    let refused = |operation: &str, cutters: &str| {
        run(&(HEAD.to_owned() + operation + cutters), &part).unwrap_err()
    };
    let rough = |cutter: &str, width, more: &str| operation("rough-pocket", cutter, width, more);
    let short = refused(&rough("flat-10", 1.0, ""), &cutter(10.0, 8.0));
    assert!(short.contains("does not reach the floor") && short.contains("study.toml:"), "{short}");
    let wide = refused(&rough("flat-36", 1.0, ""), &cutter(36.0, 20.0));
    assert!(wide.contains("fits nowhere") && wide.contains("29.9"), "{wide}");
    let slot = refused(&rough("flat-10", 12.0, ""), &cutter(10.0, 20.0));
    assert!(slot.contains("lower width_mm"), "{slot}");
    let turned =
        HEAD.replace("[[feature]]", "[setup]\nrotation_deg = [180.0, 0.0, 0.0]\n[[feature]]");
    let under =
        run(&(turned + &rough("flat-10", 1.0, "") + &cutter(10.0, 20.0)), &part).unwrap_err();
    assert!(under.contains("no way in") && under.contains("rotation_deg"), "{under}");
    let outside = HEAD.replace("kind = \"pocket\"\nselect", "kind = \"outside\"\nselect");
    let outside = outside.replace("select = { near_mm = [0.0, 0.0, 14.0] }\n", "");
    let bare = run(
        &(outside + &operation("rough-outside", "flat-10", 1.0, "") + &cutter(10.0, 20.0)),
        &part,
    );
    assert!(bare.unwrap_err().contains("stock that is not given"));
}

/// A study that clears the outside of a block down to what `left` says.
fn round(margin_mm: f64, left: &str) -> String {
    let stock = format!(
        "stock = {{ shape = \"block\", margin_mm = [{margin_mm:.1}, {margin_mm:.1}, 0.0] }}"
    );
    let text = HEAD
        .replace("kind = \"pocket\"", "kind = \"outside\"")
        .replace("[[feature]]", &format!("{stock}\n[[feature]]"))
        .replace("select = { near_mm = [0.0, 0.0, 14.0] }\n", "");
    text + &operation("rough-outside", "flat-10", 2.0, left)
}

#[test]
fn an_outside_is_cleared_down_to_the_part_and_no_further() {
    let way = "clearing = \"contour-parallel\"\nstock_left_mm = 0.5";
    let text = round(4.0, way) + &cutter(10.0, 30.0);
    let found = cleared(&text, &block(44.0, 30.0, 6.0));
    let rough = found[0].roughed.as_ref().unwrap();
    // derived: block of 92 × 78 mm round a part of 84 × 70 mm, less a round-cornered layer of 0.5 mm
    let layer = 84.0 * 70.0 + 2.0 * (84.0 + 70.0) * 0.5 + PI * 0.25;
    let want = 92.0 * 78.0 - layer;
    let area = (rough.stock_cm3 - rough.rest_cm3) * 1e3 / 19.5;
    assert!((area - want).abs() < 2.0, "{area} {want}");
    assert!(rough.levels == 4 && found[0].broken.is_empty(), "{:?}", found[0].broken);
}

/// derived: the axis goes 5.5 mm off the walls, 20 mm high, of the block; the holder begins 12 mm over the tip
#[test]
fn neck_and_holder_beside_a_wall_by_closed_forms() {
    let way = "clearing = \"contour-parallel\"\nstock_left_mm = 0.5";
    let held = |holder_mm: f64| {
        let cutter = cutter(10.0, 8.0).replace("stickout_mm = 40.0", "stickout_mm = 12.0")
            + "neck_diameter_mm = 7.0\nusable_length_mm = 12.0\n";
        let holder = format!("holder = [{{ diameter_mm = {holder_mm:.1}, length_mm = 40.0 }}]\n");
        cleared(&(round(4.0, way) + &cutter + &holder), &block(44.0, 30.0, 6.0)).remove(0)
    };
    // the nearest is what the flutes leave standing half a millimetre off the part, 1.5 mm off the neck;
    // what is not cut yet of a layer is no higher than the flutes
    let clear = held(6.0);
    let near = clear.closest_approach.unwrap();
    let good_to = near.good_to_mm.unwrap();
    assert!(clear.broken.is_empty() && good_to < 0.3, "{:?} {near:?}", clear.broken);
    assert!((near.distance_mm - 1.5).abs() <= good_to && near.body == "neck", "{near:?}");
    let [x, y, z] = near.place_mm;
    let off = (x.abs() - 42.0).max(y.abs() - 35.0);
    assert!((off - 0.5).abs() <= 2.0 * good_to && (8.0..=20.01).contains(&z), "{near:?}");
    // a holder of 20 mm is 5 mm in what stands on the walls, over a height of 7.5 mm
    let meets = held(20.0);
    let told = meets.broken.iter().find(|b| b.contains("holder meets stock or part"));
    assert!(told.is_some_and(|b| b.contains("of the set-up")), "{:?}", meets.broken);
    let near = meets.closest_approach.unwrap();
    assert!((near.distance_mm + 5.0).abs() <= near.good_to_mm.unwrap(), "{near:?}");
}

#[test]
fn a_clamp_in_the_way_is_told() {
    let way = "clearing = \"contour-parallel\"\nstock_left_mm = 0.5";
    let text = round(4.0, way) + &cutter(10.0, 30.0);
    // a plate 2 mm high at the foot, 6 mm off the block's side: flutes go over it and down into it
    let cube = |lo: [f64; 3], hi: [f64; 3]| {
        let at = |k: usize, b: usize| if k >> b & 1 == 1 { hi[b] } else { lo[b] };
        let vertices = (0..8).map(|k| geom::Vec3::new(at(k, 0), at(k, 1), at(k, 2))).collect();
        let quads =
            [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        let triangles: Vec<[u32; 3]> =
            quads.iter().flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]]).collect();
        geom::TriMesh { vertices, face_of: vec![0; triangles.len()], triangles }
    };
    let part = block(44.0, 30.0, 6.0);
    let broken = |clamp: geom::TriMesh| {
        let mut found = support::run_beside(&text, &part, &[clamp]).unwrap();
        found.processes.remove(0).operations.remove(0).broken
    };
    let near = broken(cube([48.0, -10.0, 0.0], [70.0, 10.0, 2.5]));
    let told = near.iter().find(|b| b.contains("cutting part meets a clamp"));
    // derived: 2 mm over the lowest tip, at 0.5 mm
    assert!(told.is_some_and(|b| b.contains("2.00 mm deep")), "{near:?}");
    assert!(broken(cube([60.0, -10.0, 0.0], [70.0, 10.0, 2.0])).is_empty());
}
