//! The box tree beside a general library's, on the same mesh and the same queries, in one run.

use divan::{Bencher, counter::ItemsCount};
use geom::{Bvh, TriMesh, Vec3};
use parry3d_f64::math::Vec3 as Parry;
use parry3d_f64::query::{PointQuery, RayCast};

const QUERIES: u32 = 20_000;

fn main() {
    divan::main();
}

/// A crowned sheet of 2 · 317² = 200 978 triangles.
fn sheet() -> TriMesh {
    let n = 317;
    let mut mesh = TriMesh::default();
    for i in 0..=n {
        for j in 0..=n {
            let (x, y) = (f64::from(i) / f64::from(n) * 150.0, f64::from(j) / f64::from(n) * 100.0);
            let (a, b) = (x - 75.0, y - 50.0);
            let z = -a * a / 840.0 - b * b / 520.0 + 0.2 * (x * 0.2).sin();
            mesh.vertices.push(Vec3::new(x, y, z));
        }
    }
    let at = |i: i32, j: i32| (i * (n + 1) + j) as u32;
    for i in 0..n {
        for j in 0..n {
            let (a, b, c, d) = (at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    mesh.face_of = vec![0; mesh.triangles.len()];
    mesh
}

fn theirs(mesh: &TriMesh) -> parry3d_f64::shape::TriMesh {
    let vertices = mesh.vertices.iter().map(|v| parry(*v)).collect();
    parry3d_f64::shape::TriMesh::new(vertices, mesh.triangles.clone()).expect("a mesh")
}

fn parry(v: Vec3) -> Parry {
    Parry::new(v.x, v.y, v.z)
}

fn points() -> Vec<Vec3> {
    (0..QUERIES)
        .map(|k| {
            let f = |s: f64| (f64::from(k) * s).fract();
            Vec3::new(f(0.618_03) * 150.0, f(0.414_21) * 100.0, f(0.732_05) * 40.0 - 20.0)
        })
        .collect()
}

#[divan::bench]
fn build_own(bencher: Bencher<'_, '_>) {
    let mesh = sheet();
    bencher.bench(|| Bvh::new(&mesh));
}

#[divan::bench]
fn build_library(bencher: Bencher<'_, '_>) {
    let mesh = sheet();
    bencher.bench(|| theirs(&mesh));
}

#[divan::bench]
fn closest_own(bencher: Bencher<'_, '_>) {
    let (mesh, points) = (sheet(), points());
    let tree = Bvh::new(&mesh);
    bencher.counter(ItemsCount::new(QUERIES)).bench(|| {
        let distance =
            |p: &Vec3| tree.closest(&mesh, *p, f64::INFINITY).map_or(0.0, |c| c.distance_mm);
        points.iter().map(distance).sum::<f64>()
    });
}

#[divan::bench]
fn closest_library(bencher: Bencher<'_, '_>) {
    let points: Vec<Parry> = points().into_iter().map(parry).collect();
    let tree = theirs(&sheet());
    bencher
        .counter(ItemsCount::new(QUERIES))
        .bench(|| points.iter().map(|p| tree.distance_to_local_point(*p, false)).sum::<f64>());
}

#[divan::bench]
fn ray_own(bencher: Bencher<'_, '_>) {
    let (mesh, points) = (sheet(), points());
    let tree = Bvh::new(&mesh);
    let along = Vec3::new(0.1, -0.2, -1.0);
    bencher.counter(ItemsCount::new(QUERIES)).bench(|| {
        let t = |p: &Vec3| {
            let from = Vec3::new(p.x, p.y, 30.0);
            tree.ray(&mesh, from, along, f64::INFINITY).map_or(0.0, |h| h.t)
        };
        points.iter().map(t).sum::<f64>()
    });
}

#[divan::bench]
fn ray_library(bencher: Bencher<'_, '_>) {
    let points = points();
    let tree = theirs(&sheet());
    let along = parry(Vec3::new(0.1, -0.2, -1.0));
    bencher.counter(ItemsCount::new(QUERIES)).bench(|| {
        let t = |p: &Vec3| {
            let ray = parry3d_f64::query::Ray::new(Parry::new(p.x, p.y, 30.0), along);
            tree.cast_local_ray(&ray, f64::MAX, false).unwrap_or(0.0)
        };
        points.iter().map(t).sum::<f64>()
    });
}
