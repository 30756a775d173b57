//! A whole job: the top of a block, read from a mesh, finished with a ball.

mod support;

use cutsim::{CutJob, CutSurface, cut_surface};
use cutter::{Cutter, CutterSpec, Form};
use geom::Vec3;
use part::{Part, ReadOptions};
use std::fmt::Write;
use support::{Quadric, Raster, Tool};
use toolpath::{Pose, Run, RunKind, Toolpath};

const HALF: f64 = 8.0;
const STEP: f64 = 0.4;
const RADIUS: f64 = 6.0;

/// A block whose top is the square of half width 8 at z = 0, as OBJ.
fn block() -> Part {
    let mut text = String::new();
    for z in [-10.0, 0.0] {
        for (x, y) in [(-HALF, -HALF), (HALF, -HALF), (HALF, HALF), (-HALF, HALF)] {
            writeln!(text, "v {x} {y} {z}").expect("a string takes it");
        }
    }
    let quads = ["4 3 2 1", "5 6 7 8", "1 2 6 5", "2 3 7 6", "3 4 8 7", "4 1 5 8"];
    for quad in quads {
        writeln!(text, "f {quad}").expect("a string takes it");
    }
    part::read(text.as_bytes(), "block.obj", &ReadOptions::default()).expect("a block")
}

/// Raster over more than the top, at `lift` above it.
fn raster(lift: f64) -> Toolpath {
    raster_over(HALF + 0.6, lift)
}

fn raster_over(half: f64, lift: f64) -> Toolpath {
    let tool = Tool::ball(RADIUS, 15f64.to_radians());
    let flat = Quadric { kx: 0.0, ky: 0.0 };
    let raster = Raster { half, angle: 0.0, step: STEP, chord_length: 2.0, lean: 0.0 };
    let mut path = raster.path(flat, &tool);
    for pose in path.runs.iter_mut().flat_map(|r| &mut r.poses) {
        pose.tip.z += lift;
    }
    path
}

fn top(part: &Part) -> usize {
    let hit = part.bvh.closest(&part.mesh, Vec3::Z, 2.0).expect("the top");
    part.mesh.face_of[hit.triangle as usize] as usize
}

fn cut(path: &Toolpath) -> CutSurface {
    let part = block();
    let mut spec = CutterSpec::new(Form::Ball, 2.0 * RADIUS);
    spec.flute_length_mm = Some(26.0);
    let cutter = Cutter::new(&spec).expect("a ball");
    let faces = [top(&part)];
    let job = CutJob {
        part: &part,
        faces: &faces,
        toolpath: path,
        profile: cutter.profile(),
        stock_mm: 0.2,
        stepover_mm: STEP,
        samples: 40_000,
    };
    cut_surface(&job, &|_| {}).expect("a surface")
}

/// Exact cusp of circles on a plane, mm.
fn cusp() -> f64 {
    STEP * STEP / 4.0 / (RADIUS + (RADIUS * RADIUS - STEP * STEP / 4.0).sqrt())
}

#[test]
fn cusp_mean_and_texture_of_a_flat_top() {
    let cut = cut(&raster(0.0));
    let (max, mean) = (cut.cut_max_mm.expect("cut"), cut.cut_mean_mm.expect("cut"));
    assert!((max - cusp()).abs() < (0.01 * cusp()).max(2e-5), "{max} {}", cusp());
    // derived: the mean of a parabola is a third of its height
    assert!((mean / cusp() - 1.0 / 3.0).abs() < 2e-3, "{mean}");
    assert_eq!(cut.uncut_mm2, 0.0);
    assert!(cut.gouge.expect("cut").depth_mm < 1e-9);
    let areal = cut.areal.expect("cut");
    assert!((areal.sa_mm / cusp() - 0.256_600_1).abs() < 2e-3, "{areal:?}");
    assert!((areal.sz_mm / cusp() - 1.0).abs() < 0.01);
    // derived: step 0.4 with nesting index 0.8 keeps Ra/h = 0.2409823
    let profile = cut.profiles.first().expect("a profile");
    let kept = profile.filtered(0.8).expect("long enough");
    assert!((kept.ra_um / (cusp() * 1e3) - 0.240_982_3).abs() < 0.02, "{kept:?}");
}

#[test]
fn what_lies_beyond_the_border_is_no_cusp() {
    // the outermost passes run a whole step inside and end half a step inside: at the border four
    // times the cusp is left, and what lies beyond it does not count
    let cut = cut(&raster_over(HALF - 0.5 * STEP, 0.0));
    let ridge = cut.ridge_max_mm.expect("ridges");
    assert!((ridge / cusp() - 4.0).abs() < 0.1, "{ridge} {}", cusp());
    // derived: a corner lies √(1 + ¼) steps from the end of its pass: five times
    let max = cut.cut_max_mm.expect("cut");
    assert!((4.0..5.1).contains(&(max / cusp())), "{max} {}", cusp());
}

#[test]
fn a_cut_too_deep_is_a_gouge_and_one_too_high_is_not_cut() {
    let deep = cut(&raster(-0.015)).gouge.expect("cut");
    assert!((deep.depth_mm - 0.015).abs() < 1e-6, "{deep:?}");
    let high = cut(&raster(0.3));
    assert!((high.uncut_mm2 - 4.0 * HALF * HALF).abs() < 0.01 && high.cut_max_mm.is_none());
}

#[test]
fn a_rapid_through_the_part_is_a_gouge() {
    let mut path = raster(0.0);
    let pose = |x: f64| Pose { tip: Vec3::new(x, 0.1, -0.05), axis: Vec3::Z };
    path.runs.push(Run {
        kind: RunKind::Rapid,
        pass: 0,
        poses: vec![pose(-20.0), pose(20.0)],
        contacts: vec![],
        tip_feed_mm_s: vec![f64::INFINITY],
    });
    let gouge = cut(&path).gouge.expect("cut");
    assert!(gouge.on_feature && (gouge.depth_mm - 0.05).abs() < 2e-4, "{gouge:?}");
}

#[test]
fn a_strip_that_no_pass_reaches_is_reported() {
    let mut path = raster(0.0);
    // without the passes from y = 2 to y = 6 a trough of stock is left between their neighbours
    path.runs.retain(|r| !(1.9..6.1).contains(&r.contacts[0].point.y));
    let cut = cut(&path);
    // derived: a ball of 6 mm reaches 0.2 mm high at √(2·6·0.2 − 0.04) = 1.536229 to the side
    let strip = (6.4 - 1.6) - 2.0 * 1.536_229;
    assert!((cut.uncut_mm2 / (2.0 * HALF) - strip).abs() < 0.02, "{}", cut.uncut_mm2);
}
