//! Curvature estimated from meshes of surfaces whose curvature is known.

mod shapes;

use geom::{TriMesh, Vec3};
use part::{FaceKind, Part, ReadOptions, read};

fn take(mesh: &TriMesh) -> Part {
    let bytes = shapes::obj(mesh).into_bytes();
    read(&bytes, "s.obj", &ReadOptions::default()).unwrap_or_else(|e| panic!("{e}"))
}

/// Relative errors of both principal curvatures against `known` (at a point of the surface),
/// over the larger of them, ascending; taken inside triangles whose middle `wanted` takes.
fn errors(
    part: &Part,
    known: impl Fn(Vec3) -> (f64, f64),
    wanted: impl Fn(Vec3) -> bool,
) -> Vec<f64> {
    let mut errors = Vec::new();
    for t in 0..part.mesh.triangles.len() as u32 {
        for w in [[0.34, 0.33, 0.33], [0.8, 0.1, 0.1], [0.1, 0.45, 0.45]] {
            let site = part.site(t, w).expect("a normal");
            if !wanted(site.point) {
                continue;
            }
            let e = site.curvature.entries.eigen();
            let (large, small) = known(site.point);
            let scale = large.abs().max(small.abs());
            errors.push(((e.large - large).abs().max((e.small - small).abs())) / scale);
        }
    }
    errors.sort_by(f64::total_cmp);
    errors
}

fn at(errors: &[f64], share: f64) -> f64 {
    errors[((errors.len() - 1) as f64 * share) as usize]
}

/// Principal curvatures of `z = (k1 x² + k2 y²) / 2` seen from above.
fn of_paraboloid(k1: f64, k2: f64, p: Vec3) -> (f64, f64) {
    let (a, b) = (k1 * p.x, k2 * p.y);
    let w = 1.0 + a * a + b * b;
    let gauss = k1 * k2 / (w * w);
    let mean = ((1.0 + b * b) * k1 + (1.0 + a * a) * k2) / (2.0 * w.powf(1.5));
    let root = (mean * mean - gauss).max(0.0).sqrt();
    (mean + root, mean - root)
}

#[test]
fn saddles_and_bowls_to_two_percent() {
    let cases = [(0.01, -0.02, 20.0), (0.02, 0.005, 20.0), (-1.0 / 400.0, 1.0 / 900.0, 40.0)];
    for (k1, k2, half) in cases {
        let part = take(&shapes::paraboloid(k1, k2, half, 24));
        assert_eq!((part.faces.len(), part.faces[0].kind), (1, FaceKind::Freeform));
        let inner = |p: Vec3| p.x.abs() < 0.8 * half && p.y.abs() < 0.8 * half;
        let inside = errors(&part, |p| of_paraboloid(k1, k2, p), inner);
        let all = errors(&part, |p| of_paraboloid(k1, k2, p), |_| true);
        assert!(at(&inside, 1.0) < 0.002, "{k1} {k2}: {} inside", at(&inside, 1.0));
        assert!(at(&all, 1.0) < 0.02, "{k1} {k2}: {} up to the border", at(&all, 1.0));
    }
}

#[test]
fn a_torus_to_two_percent_on_both_its_sides() {
    let (major, minor) = (40.0, 12.0);
    let part = take(&shapes::torus(major, minor, 96, 36));
    assert_eq!((part.faces.len(), part.faces[0].kind), (1, FaceKind::Freeform));
    let known = |p: Vec3| {
        let rho = p.x.hypot(p.y);
        let around = -(rho - major) / minor / rho;
        (around.max(-1.0 / minor), around.min(-1.0 / minor))
    };
    let all = errors(&part, known, |_| true);
    assert!(at(&all, 1.0) < 0.02, "{}", at(&all, 1.0));
    assert!(at(&all, 0.5) < 0.005, "{}", at(&all, 0.5));
}

#[test]
fn points_lie_on_the_surface_and_not_on_the_chords() {
    let part = take(&shapes::torus(40.0, 12.0, 96, 36));
    let off = |p: Vec3| ((p.x.hypot(p.y) - 40.0).hypot(p.z) - 12.0).abs();
    let mut flat = 0.0_f64;
    let mut curved = 0.0_f64;
    for t in 0..part.mesh.triangles.len() {
        let [a, b, c] = part.mesh.corners(t);
        flat = flat.max(off((a + b + c) / 3.0));
        let site = part.site(t as u32, [1.0 / 3.0; 3]).expect("a normal");
        curved = curved.max(off(site.point));
    }
    assert!(curved < 0.1 * flat, "{curved} against {flat}");
    assert!(part.deviation_mm > flat && part.deviation_mm < 3.0 * flat, "{}", part.deviation_mm);
}

#[test]
fn simple_surfaces_are_recognised_with_their_radius() {
    let ball = take(&shapes::sphere(25.0, 40));
    assert_eq!(ball.faces[0].kind, FaceKind::Sphere);
    let known = |_: Vec3| (-1.0 / 25.0, -1.0 / 25.0);
    let worst = at(&errors(&ball, known, |_| true), 1.0);
    assert!(worst < 1e-6, "{worst}");

    let rod = take(&shapes::cylinder(8.0, 30.0, 48));
    let kinds: Vec<FaceKind> = rod.faces.iter().map(|f| f.kind).collect();
    assert_eq!(kinds.iter().filter(|k| **k == FaceKind::Plane).count(), 2);
    assert_eq!(kinds.iter().filter(|k| **k == FaceKind::Cylinder).count(), 1);

    let horn = take(&shapes::cone(10.0, 6.0, 20.0, 64));
    assert!(horn.faces.iter().any(|f| f.kind == FaceKind::Cone), "{:?}", horn.faces);
    let t = (0..horn.mesh.triangles.len())
        .find(|&t| horn.face_of(t as u32).kind == FaceKind::Cone)
        .expect("a triangle of the cone");
    let site = horn.site(t as u32, [0.2, 0.5, 0.3]).expect("a normal");
    // derived: across a cone the curvature is cos(half angle) over the distance from the axis
    let half = (4.0_f64 / 20.0).atan();
    let across = -half.cos() / site.point.x.hypot(site.point.y);
    let small = site.curvature.entries.eigen().small;
    assert!((small - across).abs() < 0.01 * across.abs(), "{small} for {across}");
}

#[test]
fn a_coarse_cylinder_stays_one_face() {
    for n in [12, 16, 24] {
        let rod = take(&shapes::cylinder(8.0, 30.0, n));
        assert_eq!(rod.faces.len(), 3, "{n} sides");
    }
    // but a hexagon is six walls
    assert_eq!(take(&shapes::cylinder(8.0, 30.0, 6)).faces.len(), 8);
}

#[test]
fn the_error_stated_covers_the_error_made() {
    let (k1, k2, half) = (0.01, -0.02, 20.0);
    for n in [10, 16, 24, 40] {
        let part = take(&shapes::paraboloid(k1, k2, half, n));
        let all = errors(&part, |p| of_paraboloid(k1, k2, p), |_| true);
        let worst = at(&all, 1.0) * k2.abs();
        let stated = part.curvature_error_per_mm(0);
        assert!(worst < stated, "{n}: {worst} made, {stated} stated");
        assert!(stated < 0.15 * k2.abs(), "{n}: {stated} stated for {k2}");
    }
}

#[test]
fn numbers_of_32_bits_do_not_spoil_a_flat_curve() {
    // a crown of 420 by 260 mm far from the origin, finely meshed, as a binary STL holds it
    let (k1, k2) = (-1.0 / 420.0, -1.0 / 260.0);
    let mesh = shapes::moved(&shapes::paraboloid(k1, k2, 30.0, 60), Vec3::new(100.0, 50.0, 40.0));
    let part = read(&shapes::stl_binary(&mesh), "c.stl", &ReadOptions::default()).expect("reads");
    assert_eq!(part.faces.len(), 1);
    let home = |p: Vec3| p - Vec3::new(100.0, 50.0, 40.0);
    let inner = |p: Vec3| home(p).x.abs() < 24.0 && home(p).y.abs() < 24.0;
    let inside = errors(&part, |p| of_paraboloid(k1, k2, home(p)), inner);
    assert!(at(&inside, 0.95) < 0.02, "{}", at(&inside, 0.95));
}
