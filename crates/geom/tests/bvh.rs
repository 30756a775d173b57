//! The box tree against a search through all triangles and against a general library.

use geom::triangle::{self, Ray};
use geom::{Bvh, TriMesh, Vec3};
use parry3d_f64::math::Vec3 as Parry;
use parry3d_f64::query::{PointQuery, RayCast};
use proptest::prelude::*;

fn point() -> impl Strategy<Value = Vec3> {
    (-10.0..10.0, -10.0..10.0, -10.0..10.0).prop_map(|(x, y, z)| Vec3::new(x, y, z))
}

/// Loose triangles of all sizes, some without area.
fn soup() -> impl Strategy<Value = TriMesh> {
    let corner = (point(), point(), 0.0..1.0_f64, point());
    prop::collection::vec((point(), corner), 1..120).prop_map(|list| {
        let mut mesh = TriMesh::default();
        for (i, (a, (b, c, size, d))) in list.into_iter().enumerate() {
            let base = mesh.vertices.len() as u32;
            let third = if i % 11 == 0 { a + (b - a) * 0.4 * size } else { a + c * size * size };
            mesh.vertices.extend([a, a + b * size, third + d * 0.0]);
            mesh.triangles.push([base, base + 1, base + 2]);
            mesh.face_of.push(0);
        }
        mesh
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn closest_is_the_closest_of_all(mesh in soup(), p in point()) {
        let tree = Bvh::new(&mesh);
        let all = (0..mesh.triangles.len()).map(|t| {
            let corners = mesh.corners(t);
            (triangle::at(corners, triangle::closest_weights(corners, p)) - p).length()
        });
        let least = all.fold(f64::INFINITY, f64::min);
        let found = tree.closest(&mesh, p, f64::INFINITY).expect("a mesh");
        prop_assert!((found.distance_mm - least).abs() <= 1e-12);
        let there = triangle::at(mesh.corners(found.triangle as usize), found.barycentric);
        prop_assert!((there - found.point).length() < 1e-12);
        prop_assert!(tree.closest(&mesh, p, 0.999 * least).is_none());
        prop_assert!(tree.closest(&mesh, p, 1.001 * least + 1e-9).is_some());
    }

    #[test]
    fn rays_meet_what_a_search_through_all_meets(mesh in soup(), from in point(), along in point()) {
        let tree = Bvh::new(&mesh);
        let ray = Ray::new(from, along).expect("a direction");
        let mut all: Vec<(f64, u32)> = (0..mesh.triangles.len())
            .filter_map(|t| ray.meet(mesh.corners(t)).map(|h| (h.0, t as u32)))
            .filter(|h| h.0 >= 0.0)
            .collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let hits: Vec<(f64, u32)> =
            tree.ray_all(&mesh, from, along, f64::INFINITY).iter().map(|h| (h.t, h.triangle)).collect();
        prop_assert_eq!(&hits, &all);
        let first = tree.ray(&mesh, from, along, f64::INFINITY).map(|h| (h.t, h.triangle));
        prop_assert_eq!(first, all.first().copied());
    }
}

fn wavy(n: usize) -> TriMesh {
    let mut mesh = TriMesh::default();
    for i in 0..=n {
        for j in 0..=n {
            let (x, y) = (i as f64 / n as f64 * 100.0, j as f64 / n as f64 * 100.0);
            mesh.vertices.push(Vec3::new(x, y, 3.0 * (x * 0.11).sin() * (y * 0.07).cos()));
        }
    }
    let at = |i: usize, j: usize| (i * (n + 1) + j) as u32;
    for i in 0..n {
        for j in 0..n {
            let (a, b, c, d) = (at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    mesh.face_of = vec![0; mesh.triangles.len()];
    mesh
}

fn parry(v: Vec3) -> Parry {
    Parry::new(v.x, v.y, v.z)
}

#[test]
fn a_general_library_finds_the_same_points_and_rays() {
    let mesh = wavy(40);
    let tree = Bvh::new(&mesh);
    let vertices = mesh.vertices.iter().map(|v| parry(*v)).collect();
    let other = parry3d_f64::shape::TriMesh::new(vertices, mesh.triangles.clone()).expect("a mesh");
    for k in 0..2000_u32 {
        let f = |s: f64| (f64::from(k) * s).fract();
        let p = Vec3::new(
            f(0.618_03) * 120.0 - 10.0,
            f(0.414_21) * 120.0 - 10.0,
            f(0.732_05) * 40.0 - 20.0,
        );
        let own = tree.closest(&mesh, p, f64::INFINITY).expect("a mesh");
        let theirs = other.distance_to_local_point(parry(p), false);
        assert!((own.distance_mm - theirs).abs() < 1e-10, "{p}");
        let along = Vec3::new(f(0.271) - 0.5, f(0.577) - 0.5, -p.z.signum());
        let ray = parry3d_f64::query::Ray::new(parry(p), parry(along));
        let theirs = other.cast_local_ray(&ray, f64::MAX, false);
        let own = tree.ray(&mesh, p, along, f64::INFINITY).map(|h| h.t);
        match (own, theirs) {
            (Some(a), Some(b)) => assert!((a - b).abs() < 1e-10, "{p}: {a} and {b}"),
            (None, None) => {}
            pair => panic!("{p} along {along}: {pair:?}"),
        }
    }
}
