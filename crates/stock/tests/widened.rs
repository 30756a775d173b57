//! Undercuts, tilted and turning cutters, meshes, bytes, rest material, collisions.

mod support;

use cutter::{Assembly, Body, BodyKind, CutterSpec, Form, HolderSegment};
use geom::{TriMesh, Vec3};
use std::f64::consts::PI;
use stock::rest::{RestSample, left};
use stock::{Columns, Direction, Grid, Rest, Sweep, Three};
use support::{block, flat};

fn near(found: f64, expected: f64, relative: f64) {
    assert!((found - expected).abs() < relative * expected, "{found} for {expected}");
}

fn three(side: f64, height: f64, spacing: f64) -> Three {
    Three::block((Vec3::ZERO, Vec3::new(side, side, height)), spacing).expect("a block")
}

/// derived: a disc 3 mm high swept through a block: a T slot's lower part
#[test]
fn a_disc_leaves_the_roof_of_a_t_slot() {
    let disc = Body::new(BodyKind::Cutting, (0.0, 3.0), (8.0, 8.0));
    let mut stock = three(30.0, 12.0, 0.2);
    let before = stock.volume_mm3();
    let (from, to) = (Vec3::new(-10.0, 15.0, 4.0), Vec3::new(40.0, 15.0, 4.0));
    stock.cut(&Sweep { body: disc.kernel(), from, to, axis: Vec3::Z }, 9.0);
    near(before - stock.volume_mm3(), 3.0 * 16.0 * 30.0, 2e-3);
    assert_eq!(stock.along(Direction::Z).intervals_mm(75, 75).len(), 2);
    assert!(stock.fill(Vec3::new(15.0, 15.0, 9.0)) > 0.5, "the roof stands");
    assert!(stock.fill(Vec3::new(15.0, 15.0, 5.0)) < 0.5);
    let z = stock.along(Direction::Z);
    let again = Columns::from_bytes(&z.to_bytes()).expect("what was written");
    assert_eq!(&again, z);
    assert!(Columns::from_bytes(&z.to_bytes()[..500]).is_err());
}

/// derived: a cylinder of radius 4 right through a plate at 30° from upright: `π r² t / cos 30°`
#[test]
fn a_tilted_cylinder_through_a_plate() {
    let rod = Body::new(BodyKind::Cutting, (0.0, 40.0), (4.0, 4.0));
    let axis = Vec3::new(0.5, 0.0, 0.75f64.sqrt());
    let mid = Vec3::new(15.0, 15.0, 3.0);
    let mut stock = three(30.0, 6.0, 0.1);
    let before = stock.volume_mm3();
    let tip = mid - axis * 20.0;
    stock.cut(&Sweep { body: rod.kernel(), from: tip, to: tip, axis }, 41.0);
    near(before - stock.volume_mm3(), PI * 16.0 * 6.0 / axis.z, 2e-3);
}

#[test]
fn a_turning_move_says_how_good_it_is() {
    let tool = support::ball(6.0);
    let lean = Vec3::new(0.3, 0.0, 1.0).normalize();
    let tip = Vec3::new(10.0, 10.0, 3.0);
    let ends = ((tip, Vec3::Z), (tip + Vec3::X * 3.0, lean));
    let off = |turn: f64| {
        let mut stock = block(20.0, 8.0, 0.2);
        let error = stock::poses::cut_turning(&mut stock, tool.profile(), ends, turn);
        (stock.volume_mm3(), error)
    };
    let ((rough, a), (middle, _), (fine, b)) = (off(0.05), off(0.015), off(0.002));
    assert!(b < 0.07 && a < 1.6 && b < a);
    // the error times the border that the cutter leaves, about 8 mm round and 5 mm deep each side
    assert!((rough - fine).abs() < a * 100.0);
    assert!((middle - fine).abs() < (rough - fine).abs());
}

fn cube(lo: f64, hi: f64) -> TriMesh {
    let at = |k: usize, b: usize| if k >> b & 1 == 1 { hi } else { lo };
    let vertices = (0..8).map(|k| Vec3::new(at(k, 0), at(k, 1), at(k, 2))).collect();
    let quads =
        [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles: Vec<[u32; 3]> =
        quads.iter().flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]]).collect();
    TriMesh { vertices, face_of: vec![0; triangles.len()], triangles }
}

/// derived: a grown cube: cube, six plates, twelve quarter cylinders, eight eighths of a ball
#[test]
fn a_mesh_and_its_offset() {
    let grid = Grid::over((Vec3::ZERO, Vec3::splat(20.0)), 0.1, Direction::Z).expect("a grid");
    let (stock, odd) = Columns::of_mesh(grid, &cube(5.0, 15.0));
    assert_eq!(odd, 0);
    near(stock.volume_mm3(), 1000.0, 1e-5);
    let expected = 1000.0 + 600.0 + 3.0 * PI * 10.0 + 4.0 / 3.0 * PI;
    near(stock.grown(1.0).volume_mm3(), expected, 1e-2);
}

#[test]
fn rest_material_on_a_floor_with_a_step() {
    let mut stock = block(30.0, 10.0, 0.1);
    let line = |y: f64, z: f64| [Vec3::new(-9.0, y, z), Vec3::new(40.0, y, z)];
    stock.cut_upright(flat(10.0).profile(), &line(10.0, 4.3)).expect("finite");
    stock.cut_upright(flat(10.0).profile(), &line(20.0, 4.1)).expect("finite");
    let sample =
        |y: f64| RestSample { point: Vec3::new(15.0, y, 4.0), normal: Vec3::Z, area_mm2: 1.0 };
    let samples = [sample(8.0), sample(12.0), sample(18.0), sample(22.0)];
    let rest = Rest::over(&samples, &left(&stock, &samples, 2.0)).expect("area");
    assert!((rest.least_mm - 0.1).abs() < 1e-4 && (rest.most_mm - 0.3).abs() < 1e-4, "{rest:?}");
    assert!((rest.mean_mm - 0.2).abs() < 1e-4 && rest.beyond == 0);
    let [least, _, most] = rest.chip_ratios(10.0);
    assert!((least - 0.199).abs() < 1e-3 && (most - 0.3412).abs() < 1e-3);
}

#[test]
fn a_holder_that_meets_the_wall() {
    let mut spec = CutterSpec::new(Form::Flat, 10.0);
    (spec.flute_length_mm, spec.stickout_mm) = (Some(15.0), Some(20.0));
    spec.holder = vec![HolderSegment { diameter_mm: 30.0, length_mm: 30.0, top_diameter_mm: None }];
    let tool = Assembly::new(&spec).expect("a tool");
    let mut stock = block(60.0, 30.0, 0.5);
    let mut at = |z: f64| {
        let ends = (Vec3::new(20.0, 30.0, z), Vec3::new(40.0, 30.0, z));
        stock.cut_upright(tool.cutter.profile(), &[ends.0, ends.1]).expect("finite");
        stock::collision::collisions(&stock, &tool, ends, Vec3::Z)
    };
    assert!(at(16.0).is_empty());
    let found = at(6.0);
    assert_eq!(found.last().map(|c| c.kind), Some(BodyKind::Holder), "{found:?}");
    // derived: the top 4 mm of the stock, a stadium of 30 by 20 mm less the slot cut before
    let expected = 4.0 * (30.0 * 20.0 + 225.0 * PI - 10.0 * 20.0 - 25.0 * PI);
    near(found.last().map_or(0.0, |c| c.met.volume_mm3), expected, 3e-2);
}
