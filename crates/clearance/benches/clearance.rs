//! How many moves a second are certified over a dome: the cutting part alone, and the whole
//! assembly with shank and holder.

use clearance::{Exact, Limits, Obstacle, certify_run};
use cutter::{Assembly, CutterSpec, Form, HolderSegment};
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use geom::{Bvh, TriMesh, Vec3};
use toolpath::Pose;

const RADIUS_MM: f64 = 400.0;
const CELLS: usize = 150;
const HALF_MM: f64 = 60.0;

fn main() {
    divan::main();
}

fn on_dome(x: f64, y: f64) -> Vec3 {
    Vec3::new(x, y, (RADIUS_MM * RADIUS_MM - x * x - y * y).sqrt() - RADIUS_MM)
}

fn dome() -> TriMesh {
    let n = CELLS + 1;
    let at = |i: usize| HALF_MM * (2.0 * i as f64 / CELLS as f64 - 1.0);
    let vertices = (0..n * n).map(|i| on_dome(at(i % n), at(i / n))).collect();
    let mut triangles = Vec::new();
    for k in 0..CELLS * CELLS {
        let a = (k / CELLS * n + k % CELLS) as u32;
        let [b, c, d] = [a + 1, a + n as u32, a + n as u32 + 1];
        triangles.extend([[a, b, d], [a, d, c]]);
    }
    let face_of = vec![0; triangles.len()];
    TriMesh { vertices, triangles, face_of }
}

/// A ball nose of 12 mm, with or without what stands above its flutes.
fn assembly(whole: bool) -> Assembly {
    let mut spec = CutterSpec::new(Form::Ball, 12.0);
    spec.flute_length_mm = Some(26.0);
    spec.stickout_mm = Some(45.0);
    if whole {
        spec.holder =
            vec![HolderSegment { diameter_mm: 28.0, top_diameter_mm: None, length_mm: 25.0 }];
    }
    let mut assembly = Assembly::new(&spec).expect("a ball nose");
    if !whole {
        assembly.bodies.clear();
    }
    assembly
}

/// Passes that touch the dome, the axis leaning 15 degrees across them.
fn poses() -> Vec<Pose> {
    let (sin, cos) = 15f64.to_radians().sin_cos();
    let pose = |x: f64, y: f64| {
        let point = on_dome(x, y);
        let normal = (point + Vec3::Z * RADIUS_MM) / RADIUS_MM;
        let across = (Vec3::Y - normal * normal.y).normalize();
        let axis = normal * cos + across * sin;
        Pose { tip: point + normal * 6.0 - axis * 6.0, axis }
    };
    let pass = |k: usize| {
        let y = -20.0 + k as f64;
        let way = if k.is_multiple_of(2) { 1.0 } else { -1.0 };
        (0..=160).map(move |i| (way * (-40.0 + 0.5 * f64::from(i)), y))
    };
    (0..40).flat_map(pass).map(|(x, y)| pose(x, y)).collect()
}

#[divan::bench(args = [false, true], sample_count = 5, sample_size = 1)]
fn certified_moves(bencher: Bencher<'_, '_>, whole: bool) {
    let mesh = dome();
    let bvh = Bvh::new(&mesh);
    let exact = |triangle: u32, weights: [f64; 3]| {
        let flat = geom::triangle::at(mesh.corners(triangle as usize), weights);
        Some(on_dome(flat.x, flat.y))
    };
    let surface: &dyn Exact = &exact;
    let obstacles = [Obstacle::new("dome", &mesh, &bvh, 0.01).with_exact(surface, 1e-4)];
    let (assembly, poses) = (assembly(whole), poses());
    let limits = Limits::new(0.003, 0.5);
    assert!(certify_run(&assembly, &poses, &obstacles, &limits).is_clear());
    bencher
        .counter(ItemsCount::new(poses.len() - 1))
        .bench_local(|| black_box(certify_run(&assembly, &poses, &obstacles, &limits)));
}
