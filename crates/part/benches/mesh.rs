//! Reading mesh files, with everything that makes a part of them.

#[path = "../tests/shapes/mod.rs"]
mod shapes;

use divan::{Bencher, counter::ItemsCount};
use geom::TriMesh;
use part::{ReadOptions, read};

fn main() {
    divan::main();
}

fn crown() -> TriMesh {
    shapes::paraboloid(-1.0 / 420.0, -1.0 / 260.0, 50.0, 160)
}

fn bench(bencher: Bencher<'_, '_>, name: &str, bytes: &[u8], triangles: usize) {
    let options = ReadOptions::default();
    bencher
        .counter(ItemsCount::new(triangles))
        .bench(|| read(bytes, name, &options).expect("a sound file"));
}

/// 51 200 triangles, curvature estimated at every vertex.
#[divan::bench(sample_count = 5)]
fn stl_of_a_crown(bencher: Bencher<'_, '_>) {
    let mesh = crown();
    bench(bencher, "c.stl", &shapes::stl_binary(&mesh), mesh.triangles.len());
}

#[divan::bench(sample_count = 5)]
fn obj_of_a_crown(bencher: Bencher<'_, '_>) {
    let mesh = crown();
    bench(bencher, "c.obj", shapes::obj(&mesh).as_bytes(), mesh.triangles.len());
}

#[divan::bench(sample_count = 5)]
fn ply_of_a_crown(bencher: Bencher<'_, '_>) {
    let mesh = crown();
    bench(bencher, "c.ply", &shapes::ply(&mesh, shapes::Ply::Little), mesh.triangles.len());
}

#[divan::bench(sample_count = 5)]
fn threemf_of_a_crown(bencher: Bencher<'_, '_>) {
    let mesh = crown();
    let object = shapes::threemf_object(&mesh, 1, "crown");
    let bytes = shapes::threemf("millimeter", &object, "<item objectid=\"1\"/>");
    bench(bencher, "c.3mf", &bytes, mesh.triangles.len());
}

/// A sphere, where the surface is recognised and nothing needs estimating.
#[divan::bench(sample_count = 5)]
fn stl_of_a_sphere(bencher: Bencher<'_, '_>) {
    let mesh = shapes::sphere(30.0, 110);
    bench(bencher, "s.stl", &shapes::stl_binary(&mesh), mesh.triangles.len());
}
