//! What must not change the answer: the index, threads, where things stand, how a path is cut up.

mod support;

use cutsim::{Cut, Move, Ray, Reach, Swept, Which, sweep};
use geom::Vec3;
use proptest::prelude::*;
use support::{Quadric, Raster, Tool};
use toolpath::{Pose, Toolpath};

const REACH: Reach = Reach { lo_mm: -1.0, hi_mm: 0.2 };
const CROWN: Quadric = Quadric { kx: -1.0 / 300.0, ky: 1.0 / 900.0 };

/// A vector turned about a unit axis.
fn turn(v: Vec3, axis: Vec3, angle_rad: f64) -> Vec3 {
    let (s, c) = angle_rad.sin_cos();
    v * c + axis.cross(v) * s + axis * (axis.dot(v) * (1.0 - c))
}

fn tools() -> [(Tool, f64); 2] {
    [
        (Tool::ball(6.0, 15f64.to_radians()), 0.3),
        (Tool::barrel(10.0, 250.0, 1.5, 84f64.to_radians()), 2.0),
    ]
}

fn path(tool: &Tool, step: f64) -> Toolpath {
    Raster { half: 6.0, angle: 0.3, step, chord_length: 0.5, lean: 0.1 }.path(CROWN, tool)
}

fn swept(tool: &Tool, path: &Toolpath) -> Swept {
    Swept::new(tool.body.clone(), sweep::moves(path, Which::AtFeed))
}

fn rays(count: usize) -> Vec<Ray> {
    let at = |i: usize| {
        let (u, v) = (i as f64 * 0.754_877_666, i as f64 * 0.569_840_291);
        CROWN.ray(9.0 * (u.fract() - 0.5), 9.0 * (v.fract() - 0.5))
    };
    (0..count).map(at).collect()
}

fn heights(cuts: &[Option<Cut>]) -> Vec<f64> {
    cuts.iter().map(|c| c.map_or(f64::INFINITY, |c| c.deviation_mm)).collect()
}

fn worst(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| if a == b { 0.0 } else { (a - b).abs() }).fold(0.0, f64::max)
}

#[test]
fn the_index_leaves_nothing_out() {
    for (tool, step) in tools() {
        let swept = swept(&tool, &path(&tool, step));
        let rays = rays(200);
        let all = 0..swept.moves().len() as u32;
        let slow: Vec<_> = rays.iter().map(|r| swept.cut_by(*r, REACH, all.clone())).collect();
        assert!(slow.iter().all(Option::is_some));
        assert!(worst(&heights(&swept.cuts(&rays, REACH)), &heights(&slow)) < 1e-9);
    }
}

#[test]
fn a_deep_gouge_by_the_side_of_the_cutter_is_seen() {
    // a wall that stands where the flank passes, 12 mm up the axis
    let (tool, step) = tools()[1].clone();
    let swept = swept(&tool, &path(&tool, step));
    let m = swept.moves()[swept.moves().len() / 2];
    let flank = m.tip_at(0.0) + m.axis_at(0.0) * 12.0;
    let out = m.axis_at(0.0).any_orthonormal_vector();
    let wall = Ray { point: flank + out * 2.0, normal: out };
    let cut = swept.cut(wall, REACH).expect("the flank passes");
    assert_eq!(cut.deviation_mm, REACH.lo_mm);
}

#[test]
fn any_number_of_threads_gives_the_same_bits() {
    let (tool, step) = tools()[0].clone();
    let (swept, rays) = (swept(&tool, &path(&tool, step)), rays(3000));
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        let cuts = pool.install(|| swept.cuts(&rays, REACH));
        cuts.iter().map(|c| c.map(|c| (c.deviation_mm.to_bits(), c.by))).collect::<Vec<_>>()
    };
    let one = run(1);
    assert!(one == run(2) && one == run(3));
}

#[test]
fn a_path_driven_backwards_cuts_the_same() {
    for (tool, step) in tools() {
        let there = path(&tool, step);
        let mut back = there.clone();
        back.runs.reverse();
        for run in &mut back.runs {
            run.poses.reverse();
            run.contacts.reverse();
        }
        let rays = rays(800);
        let (a, b) = (swept(&tool, &there), swept(&tool, &back));
        assert!(worst(&heights(&a.cuts(&rays, REACH)), &heights(&b.cuts(&rays, REACH))) < 1e-9);
    }
}

/// Every move in two, the axis on the great circle.
fn halved(path: &Toolpath) -> Toolpath {
    let mut out = path.clone();
    for run in &mut out.runs {
        let mut poses = Vec::new();
        for w in run.poses.windows(2) {
            let m = Move::between([w[0].tip, w[1].tip], [w[0].axis, w[1].axis]);
            poses.extend([w[0], Pose { tip: m.tip_at(0.0), axis: m.axis_at(0.0) }]);
        }
        poses.extend(run.poses.last().copied());
        run.tip_feed_mm_s = vec![50.0; poses.len() - 1];
        run.poses = poses;
        run.contacts.clear();
    }
    out
}

#[test]
fn moves_cut_in_two_sweep_the_same() {
    for (tool, step) in tools() {
        let whole = path(&tool, step);
        let (a, b) = (swept(&tool, &whole), swept(&tool, &halved(&whole)));
        assert_eq!(2 * a.moves().len(), b.moves().len());
        let rays = rays(800);
        assert!(worst(&heights(&a.cuts(&rays, REACH)), &heights(&b.cuts(&rays, REACH))) < 1e-9);
    }
}

#[test]
fn a_cutter_off_its_path_is_seen() {
    // the tests above compare like with like: this one shows that they can tell a difference
    let (tool, step) = tools()[0].clone();
    let there = path(&tool, step);
    let mut off = there.clone();
    off.runs.iter_mut().flat_map(|r| &mut r.poses).for_each(|p| p.tip.z += 1e-6);
    let rays = rays(100);
    let (a, b) = (swept(&tool, &there), swept(&tool, &off));
    let seen = worst(&heights(&a.cuts(&rays, REACH)), &heights(&b.cuts(&rays, REACH)));
    assert!((seen - 1e-6).abs() < 1e-7, "{seen}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(6))]

    #[test]
    fn turned_and_moved_together_nothing_changes(
        angle in -3.0..3.0f64,
        ax in -1.0..1.0f64,
        ay in -1.0..1.0f64,
        dx in -200.0..200.0f64,
        dz in -200.0..200.0f64,
    ) {
        let axis = Vec3::new(ax, ay, 0.6).normalize();
        let away = Vec3::new(dx, -0.5 * dx, dz);
        for (tool, step) in tools() {
            let here = path(&tool, step);
            let mut there = here.clone();
            for pose in there.runs.iter_mut().flat_map(|r| &mut r.poses) {
                pose.tip = turn(pose.tip, axis, angle) + away;
                pose.axis = turn(pose.axis, axis, angle);
            }
            let at_home = rays(200);
            let moved: Vec<Ray> = at_home
                .iter()
                .map(|r| Ray {
                    point: turn(r.point, axis, angle) + away,
                    normal: turn(r.normal, axis, angle),
                })
                .collect();
            let a = swept(&tool, &here).cuts(&at_home, REACH);
            let b = swept(&tool, &there).cuts(&moved, REACH);
            prop_assert!(worst(&heights(&a), &heights(&b)) < 1e-9);
        }
    }
}
