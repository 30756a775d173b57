//! What passes must keep: spacing, cusp, length, chords, symmetry, order.

mod support;

use geom::{Vec2, Vec3};
use pattern::{
    AxisRule, Chart, FaceJob, FacePasses, LeanSide, Pattern, PatternError, Traverse, finish_on,
};
use support::*;
use toolpath::{Pose, RunKind};

fn laid(chart: &dyn Chart, job: &FaceJob<'_>) -> FacePasses {
    finish_on(chart, job, &|_| ()).expect("passes")
}

#[test]
fn no_spacing_exceeds_the_step_over() {
    let (part, ball) = (far_below(), ball(12.0));
    for deg in [0.0_f64, 33.0, 90.0] {
        let chart = crown(Vec2::new(30.0, 22.0));
        let job = FaceJob {
            stepover_mm: Some(0.7),
            direction_rad: Some(deg.to_radians()),
            ..job(&part, &ball, Pattern::Parallel)
        };
        let step = laid(&chart, &job).stepover_mm.expect("strips");
        assert!(step.max <= 0.7 * 1.0002, "{deg}: {step:?}");
        assert!(step.mean >= 0.69, "{deg}: {step:?}");
    }
}

#[test]
fn on_a_slope_planes_stand_closer() {
    // derived: at 55° across the passes the spacing is 1.743447 times that of the planes
    let (part, ball) = (far_below(), ball(12.0));
    let chart = slope(Vec2::new(8.0, 5.0));
    let job = FaceJob { stepover_mm: Some(0.4), ..job(&part, &ball, Pattern::Parallel) };
    let passes = laid(&chart, &job);
    let plan = passes.passes[1].from.y - passes.passes[2].from.y;
    assert!((0.4 / plan.abs() - 1.743_447).abs() < 2e-4, "{plan}");
}

#[test]
fn a_cusp_asked_for_is_kept_and_used() {
    let (part, barrel) = (far_below(), barrel(250.0));
    for pattern in [Pattern::Parallel, Pattern::AlongU] {
        let chart = crown(Vec2::new(40.0, 30.0));
        let job = FaceJob { cusp_mm: Some(0.004), ..job(&part, &barrel, pattern) };
        let passes = laid(&chart, &job);
        let (max, mean) = (passes.predicted_cusp_max_mm, passes.predicted_cusp_mean_mm);
        assert!(max.expect("strips") <= 0.004 * 1.001, "{max:?}");
        assert!(mean.expect("strips") >= 0.95 * 0.004, "{mean:?}");
    }
}

#[test]
fn equal_cusp_is_equal_and_short() {
    let (part, barrel) = (far_below(), barrel(250.0));
    for (name, chart) in [
        ("crown", crown(Vec2::new(80.0, 55.0))),
        ("saddle", saddle(Vec2::new(60.0, 50.0))),
        ("bowl", bowl(Vec2::new(60.0, 50.0))),
    ] {
        let job = FaceJob { cusp_mm: Some(0.003), ..job(&part, &barrel, Pattern::EqualCusp) };
        let passes = laid(&chart, &job);
        let cusps: Vec<f64> = passes.strips.samples().filter_map(|s| s.cusp_mm).collect();
        let even = cusps.iter().filter(|c| (*c / 0.003 - 1.0).abs() <= 0.05).count();
        assert!(cusps.len() > 1000);
        assert!(even as f64 >= 0.95 * cusps.len() as f64, "{name}: {even} of {}", cusps.len());
        let ratio = passes.path_mm / passes.path_bound_mm.expect("a bound");
        assert!((0.99..=1.05).contains(&ratio), "{name}: {ratio}");
    }
}

#[test]
fn equal_cusp_takes_the_better_way_across_a_saddle() {
    // derived: an arc of 250 laid across the concave way needs 1.5 times fewer passes
    let (part, barrel) = (far_below(), barrel(250.0));
    let chart = saddle(Vec2::new(40.0, 40.0));
    let base = FaceJob { cusp_mm: Some(0.003), ..job(&part, &barrel, Pattern::EqualCusp) };
    let worse = FaceJob { direction_rad: Some(std::f64::consts::FRAC_PI_2), ..base };
    let again = FaceJob { cusp_mm: Some(0.003), ..job(&part, &barrel, Pattern::EqualCusp) };
    let (best, other) = (laid(&chart, &again).path_mm, laid(&chart, &worse).path_mm);
    assert!((other / best - 1.5).abs() < 0.05, "{}", other / best);
}

#[test]
fn the_bound_on_a_sphere_is_the_known_one() {
    // derived: 80 × 80 in plan on R500 (6413.715 mm²) at 5 µm
    let part = far_below();
    let chart = sphere(Vec2::splat(40.0));
    assert!((chart.area_mm2() - 6413.715).abs() < 2e-3);
    for (assembly, known) in [(ball(12.0), 13_170.26), (barrel(250.0), 2_484.021)] {
        let job = FaceJob { cusp_mm: Some(0.005), ..job(&part, &assembly, Pattern::Parallel) };
        let bound = laid(&chart, &job).path_bound_mm.expect("a bound");
        assert!((bound / known - 1.0).abs() < 1e-5, "{bound} {known}");
    }
}

/// Height that the cutter leaves over a point along its normal, by brute force over dense poses.
fn left_standing(assembly: &cutter::Assembly, runs: &[Vec<Pose>], p: Vec3, n: Vec3) -> f64 {
    let kernel = assembly.cutter.profile().kernel();
    let mut lowest = f64::INFINITY;
    for w in runs.iter().flat_map(|r| r.windows(2)) {
        if w[0].tip.distance(p).min(w[1].tip.distance(p)) > 25.0 {
            continue;
        }
        for k in 0..=24 {
            let f = f64::from(k) / 24.0;
            let (tip, axis) =
                (w[0].tip.lerp(w[1].tip, f), w[0].axis.lerp(w[1].axis, f).normalize());
            // the body is convex: below the entry the distance falls, so that bisection finds it
            let at = |t: f64| kernel.at(tip, axis, p + n * t);
            let (mut out, mut into) = (-0.02, lowest.min(0.3));
            if at(into) > 0.0 {
                continue;
            }
            for _ in 0..40 {
                let t = 0.5 * (out + into);
                if at(t) > 0.0 { out = t } else { into = t }
            }
            lowest = lowest.min(into);
        }
    }
    lowest
}

#[test]
fn the_predicted_cusp_is_what_a_sweep_leaves() {
    let part = far_below();
    for (assembly, chart, step) in [
        (ball(12.0), crown(Vec2::new(9.0, 3.0)), 0.6),
        (barrel(250.0), crown(Vec2::new(14.0, 9.0)), 2.4),
        (barrel(250.0), saddle(Vec2::new(14.0, 9.0)), 2.4),
        (barrel(250.0), bowl(Vec2::new(14.0, 9.0)), 2.4),
    ] {
        let job = FaceJob {
            stepover_mm: Some(step),
            chord_mm: Some(2e-5),
            direction_rad: Some(0.4),
            ..job(&part, &assembly, Pattern::Parallel)
        };
        let passes = laid(&chart, &job);
        let runs: Vec<Vec<Pose>> = passes
            .toolpath
            .runs
            .iter()
            .filter(|r| r.kind.is_cut())
            .map(|r| r.poses.clone())
            .collect();
        let samples: Vec<_> = passes.strips.samples().collect();
        for s in
            samples.iter().filter(|s| s.point.x.abs() < 4.0 && s.point.y.abs() < 4.0).step_by(5)
        {
            let spot = chart.at(s.point.truncate()).expect("inside");
            let cut = left_standing(&assembly, &runs, spot.site.point, spot.site.normal);
            let predicted = s.cusp_mm.expect("arcs meet");
            let allowed = (0.01 * predicted).max(5e-5);
            assert!((cut - predicted).abs() <= allowed, "{step}: {cut} {predicted}");
        }
    }
}

#[test]
fn chords_stay_within_their_tolerance() {
    let part = far_below();
    for (assembly, chart) in
        [(ball(12.0), crown(Vec2::new(20.0, 4.0))), (barrel(250.0), bowl(Vec2::new(20.0, 8.0)))]
    {
        let job = FaceJob {
            stepover_mm: Some(1.5),
            chord_mm: Some(5e-4),
            direction_rad: Some(0.2),
            ..job(&part, &assembly, Pattern::Parallel)
        };
        let kernel = assembly.cutter.profile().kernel();
        for run in laid(&chart, &job).toolpath.runs.iter().filter(|r| r.kind.is_cut()) {
            for (w, c) in run.poses.windows(2).zip(run.contacts.windows(2)) {
                let (tip, axis) =
                    (0.5 * (w[0].tip + w[1].tip), (w[0].axis + w[1].axis).normalize());
                let q = 0.5 * (c[0].point + c[1].point).truncate();
                let Some(spot) = chart.at(q) else { continue };
                let gap = kernel.at(tip, axis, spot.site.point);
                assert!(gap.abs() <= 5.5e-4, "{gap}");
            }
        }
    }
}

#[test]
fn runs_join_and_feeds_are_those_of_the_contact() {
    let (part, barrel) = (far_below(), barrel(250.0));
    let chart = crown(Vec2::new(20.0, 15.0));
    for traverse in [Traverse::BothWays, Traverse::OneWay] {
        let job =
            FaceJob { stepover_mm: Some(2.0), traverse, ..job(&part, &barrel, Pattern::Parallel) };
        let passes = laid(&chart, &job);
        for w in passes.toolpath.runs.windows(2) {
            let (end, start) = (w[0].poses.last().expect("poses"), w[1].poses[0]);
            assert!(end.tip.distance(start.tip) < 1e-9 && end.axis.distance(start.axis) < 1e-9);
        }
        for run in passes.toolpath.runs.iter().filter(|r| r.kind.is_cut()) {
            for (k, feed) in run.tip_feed_mm_s.iter().enumerate() {
                let tip = run.poses[k].tip.distance(run.poses[k + 1].tip);
                let contact = run.contacts[k].point.distance(run.contacts[k + 1].point);
                assert!((feed / tip * contact - 50.0).abs() < 1e-6);
            }
        }
        let links = passes.toolpath.runs.iter().filter(|r| r.kind == RunKind::Link).count();
        let both = traverse == Traverse::BothWays;
        assert_eq!(links, if both { passes.passes.len() - 1 } else { 0 });
    }
}

#[test]
fn a_turned_surface_has_turned_passes() {
    let (part, barrel) = (far_below(), barrel(250.0));
    let along = |chart: &dyn Chart, deg: f64| {
        let job = FaceJob {
            stepover_mm: Some(1.1),
            direction_rad: Some(f64::to_radians(deg)),
            ..job(&part, &barrel, Pattern::Parallel)
        };
        laid(chart, &job).path_mm
    };
    let one = along(&crown(Vec2::new(30.0, 20.0)), 0.0);
    let other = along(&crown_turned(Vec2::new(20.0, 30.0)), 90.0);
    assert!((one / other - 1.0).abs() < 1e-6, "{one} {other}");
}

#[test]
fn leaning_the_other_way_mirrors() {
    let (part, barrel) = (far_below(), barrel(250.0));
    let chart = crown(Vec2::new(30.0, 20.0));
    let leaning = |lean| {
        let axis = AxisRule::Tilted { kappa_rad: None, lead_rad: 0.03, lean };
        let job =
            FaceJob { stepover_mm: Some(1.1), axis, ..job(&part, &barrel, Pattern::Parallel) };
        laid(&chart, &job)
    };
    let (left, right) = (leaning(LeanSide::Left), leaning(LeanSide::Right));
    assert!((left.path_mm / right.path_mm - 1.0).abs() < 1e-9);
    assert!((left.tip_path_mm / right.tip_path_mm - 1.0).abs() < 1e-6);
    let axes = |p: &FacePasses| {
        p.toolpath.runs.iter().find(|r| r.kind.is_cut()).map(|r| r.poses[0].axis.y)
    };
    assert!(axes(&left).expect("cuts") > 0.5 && axes(&right).expect("cuts") < -0.5);
}

#[test]
fn any_number_of_threads_gives_the_same_bits() {
    let (part, barrel) = (far_below(), barrel(250.0));
    let chart = crown(Vec2::new(30.0, 20.0));
    let with = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        let job = FaceJob { cusp_mm: Some(0.004), ..job(&part, &barrel, Pattern::EqualCusp) };
        pool.install(|| laid(&chart, &job))
    };
    assert!(with(1) == with(3));
}

#[test]
fn a_spiral_is_one_pass_and_lines_where_its_fronts_meet() {
    let (part, ball) = (far_below(), ball(12.0));
    let chart = crown(Vec2::new(12.0, 10.0));
    let job = FaceJob { stepover_mm: Some(0.8), ..job(&part, &ball, Pattern::Spiral) };
    let passes = laid(&chart, &job);
    // four from the corners, one along the middle
    assert_eq!(passes.passes.len(), 6);
    assert!(passes.passes[0].path_mm > 0.8 * passes.path_mm);
    let needed = chart.area_mm2() / 0.8;
    assert!((1.0..1.3).contains(&(passes.path_mm / needed)), "{} {needed}", passes.path_mm);
    let edge = passes.toolpath.runs.iter().find(|r| r.kind.is_cut()).expect("cuts").contacts[0];
    let inset = (12.0 - edge.point.x.abs()).min(10.0 - edge.point.y.abs());
    assert!((inset - 0.4).abs() < 0.08, "{inset}");
}

#[test]
fn what_cannot_be_done_says_why() {
    let (part, barrel, ball) = (far_below(), barrel(250.0), ball(12.0));
    let bowl = tight_bowl(Vec2::splat(8.0));
    let gouging = FaceJob { stepover_mm: Some(1.0), ..job(&part, &barrel, Pattern::Parallel) };
    match finish_on(&bowl, &gouging, &|_| ()) {
        Err(PatternError::Gouges { largest_arc_mm, .. }) => {
            assert!((90.0..105.0).contains(&largest_arc_mm), "{largest_arc_mm}");
        }
        other => panic!("{other:?}"),
    }
    let chart = crown(Vec2::splat(8.0));
    let wide = FaceJob { stepover_mm: Some(11.0), ..job(&part, &barrel, Pattern::Parallel) };
    assert!(matches!(finish_on(&chart, &wide, &|_| ()), Err(PatternError::BandTooShort { .. })));
    let lead = AxisRule::Tilted { kappa_rad: Some(0.1), lead_rad: 0.2, lean: LeanSide::Left };
    let leading =
        FaceJob { stepover_mm: Some(0.5), axis: lead, ..job(&part, &ball, Pattern::Parallel) };
    let refused = finish_on(&chart, &leading, &|_| ());
    assert!(matches!(refused, Err(PatternError::LeadTooLarge { .. })), "{refused:?}");
}
