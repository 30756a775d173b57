//! Undercuts, tilted and turning cutters, meshes, bytes, rest material, neck and holder beside it.

mod support;

use cutter::{Assembly, Body, BodyKind, CutterSpec, Form, HolderSegment};
use geom::{TriMesh, Vec2, Vec3};
use proptest::prelude::*;
use std::f64::consts::PI;
use stock::rest::{RestSample, left};
use stock::{Beside, Columns, Direction, Grid, Near, Rest, Standing, Sweep, Three};
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

/// A cutter of 10 mm with 15 mm of flutes in a holder of `holder_mm` from 20 mm on.
fn held(holder_mm: f64) -> Assembly {
    let mut spec = CutterSpec::new(Form::Flat, 10.0);
    (spec.flute_length_mm, spec.stickout_mm) = (Some(15.0), Some(20.0));
    (spec.neck_diameter_mm, spec.usable_length_mm) = (Some(9.0), Some(20.0));
    spec.holder =
        vec![HolderSegment { diameter_mm: holder_mm, length_mm: 30.0, top_diameter_mm: None }];
    Assembly::new(&spec).expect("a tool")
}

/// How near neck and holder come as the last of the heights `z` is cut along `ways` in a block of 60 × 60 mm
/// 30 mm high.
fn approaches(tool: &Assembly, ways: &[Vec2], z: &[f64], h: f64) -> Vec<Near> {
    let mut stock = block(60.0, 30.0, h);
    let mut before = Vec::new();
    for z in z {
        before = stock.tops_mm();
        let tips: Vec<Vec3> = ways.iter().map(|p| p.extend(*z)).collect();
        stock.cut_upright(tool.cutter.profile(), &tips).expect("finite");
    }
    let z = z[z.len() - 1];
    let beside = Beside::of(stock.grid(), &[ways.to_vec()]).expect("a way");
    beside.nearest(tool, z, Standing { before: &before, after: &stock.tops_mm() })
}

fn of_kind(all: &[Near], kind: BodyKind) -> Near {
    *all.iter().find(|n| n.kind == kind).expect("told")
}

/// derived: a holder 20 mm over the tip, a stock 30 mm high, a slot narrower than the holder
#[test]
fn a_holder_over_a_slot_and_in_the_stock_beside_it() {
    let (tool, slot) = (held(30.0), [Vec2::new(20.0, 30.0), Vec2::new(40.0, 30.0)]);
    for (z, expected) in [(16.0, 6.0), (10.0, 0.0), (6.0, -4.0)] {
        let found = of_kind(&approaches(&tool, &slot, &[z], 0.5), BodyKind::Holder);
        assert!((found.distance_mm - expected).abs() < 1e-4, "{found:?}");
        assert!((20.0..30.0 + 1e-4).contains(&found.at.z) && found.at.x > 5.0, "{found:?}");
    }
    // in one go the flutes leave what stands over their end, and the neck is in it
    let found = of_kind(&approaches(&tool, &slot, &[12.0], 0.2), BodyKind::Neck);
    assert!(found.distance_mm < -2.0, "{found:?}");
    // the neck stands half a millimetre off the wall that the flutes leave, once that is higher than they
    let found = of_kind(&approaches(&tool, &slot, &[20.0, 12.0], 0.2), BodyKind::Neck);
    assert!((found.distance_mm - 0.5).abs() <= 0.1, "{found:?}");
    assert!(found.at.z >= 27.0 - 1e-3, "{found:?}");
}

/// derived: an upright wall 20 mm from the axis, and a holder of 15 mm in radius that begins 20 mm over
/// the tip, lower than the wall's top and 3 mm over it
#[test]
fn a_holder_beside_a_wall() {
    let (tool, h) = (held(30.0), 0.25);
    let grid = Grid::over((Vec3::ZERO, Vec3::splat(60.0)), h, Direction::Z).expect("a grid");
    let way = [Vec2::new(20.0, 10.0), Vec2::new(20.0, 50.0)];
    let beside = Beside::of(&grid, &[way.to_vec()]).expect("a way");
    for (top, expected) in [(40.0, 5.0), (18.0, 34f64.sqrt())] {
        let wall = Columns::filled(grid, |u, _| if u > 40.0 { vec![(0.0, top)] } else { vec![] });
        let tops = wall.tops_mm();
        let stands = Standing { before: &tops, after: &tops };
        let found = of_kind(&beside.nearest(&tool, 1.0, stands), BodyKind::Holder);
        assert!((found.distance_mm - expected).abs() <= 0.5 * h + 1e-9, "{found:?}");
        assert!((found.at.x - 40.0).abs() <= h && found.at.z <= top + 1e-4, "{found:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Handed on from column to column, nothing is missed that a look at every leg from every column finds.
    #[test]
    fn the_nearest_is_that_of_all_legs_and_columns(
        points in prop::collection::vec((-2.0..14.0f64, -2.0..14.0f64), 1..12),
        tops in prop::collection::vec(0.0..30.0f64, 144),
        holder_mm in 6.0..14.0f64,
    ) {
        let tool = held(holder_mm);
        let hi = Vec3::new(12.0, 12.0, 60.0);
        let grid = Grid::over((Vec3::ZERO, hi), 1.0, Direction::Z).expect("a grid");
        let way: Vec<Vec2> = points.iter().map(|(x, y)| Vec2::new(*x, *y)).collect();
        let beside = Beside::of(&grid, std::slice::from_ref(&way)).expect("a way");
        let none = vec![f64::NEG_INFINITY; 144];
        let found = beside.nearest(&tool, 2.0, Standing { before: &none, after: &tops });
        let legs: Vec<[Vec2; 2]> = if way.len() == 1 {
            vec![[way[0]; 2]]
        } else {
            way.windows(2).map(|w| [w[0], w[1]]).collect()
        };
        for kind in [BodyKind::Neck, BodyKind::Holder] {
            let mut best = f64::INFINITY;
            for (k, top) in tops.iter().enumerate() {
                let p = Vec2::new(grid.u_mm(k % 12), grid.v_mm(k / 12));
                let off = legs.iter().map(|[a, b]| {
                    let along = *b - *a;
                    let t = (p - *a).dot(along) / along.length_squared().max(f64::MIN_POSITIVE);
                    p.distance(*a + along * t.clamp(0.0, 1.0))
                });
                let off = (off.fold(f64::INFINITY, f64::min) - 0.5).max(0.0);
                for body in tool.bodies.iter().filter(|b| b.kind == kind) {
                    let heights = (0..=3000).map(|i| top - 2.0 - f64::from(i) * 0.01);
                    best = heights.map(|z| body.kernel().value(off, z)).fold(best, f64::min);
                }
            }
            let near = of_kind(&found, kind);
            // heights are looked at every hundredth
            prop_assert!(near.distance_mm <= best + 1e-6 && near.distance_mm > best - 0.02, "{near:?} for {best}");
        }
    }
}
