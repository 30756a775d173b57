//! Engagement of a cutter that leans: against closed forms, and against the upright cutter with part and
//! tool turned together.

mod support;

use geom::{Quat, TriMesh, Vec3};
use mechanics::chip;
use mechanics::engagement::Slice;
use mechanics::engagement::peripheral::{Arc, Way};
use std::f64::consts::TAU;
use stock::{Leaning, Look, Three};
use support::{ball, flat};

/// A box, turned about the middle of its bottom.
fn turned_box(size: Vec3, turn: Quat) -> TriMesh {
    let corner = |k: usize| {
        let at = |bit: usize, full: f64| if k >> bit & 1 == 1 { full } else { 0.0 };
        turn * (Vec3::new(at(0, size.x), at(1, size.y), at(2, size.z)) - 0.5 * size.with_z(0.0))
    };
    let quads =
        [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles: Vec<[u32; 3]> =
        quads.iter().flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]]).collect();
    TriMesh { vertices: (0..8).map(corner).collect(), face_of: vec![0; triangles.len()], triangles }
}

fn stock_of(mesh: &TriMesh, spacing_mm: f64) -> Three {
    let (lo, hi) = mesh.bounds().expect("a mesh");
    let pad = Vec3::splat(0.137);
    Three::of_mesh((lo - pad, hi + pad), spacing_mm, (mesh, 0.0)).expect("a grid")
}

/// Goes along a straight line with a steady axis in steps, and looks at its end.
fn at_end(leaning: &mut Leaning<'_>, (from, to): (Vec3, Vec3), axis: Vec3, steps: usize) -> Look {
    for i in 1..=steps {
        let at = from.lerp(to, i as f64 / steps as f64);
        leaning.pass((at, axis)).expect("finite");
    }
    leaning.look()
}

/// A side cut of an end mill into a block, both turned together in any way.
fn side_cut(turn: Quat, ae_mm: f64, way: Way) -> Look {
    let cutter = flat(10.0);
    let mut stock = stock_of(&turned_box(Vec3::new(40.0, 20.0, 6.0), turn), 0.1);
    // the wall of the block stands at y = −10; down milling goes along −x
    let y = -10.0 - 5.0 + ae_mm;
    let from = Vec3::new(if way == Way::Up { -16.0 } else { 16.0 }, y, -2.0);
    let to = from.with_x(0.0);
    let axis = turn * Vec3::Z;
    let mut leaning = Leaning::new(&mut stock, &cutter, (turn * from, axis), 2.0);
    at_end(&mut leaning, (turn * from, turn * to), axis, 64)
}

#[test]
fn a_side_cut_is_the_same_whichever_way_it_is_turned() {
    let turns = [
        Quat::IDENTITY,
        Quat::from_rotation_x(std::f64::consts::FRAC_PI_2),
        Quat::from_rotation_y(-std::f64::consts::FRAC_PI_2),
        Quat::from_rotation_x(0.6),
        Quat::from_rotation_y(1.1) * Quat::from_rotation_x(-0.8),
        Quat::from_rotation_z(0.4) * Quat::from_rotation_y(2.0),
    ];
    for turn in turns {
        for (ae_mm, way) in [(1.0, Way::Down), (3.0, Way::Up), (5.0, Way::Down)] {
            let want = Arc::beside(10.0, ae_mm, way).expect("fits together");
            let look = side_cut(turn, ae_mm, way);
            assert!((look.across_mm - 0.25).abs() < 1e-9 && look.along_mm.abs() < 1e-9);
            let inside: Vec<&Slice> =
                look.slices.iter().filter(|s| s.z_mm > 2.5 && s.z_mm < 7.5).collect();
            assert!(inside.len() >= 3, "{turn} {ae_mm} {:?}", look.slices);
            for s in inside {
                let off =
                    (s.entry_rad - want.entry_rad).abs().max((s.exit_rad - want.exit_rad).abs());
                // derived: half a cell of the columns across a wall that leans, over the slope of the arc
                let most = if ae_mm < 2.0 { 3.5 } else { 2.0 };
                assert!(off.to_degrees() < most, "{turn} {ae_mm} {way:?}: {s:?} {want:?}");
            }
            assert!(look.slices.iter().all(|s| s.z_mm < 8.2), "nothing over the block");
        }
    }
}

/// Chip volume of one tooth over its passage, over the feed: the section of the cut, mm².
fn section_mm2(look: &Look) -> f64 {
    let (across, along) = (look.across_mm, look.along_mm);
    let step = across.hypot(along);
    let of = |s: &Slice| {
        let chip =
            chip::over_sloping(&[*s], across / step, along / step).map_or(0.0, |c| c.mean_mm);
        chip * s.width_mm * s.arc_rad() * s.radius_mm
    };
    look.slices.iter().map(of).sum()
}

/// A ball that leans any way in a groove of its own. derived: where on the ball metal is cut does not
/// depend on the axis, so that chips of all slices fill the segment of the circle, and every slice is in
/// the cut where its place on the ball looks ahead and lies below the face.
#[test]
fn a_ball_in_a_flat_face_cuts_the_segment_of_its_circle() {
    let (cutter, r, depth) = (ball(12.0), 6.0f64, 1.5);
    let segment = {
        let half = (1.0 - depth / r).acos();
        r * r * (half - half.sin() * half.cos())
    };
    for (lead, tilt) in
        [(0.0f64, 0.0f64), (0.0, 30.0), (20.0, 0.0), (-25.0, 0.0), (15.0, 40.0), (-30.0, -35.0)]
    {
        let mesh = turned_box(Vec3::new(40.0, 24.0, 8.0), Quat::IDENTITY);
        let mut stock = stock_of(&mesh, 0.08);
        let lean =
            Quat::from_rotation_x(tilt.to_radians()) * Quat::from_rotation_y(lead.to_radians());
        let axis = lean * Vec3::Z;
        let centre = |x: f64| Vec3::new(x, 0.0, 8.0 - depth + r);
        let tip = |x: f64| centre(x) - axis * r;
        let mut leaning = Leaning::new(&mut stock, &cutter, (tip(-14.0), axis), 0.3);
        let look = at_end(&mut leaning, (tip(-14.0), tip(0.0)), axis, 70);
        let found = section_mm2(&look);
        assert!((found / segment - 1.0).abs() < 0.02, "{lead} {tilt}: {found} {segment}");
        // by angles: the sum of arcs times radii and widths is the part of the ball below the face ahead
        let ahead: f64 = look.slices.iter().map(|s| s.width_mm * s.arc_rad() * s.radius_mm).sum();
        let cap = 0.5 * TAU * r * depth;
        assert!((ahead / cap - 1.0).abs() < 0.02, "{lead} {tilt}: {ahead} {cap}");
        let across = Vec3::X - axis * axis.x;
        let (along, left) = (across.normalize(), axis.cross(across.normalize()));
        for s in &look.slices {
            let middle = 0.5 * (s.entry_rad + s.exit_rad);
            let e = left * middle.cos() + along * middle.sin();
            let out = e * s.kappa_rad.sin() - axis * s.kappa_rad.cos();
            let low = r + r * out.z - depth;
            assert!(out.x > -0.02 && low < 0.05, "{lead} {tilt} {s:?}");
        }
    }
}

/// derived: along its own axis an end mill cuts with its whole bottom and nothing else.
#[test]
fn a_plunge_along_the_axis_cuts_with_the_bottom() {
    let cutter = flat(10.0);
    let axis = Vec3::new(0.0, -1.0, 0.0);
    let mut stock = Three::block((Vec3::ZERO, Vec3::new(30.0, 30.0, 30.0)), 0.1).expect("a grid");
    let (from, to) = (Vec3::new(15.0, -2.0, 15.0), Vec3::new(15.0, 5.0, 15.0));
    let mut leaning = Leaning::new(&mut stock, &cutter, (from, axis), 1.0);
    let look = at_end(&mut leaning, (from, to), axis, 35);
    assert!((look.along_mm + 0.2).abs() < 1e-9 && look.across_mm < 1e-9, "{look:?}");
    assert!(look.slices.iter().all(|s| s.kappa_rad == 0.0 && s.arc_rad() > TAU - 1e-6));
    let width: f64 = look.slices.iter().map(|s| s.width_mm).sum();
    assert!((width - 5.0).abs() < 1e-9, "{width}");
    let gone = leaning.finish();
    let left = 27_000.0 - stock.volume_mm3();
    assert!((left / gone - 1.0).abs() < 0.01, "{left} {gone}");
    assert!((gone / (5.0 * 25.0 * std::f64::consts::PI) - 1.0).abs() < 0.01, "{gone}");
}

/// The axis turns about the tip, which stands still: places above it move, and cut what stands ahead.
#[test]
fn a_turn_about_the_tip_cuts_with_what_moves() {
    let cutter = flat(10.0);
    // a wall beyond x = 8
    let mut stock = Three::block((Vec3::new(8.0, -20.0, 0.0), Vec3::new(30.0, 20.0, 20.0)), 0.1)
        .expect("a grid");
    let tip = Vec3::ZERO;
    let axis = |angle: f64| Vec3::new(angle.sin(), 0.0, angle.cos());
    let mut leaning = Leaning::new(&mut stock, &cutter, (tip, Vec3::Z), 0.5);
    for i in 1..=80 {
        leaning.pass((tip, axis(0.005 * f64::from(i)))).expect("finite");
    }
    let look = leaning.look();
    assert!(!look.slices.is_empty());
    let lean = 0.4 - 0.0025;
    for s in &look.slices {
        // derived: the flank passes x = 8 from z sin θ + r cos θ = 8 on
        let first = (8.0 - 5.0 * f64::cos(lean)) / f64::sin(lean);
        assert!(s.z_mm > first - 0.6, "{s:?} {first}");
        let middle = 0.5 * (s.entry_rad + s.exit_rad);
        assert!((middle.to_degrees() - 90.0).abs() < 4.0, "the feed is ahead: {s:?}");
    }
    // what moves at height z goes 0.005 z on a piece
    assert!(look.across_mm > 0.05 && look.across_mm < 0.005 * 31.0, "{}", look.across_mm);
}
