//! What cutter and holder must keep clear of, and what is done where they cannot.

mod support;

use cutter::{Assembly, CutterSpec, Form, HolderSegment};
use geom::{TriMesh, Vec2, Vec3};
use pattern::{
    AxisRule, AxisTried, FaceJob, FacePasses, LeanSide, Pattern, PatternError, Traverse, Warning,
    finish_on,
};
use support::*;
use toolpath::{Pose, RunKind};

/// A ball nose of 12 mm in a holder of 50 mm that begins 45 mm over the tip.
fn ball_in_holder() -> Assembly {
    Assembly::new(&CutterSpec {
        flute_length_mm: Some(20.0),
        stickout_mm: Some(45.0),
        holder: vec![HolderSegment { diameter_mm: 50.0, top_diameter_mm: None, length_mm: 40.0 }],
        ..CutterSpec::new(Form::Ball, 12.0)
    })
    .expect("a ball in a holder")
}

fn flat(half: Vec2) -> Graph {
    Graph { half, jet: |_| (0.0, Vec2::ZERO, geom::Sym2::default()) }
}

fn tilted(kappa_deg: f64, lean: LeanSide) -> AxisRule {
    AxisRule::Tilted { kappa_rad: Some(kappa_deg.to_radians()), lead_rad: 0.0, lean }
}

/// Smallest signed distance of all bodies to points of the boxes, over dense poses of the runs
/// wanted, mm.
fn closest(
    passes: &FacePasses,
    assembly: &Assembly,
    boxes: &[TriMesh],
    wanted: impl Fn(RunKind) -> bool,
) -> f64 {
    let points: Vec<Vec3> = boxes.iter().flat_map(|b| dense(b, 4.0)).collect();
    let kernels: Vec<_> = std::iter::once(assembly.cutter.profile().kernel())
        .chain(assembly.bodies.iter().map(cutter::Body::kernel))
        .collect();
    let mut least = f64::INFINITY;
    for run in passes.toolpath.runs.iter().filter(|r| wanted(r.kind)) {
        for w in run.poses.windows(2) {
            let n = (w[0].tip.distance(w[1].tip) / 1.0).ceil().clamp(1.0, 200.0) as usize;
            for k in 0..=n {
                let f = k as f64 / n as f64;
                let at = Pose {
                    tip: w[0].tip.lerp(w[1].tip, f),
                    axis: w[0].axis.lerp(w[1].axis, f).normalize(),
                };
                for p in &points {
                    for kernel in &kernels {
                        least = least.min(kernel.at(at.tip, at.axis, *p));
                    }
                }
            }
        }
    }
    least
}

fn laid(job: &FaceJob<'_>, half: Vec2) -> Result<FacePasses, PatternError> {
    finish_on(&flat(half), job, &|_| ())
}

fn moved(passes: &FacePasses) -> Option<(f64, f64)> {
    passes.warnings.iter().find_map(|w| match w {
        Warning::AxisMoved { used_deg, used_lead_deg, .. } => Some((*used_deg, *used_lead_deg)),
        _ => None,
    })
}

#[test]
fn the_axis_leans_away_from_a_wall() {
    let (part, ball) = (far_below(), ball_in_holder());
    for (side, sign) in [(false, 1.0), (true, -1.0)] {
        let wall = block(Vec3::new(-40.0, sign * 24.0, -5.0), Vec3::new(40.0, sign * 30.0, 90.0));
        let fixtures = [wall];
        let job = FaceJob {
            stepover_mm: Some(2.0),
            axis: tilted(15.0, LeanSide::Auto),
            fixtures: &fixtures,
            ..job(&part, &ball, Pattern::Parallel)
        };
        let passes = laid(&job, Vec2::new(15.0, 8.0)).expect("a way to lean");
        assert_eq!((passes.axis.leans_left, moved(&passes)), (Some(side), None));
        let near = passes.closest_approach.expect("the wall is near");
        let found = closest(&passes, &ball, &fixtures, |_| true);
        assert!((near.distance_mm - found).abs() < 0.2, "{near:?} {found}");
        assert!((near.place.y - sign * 24.0).abs() < 1e-9 && near.body == "holder", "{near:?}");
    }
}

#[test]
fn the_contact_angle_gives_way_where_the_side_is_fixed() {
    let (part, ball) = (far_below(), ball_in_holder());
    let fixtures = [block(Vec3::new(-60.0, 48.0, -5.0), Vec3::new(60.0, 58.0, 90.0))];
    let job = FaceJob {
        stepover_mm: Some(2.0),
        axis: tilted(15.0, LeanSide::Left),
        fixtures: &fixtures,
        ..job(&part, &ball, Pattern::Parallel)
    };
    let passes = laid(&job, Vec2::new(15.0, 8.0)).expect("a smaller angle does");
    let (kappa, lead) = moved(&passes).expect("the axis moved");
    assert!(kappa < 15.0 && lead == 0.0, "{kappa} {lead}");
    assert!(closest(&passes, &ball, &fixtures, |_| true) > 0.05);
    let words: Vec<String> = passes.warnings.iter().map(ToString::to_string).collect();
    assert!(words.iter().any(|w| w.contains("contact angle was moved from 15.00°")), "{words:?}");
}

/// One way along `turn`, towards a wall that the holder would hit at the end of each pass.
fn towards_a_wall(turn_deg: f64, reach: f64) -> Result<FacePasses, PatternError> {
    let (part, ball) = (far_below(), ball_in_holder());
    let turn = geom::Mat3::from_rotation_z(turn_deg.to_radians());
    let mut wall = block(Vec3::new(reach, -60.0, -5.0), Vec3::new(reach + 9.0, 60.0, 90.0));
    wall.vertices.iter_mut().for_each(|v| *v = turn * *v);
    let fixtures = [wall];
    let half = if turn_deg == 0.0 { Vec2::new(15.0, 8.0) } else { Vec2::new(8.0, 15.0) };
    let job = FaceJob {
        stepover_mm: Some(2.0),
        direction_rad: Some(turn_deg.to_radians()),
        axis: tilted(15.0, LeanSide::Left),
        traverse: Traverse::OneWay,
        fixtures: &fixtures,
        ..job(&part, &ball, Pattern::Parallel)
    };
    let passes = laid(&job, half);
    if let Ok(passes) = &passes {
        let found = closest(passes, &ball, &fixtures, |_| true);
        let near = passes.closest_approach.expect("the wall is near");
        // leads reach farther than the passes, and count
        assert!(found > 0.05 && (near.distance_mm - found).abs() < 0.2, "{near:?} {found}");
        let on_passes = closest(passes, &ball, &fixtures, RunKind::is_cut);
        assert!(near.at_least_mm <= found + 1e-9 && found < on_passes - 1.0, "{on_passes}");
    }
    passes
}

#[test]
fn a_lead_takes_the_holder_off_a_wall_ahead() {
    // derived: the nose of 25 mm stands 45 mm up, 20 mm before the wall: 45 sin l + 20 > 25 cos l
    // from 6.1°
    let passes = towards_a_wall(0.0, 35.0).expect("a lead does");
    assert_eq!(moved(&passes).map(|(k, l)| (k.round(), l.round())), Some((15.0, -10.0)));
    let words: Vec<String> = passes.warnings.iter().map(ToString::to_string).collect();
    assert!(words.iter().any(|w| w.contains("lead was moved from 0.00° to -10.00°")), "{words:?}");
}

#[test]
fn turned_scenes_have_turned_answers() {
    let one = towards_a_wall(0.0, 35.0).expect("a lead does");
    let other = towards_a_wall(90.0, 35.0).expect("a lead does");
    assert_eq!(moved(&one), moved(&other));
    assert!((one.tip_path_mm / other.tip_path_mm - 1.0).abs() < 1e-6);
    assert!((one.link_mm / other.link_mm - 1.0).abs() < 1e-6);
}

#[test]
fn an_axis_that_is_given_is_never_moved() {
    let (part, ball) = (far_below(), ball_in_holder());
    let fixtures = [block(Vec3::new(-60.0, 20.0, -5.0), Vec3::new(60.0, 30.0, 90.0))];
    for (axis, tried) in
        [(AxisRule::Fixed, AxisTried::Fixed), (AxisRule::Normal, AxisTried::Normal)]
    {
        let job = FaceJob {
            stepover_mm: Some(2.0),
            axis,
            fixtures: &fixtures,
            ..job(&part, &ball, Pattern::Parallel)
        };
        let refused = laid(&job, Vec2::new(15.0, 8.0)).expect_err("the holder hits");
        let words = refused.to_string();
        let PatternError::Collides { body, with, at, tried: said, depth_mm, .. } = refused else {
            panic!("{refused:?}")
        };
        assert_eq!((body, with, said), ("holder", "fixture", tried));
        assert!((at.0.y - 20.0).abs() < 1e-9 && depth_mm > 10.0, "{at} {depth_mm}");
        assert!(words.contains("is not moved") && words.contains("stick-out"), "{words}");
    }
}

#[test]
fn where_no_axis_works_the_arc_that_would_is_named() {
    let part = far_below();
    let spec = CutterSpec {
        arc_radius_mm: Some(250.0),
        corner_radius_mm: Some(2.0),
        corner_offset_mm: Some(0.5),
        taper_rad: Some(20_f64.to_radians()),
        stickout_mm: Some(30.0),
        holder: vec![HolderSegment { diameter_mm: 50.0, top_diameter_mm: None, length_mm: 40.0 }],
        ..CutterSpec::new(Form::TaperBarrel, 12.0)
    };
    let barrel = Assembly::new(&spec).expect("a barrel");
    // the large arc lies nearly flat on the face, and its holder in a floor beside it
    let fixtures = [block(Vec3::new(-60.0, 25.0, -5.0), Vec3::new(60.0, 90.0, 6.0))];
    let on = |assembly: &Assembly| {
        let job = FaceJob {
            stepover_mm: Some(1.0),
            axis: AxisRule::Tilted { kappa_rad: None, lead_rad: 0.0, lean: LeanSide::Left },
            fixtures: &fixtures,
            ..job(&part, assembly, Pattern::Parallel)
        };
        laid(&job, Vec2::new(15.0, 8.0))
    };
    let refused = on(&barrel).expect_err("the holder hits");
    let words = refused.to_string();
    assert!(matches!(refused, PatternError::Collides { tried: AxisTried::Band { .. }, .. }));
    let radius: f64 = words
        .split_once("has a radius of ")
        .and_then(|(_, rest)| rest.split(' ').next()?.parse().ok())
        .unwrap_or_else(|| panic!("{words}"));
    let with = |r: f64| {
        let smaller = Assembly::new(&CutterSpec { arc_radius_mm: Some(r), ..spec.clone() });
        on(&smaller.expect("a barrel"))
    };
    assert!(with(0.97 * radius).is_ok(), "{words}: {:?}", with(0.97 * radius).err());
    assert!(with(1.1 * radius).is_err(), "{words}");
}

#[test]
fn leads_near_a_wall_are_shortened() {
    let (part, ball) = (far_below(), ball_in_holder());
    for x in [21.7, -21.7] {
        let (lo, hi) = if x > 0.0 { (x, x + 5.0) } else { (x - 5.0, x) };
        let fixtures = [block(Vec3::new(lo, -30.0, -5.0), Vec3::new(hi, 30.0, 15.0))];
        let job = FaceJob {
            stepover_mm: Some(2.0),
            axis: tilted(15.0, LeanSide::Left),
            traverse: Traverse::OneWay,
            fixtures: &fixtures,
            ..job(&part, &ball, Pattern::Parallel)
        };
        let passes = laid(&job, Vec2::new(15.0, 8.0)).expect("shorter leads do");
        assert_eq!(moved(&passes), None);
        let n = passes.passes.len();
        assert!(
            passes.warnings.contains(&Warning::LeadsChanged { changed: n, straight: 0 }),
            "{:?}",
            passes.warnings
        );
        assert!(closest(&passes, &ball, &fixtures, |_| true) > -0.04);
        // the other ends keep theirs
        let kind = if x > 0.0 { RunKind::LeadIn } else { RunKind::LeadOut };
        let quarter = std::f64::consts::PI;
        let kept = passes.toolpath.runs.iter().filter(|r| r.kind == kind);
        assert!(kept.into_iter().all(|r| (r.tip_length_mm() / quarter - 1.0).abs() < 0.01));
    }
}

#[test]
fn a_link_that_something_stands_in_retracts() {
    let (part, ball) = (far_below(), ball_in_holder());
    let fixtures = [block(Vec3::new(24.0, -30.0, -5.0), Vec3::new(27.0, 30.0, 15.0))];
    let job = FaceJob {
        stepover_mm: Some(2.0),
        axis: tilted(15.0, LeanSide::Left),
        fixtures: &fixtures,
        ..job(&part, &ball, Pattern::Parallel)
    };
    let passes = laid(&job, Vec2::new(15.0, 8.0)).expect("links retract");
    let lifted = passes.warnings.iter().find_map(|w| match w {
        Warning::LinksLifted { links } => Some(*links),
        _ => None,
    });
    let stayed = passes.passes.iter().filter(|p| p.linked).count();
    assert_eq!(lifted.map(|l| l + stayed + 1), Some(passes.passes.len()));
    assert!(stayed > 0, "the links at the other end stay down");
    assert!(closest(&passes, &ball, &fixtures, |_| true) > -0.04);
    assert!(closest(&passes, &ball, &fixtures, |k| k == RunKind::Rapid) > 1.0);
}

#[test]
fn rapids_go_round_a_roof() {
    let (part, ball) = (far_below(), ball_in_holder());
    // over the low half of the face; the cutter leans out from under it
    let fixtures = [block(Vec3::new(-60.0, 6.0, 30.0), Vec3::new(60.0, 90.0, 40.0))];
    let job = FaceJob {
        stepover_mm: Some(2.0),
        axis: tilted(45.0, LeanSide::Right),
        traverse: Traverse::OneWay,
        fixtures: &fixtures,
        ..job(&part, &ball, Pattern::Parallel)
    };
    let passes = laid(&job, Vec2::new(15.0, 8.0)).expect("out along the axis");
    assert!(closest(&passes, &ball, &fixtures, |_| true) > 0.05);
    let level = |k| k == RunKind::Rapid;
    assert!(closest(&passes, &ball, &fixtures, level) > 0.05);
}

#[test]
fn an_arc_that_nearly_gouges_is_told_from_one_that_does() {
    let part = far_below();
    let hollow = Graph { half: Vec2::splat(8.0), jet: |q| bowl_of(q, 1.0 / 250.0) };
    for (radius, fits) in [(245.0, true), (256.0, false)] {
        let barrel = barrel(radius);
        let job = FaceJob { stepover_mm: Some(1.0), ..job(&part, &barrel, Pattern::Parallel) };
        match finish_on(&hollow, &job, &|_| ()) {
            Ok(_) => assert!(fits, "{radius}"),
            Err(PatternError::Gouges { largest_arc_mm, surface_radius_mm, .. }) => {
                assert!(!fits, "{radius}");
                assert!((largest_arc_mm / 250.0 - 1.0).abs() < 0.01, "{largest_arc_mm}");
                assert!((surface_radius_mm / 250.0 - 1.0).abs() < 0.01, "{surface_radius_mm}");
            }
            Err(other) => panic!("{other}"),
        }
    }
}

#[test]
fn any_number_of_threads_gives_the_same_bits_beside_a_wall() {
    let with = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        pool.install(|| towards_a_wall(0.0, 35.0).expect("a lead does"))
    };
    assert!(with(1) == with(3));
}

#[test]
fn a_coarse_mesh_of_a_bowl_is_finished_as_the_surface_that_its_corners_expect() {
    // chords of 10 mm on a radius of 300 mm stand out by 0.04 mm
    let mut text = String::new();
    let n = 9;
    for j in 0..n {
        for i in 0..n {
            let (x, y) = (10.0 * f64::from(i) - 40.0, 10.0 * f64::from(j) - 40.0);
            text += &format!("v {x} {y} {}\n", (x * x + y * y) / 600.0);
        }
    }
    for j in 0..n - 1 {
        for i in 0..n - 1 {
            let a = j * n + i + 1;
            text += &format!("f {a} {} {}\nf {a} {} {}\n", a + 1, a + n + 1, a + n + 1, a + n);
        }
    }
    let part = part::read(text.as_bytes(), "bowl.obj", &part::ReadOptions::default()).unwrap();
    let faces: Vec<usize> = (0..part.faces.len()).collect();
    let ball = ball_in_holder();
    let job = FaceJob {
        faces: &faces,
        stepover_mm: Some(2.0),
        axis: tilted(15.0, LeanSide::Auto),
        ..job(&part, &ball, Pattern::Parallel)
    };
    let passes = pattern::finish_face(&job, &|_| ()).expect("the bowl is gentle");
    // contacts lie on the paraboloid, not on the facets
    let off = |r: &toolpath::Run| -> f64 {
        let of = |p: geom::Vec3| (p.z - (p.x * p.x + p.y * p.y) / 600.0).abs();
        r.contacts.iter().map(|c| of(c.point)).fold(0.0, f64::max)
    };
    let worst = passes.toolpath.runs.iter().map(off).fold(0.0, f64::max);
    assert!(worst < 0.01, "{worst} mm off");
}

#[test]
fn links_stay_above_a_hollow_face() {
    // a trough of radius 40 mm along X: the ball's centre keeps within 34 mm of its axis
    let (mut text, rows, columns) = (String::new(), 31, 11);
    for j in 0..rows {
        for i in 0..columns {
            let (x, y) = (5.0 * f64::from(i) - 25.0, f64::from(j) - 15.0);
            text += &format!("v {x} {y} {}\n", 45.0 - (1600.0 - y * y).sqrt());
        }
    }
    for j in 0..rows - 1 {
        for i in 0..columns - 1 {
            let a = j * columns + i + 1;
            let b = a + columns;
            text += &format!("f {a} {} {}\nf {a} {} {b}\n", a + 1, b + 1, b + 1);
        }
    }
    let part = part::read(text.as_bytes(), "trough.obj", &part::ReadOptions::default()).unwrap();
    let faces: Vec<usize> = (0..part.faces.len()).collect();
    let ball = ball_in_holder();
    let job = FaceJob {
        faces: &faces,
        stepover_mm: Some(1.0),
        axis: tilted(15.0, LeanSide::Auto),
        ..job(&part, &ball, Pattern::Level)
    };
    let passes = pattern::finish_face(&job, &|_| ()).expect("the trough is gentle");
    let links = passes.toolpath.runs.iter().filter(|r| r.kind == RunKind::Link);
    let off = |p: &Pose| {
        let centre = p.tip + p.axis * 6.0;
        centre.y.hypot(centre.z - 45.0) - 34.0
    };
    let dug: Vec<f64> =
        links.map(|r| r.poses.iter().map(off).fold(f64::NEG_INFINITY, f64::max)).collect();
    assert!(dug.len() > 1, "{} links", dug.len());
    let deepest = dug.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    assert!(deepest < 0.004, "{deepest} mm below the face");
}
