//! Pockets and outside shapes drawn by hand.

use clearing::{Entry, Helix, Job, Method};
use planar::Region;
use std::f64::consts::TAU;

/// Radius of the cutter.
pub const RADIUS_MM: f64 = 5.0;

/// A climb job with a helix of 4 mm, a ramp or a plunge.
pub fn job(scene: &Scene, arc_deg: f64, method: Method) -> Job<'_> {
    Job {
        inside: &scene.inside,
        stock: &scene.stock,
        cutter_radius_mm: RADIUS_MM,
        arc_rad: arc_deg.to_radians(),
        climb: true,
        both_ways: false,
        method,
        chord_mm: 0.005,
        entry: Entry {
            helix: Some(Helix { radius_mm: 4.0, least_radius_mm: 1.0 }),
            ramp_mm: Some(8.0),
            plunge: true,
        },
        least_corner_radius_mm: 1.0,
    }
}

/// A level to clear.
pub struct Scene {
    pub name: String,
    pub inside: Region,
    pub stock: Region,
}

impl Scene {
    /// A full pocket.
    pub fn pocket(name: &str, loops: &[Vec<[f64; 2]>]) -> Self {
        let inside = Region::of_loops(loops);
        Self { name: name.into(), stock: inside.clone(), inside }
    }
}

pub fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Vec<[f64; 2]> {
    vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]]
}

pub fn circle(x: f64, y: f64, r: f64) -> Vec<[f64; 2]> {
    let at = |k: u32| f64::from(k) / 180.0 * TAU;
    (0..180).map(|k| [x + r * at(k).cos(), y + r * at(k).sin()]).collect()
}

/// Eight levels for a cutter of 10 mm.
pub fn all() -> Vec<Scene> {
    let ell =
        vec![[0.0, 0.0], [120.0, 0.0], [120.0, 45.0], [50.0, 45.0], [50.0, 100.0], [0.0, 100.0]];
    let star = |k: u32| {
        let r = if k.is_multiple_of(2) { 60.0 } else { 30.0 };
        let a = f64::from(k) / 10.0 * TAU;
        [r * a.cos(), r * a.sin()]
    };
    let plate = Region::of_loops(&[rectangle(0.0, 0.0, 110.0, 80.0)]);
    let part = Region::of_loops(&[vec![
        [20.0, 20.0],
        [90.0, 15.0],
        [95.0, 60.0],
        [60.0, 45.0],
        [25.0, 65.0],
    ]]);
    let around = Region::of_loops(&[rectangle(-20.0, -20.0, 150.0, 120.0)]);
    vec![
        Scene::pocket("rectangle", &[rectangle(0.0, 0.0, 100.0, 70.0)]),
        Scene::pocket(
            "round island",
            &[rectangle(0.0, 0.0, 120.0, 90.0), circle(55.0, 45.0, 14.0)],
        ),
        Scene::pocket("ell", &[ell]),
        Scene::pocket("star", &[(0..10).map(star).collect()]),
        Scene::pocket(
            "two chambers",
            &[vec![
                [0.0, 0.0],
                [45.0, 0.0],
                [45.0, 22.0],
                [75.0, 22.0],
                [75.0, 0.0],
                [120.0, 0.0],
                [120.0, 60.0],
                [75.0, 60.0],
                [75.0, 34.0],
                [45.0, 34.0],
                [45.0, 60.0],
                [0.0, 60.0],
            ]],
        ),
        Scene::pocket("slot", &[rectangle(0.0, 0.0, 90.0, 14.0)]),
        Scene { name: "outside".into(), inside: around.less(&part), stock: plate.less(&part) },
        Scene::pocket(
            "three islands",
            &[
                rectangle(0.0, 0.0, 200.0, 150.0),
                rectangle(30.0, 30.0, 40.0, 30.0),
                circle(130.0, 50.0, 20.0),
                vec![[60.0, 100.0], [140.0, 95.0], [100.0, 125.0]],
            ],
        ),
    ]
}
