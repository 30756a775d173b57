//! The time account: closed values, symmetries, names and worths of limits.

mod shop;

use geom::Vec3;
use machine::{
    AccountError, AccountOptions, AxisName, Limit, Machine, Mounting, RouteOptions, Scenario,
    TimeAccount, Timer, account,
};
use shop::paths::{cut, raster, run};
use toolpath::{Pose, RunKind, Toolpath};

/// The same figures on every linear axis.
fn plain(accel_m_s2: f64, jerk_m_s3: f64) -> Machine {
    let mut spec = shop::spec("XYZ");
    for axis in spec.axes.values_mut() {
        axis.accel_m_s2 = Some(accel_m_s2);
        axis.jerk_m_s3 = Some(jerk_m_s3);
        axis.travel_mm = None;
    }
    Machine::new(&spec).expect("the machine is sound")
}

fn timed(path: &Toolpath, machine: &Machine) -> TimeAccount {
    account(path, machine, &AccountOptions::default()).expect("the path can be driven")
}

fn line(length_mm: f64) -> [Vec3; 2] {
    [Vec3::ZERO, Vec3::X * length_mm]
}

#[test]
fn a_straight_move_takes_its_closed_time() {
    // derived: rest to rest, 4 m/s2, 60 m/s3; feed mm/min, length mm, ms
    for (feed, length, ms) in [
        (6000.0, 0.2, 47.425_24),
        (6000.0, 3.0, 116.9607),
        (6000.0, 80.0, 881.6497),
        (30_000.0, 25.0, 237.1262),
        (30_000.0, 400.0, 991.6667),
    ] {
        let found = timed(&cut(&line(length), feed / 60.0), &plain(4.0, 60.0)).times.total_s;
        assert!((found * 1000.0 / ms - 1.0).abs() < 1e-3, "{length} mm: {found} s, not {ms} ms");
    }
}

#[test]
fn a_move_cut_into_blocks_takes_no_longer() {
    let tips: Vec<Vec3> = (0..=400).map(|i| Vec3::X * (0.2 * f64::from(i))).collect();
    let found = timed(&cut(&tips, 100.0), &plain(4.0, 60.0)).times.total_s;
    assert!((found / 0.881_649_7 - 1.0).abs() < 1e-3, "{found}");
}

#[test]
fn blocks_shorter_than_the_control_takes_them_hold_the_feed() {
    // derived: 0.02 mm in 0.5 ms is 40 mm/s
    let tips: Vec<Vec3> = (0..=5000).map(|i| Vec3::X * (0.02 * f64::from(i))).collect();
    let found = timed(&cut(&tips, 100.0), &plain(4.0, 60.0));
    assert_eq!(found.limits[0].limit, Limit::BlockTime);
    assert!((found.times.total_s / 2.5 - 1.0).abs() < 0.03, "{:?}", found.times);
    let fastest = found.series.iter().map(|s| s.attained_mm_s).fold(0.0, f64::max);
    assert!((fastest - 40.0).abs() < 0.01, "{fastest}");
    assert!(found.limits[0].worth_s.unwrap() > 0.4);
}

#[test]
fn a_polygon_is_driven_as_the_circle_it_stands_for() {
    // derived: r 5 mm under 4 m/s2 and 60 m/s3: at most 114.5 mm/s by jerk (steady on the whole
    // circle), 141.4 mm/s by acceleration
    let tips: Vec<Vec3> = (0..=3600)
        .map(|i| f64::from(i) * std::f64::consts::PI / 180.0)
        .map(|a| Vec3::new(5.0 * a.cos(), 5.0 * a.sin(), 0.0))
        .collect();
    let mut spec = shop::spec("XYZ");
    spec.block_time_ms = Some(0.1);
    for axis in spec.axes.values_mut() {
        axis.accel_m_s2 = Some(4.0);
        axis.jerk_m_s3 = Some(60.0);
    }
    let found = timed(&cut(&tips, 400.0), &Machine::new(&spec).unwrap());
    let middle = &found.series[found.series.len() / 4..found.series.len() * 3 / 4];
    let mean = middle.iter().map(|s| s.attained_mm_s).sum::<f64>() / middle.len() as f64;
    // axes are limited each for itself, so the mean lies a little above the steady circle
    assert!(mean > 112.0 && mean < 135.0, "{mean}");
}

#[test]
fn a_corner_is_rounded_about_as_fast_as_the_textbook_arc() {
    // derived: 100 mm/s, 4 m/s2, 60 m/s3: two lines from rest to rest, ramps of 2 sqrt(v/J); the
    // arc of 10 um is passed at 3.27 mm/s, so the corner saves some, but less than both ramps
    let tips = [Vec3::ZERO, Vec3::X * 50.0, Vec3::new(50.0, 50.0, 0.0)];
    let found = timed(&cut(&tips, 100.0), &plain(4.0, 60.0));
    let two_lines = 2.0 * (0.5 + 2.0 * (0.1f64 / 60.0).sqrt());
    assert!(found.times.total_s < two_lines, "{:?}", found.times);
    assert!(found.times.total_s > two_lines - 0.1, "{:?}", found.times);
    assert_eq!(found.stretches, 1);
    assert!(found.limits.iter().any(|l| l.limit == Limit::CornerTolerance));
    let turning_back = [Vec3::ZERO, Vec3::X * 50.0, Vec3::ZERO];
    let back = timed(&cut(&turning_back, 100.0), &plain(4.0, 60.0));
    assert!((back.times.total_s / two_lines - 1.0).abs() < 1e-3, "{:?}", back.times);
}

#[test]
fn rapids_know_only_the_axes_and_may_have_to_settle() {
    let at = |x: f64| Pose { tip: Vec3::X * x, axis: Vec3::Z };
    let path = Toolpath {
        runs: vec![
            run(RunKind::Rapid, vec![at(0.0), at(100.0)], f64::INFINITY),
            run(RunKind::Cut, vec![at(100.0), at(200.0)], 50.0),
            run(RunKind::Rapid, vec![at(200.0), at(0.0)], f64::INFINITY),
        ],
    };
    let mut spec = shop::spec("XYZ");
    spec.in_position_s = Some(0.03);
    let waiting = timed(&path, &Machine::new(&spec).unwrap());
    let flowing = timed(&path, &shop::machine("XYZ"));
    assert_eq!((waiting.stretches, flowing.stretches), (3, 2), "turning back stops in any case");
    assert!((waiting.waiting_s - 0.09).abs() < 1e-12);
    assert!(waiting.limits.iter().any(|l| l.limit == Limit::InPosition));
    // derived: 100 mm at 50 mm/s, ramps of 2 sqrt(v/J)
    let cutting = 2.0 + 2.0 * (0.05f64 / 60.0).sqrt();
    assert!((waiting.times.cutting_s / cutting - 1.0).abs() < 1e-3, "{:?}", waiting.times);
    assert!((waiting.times.programmed_s - 2.0).abs() < 1e-9);
    assert!(flowing.times.total_s < waiting.times.total_s);
}

#[test]
fn shares_add_up_and_runs_add_up() {
    let path = raster(6, 100, 0.3, 120.0);
    let found = timed(&path, &shop::machine("XYZ-AC"));
    let shares: f64 = found.limits.iter().map(|l| l.time_share).sum();
    assert!((shares - 1.0).abs() < 1e-9, "{shares}");
    let runs: f64 = found.run_s.iter().sum();
    assert!((runs + found.waiting_s - found.times.total_s).abs() < 1e-9);
    let samples = found.series.last().unwrap();
    assert!((samples.time_s - runs).abs() < 1e-9);
    let length: f64 = path.runs.iter().map(toolpath::Run::tip_length_mm).sum();
    assert!((samples.path_mm / length - 1.0).abs() < 1e-9);
    assert!(found.times.feed_attainment().unwrap() < 1.0);
    assert!(found.limits.iter().all(|l| l.worth_s.is_none_or(|w| w > -1e-3)), "{:?}", found.limits);
}

#[test]
fn turning_the_part_about_the_table_axis_changes_no_time() {
    let path = raster(4, 80, 0.3, 120.0);
    let mut spec = shop::spec("XYZ-AC");
    spec.axes.values_mut().for_each(|a| a.travel_mm = None);
    let machine = Machine::new(&spec).unwrap();
    let turned = |deg: f64| {
        let mounting = Mounting::from_degrees([0.0; 3], [0.0, 0.0, deg]);
        let route = RouteOptions { mounting, ..RouteOptions::default() };
        let options = AccountOptions { route, worth_of: 0, ..AccountOptions::default() };
        account(&path, &machine, &options).unwrap().times.total_s
    };
    let (a, b) = (turned(0.0), turned(73.0));
    assert!((a / b - 1.0).abs() < 1e-3, "{a} {b}");
}

#[test]
fn a_path_takes_as_long_backwards() {
    let path = raster(3, 80, 0.3, 120.0);
    let mut back = path.clone();
    back.runs.reverse();
    for run in &mut back.runs {
        run.poses.reverse();
        run.tip_feed_mm_s.reverse();
    }
    let machine = shop::machine("XYZ-AC");
    let times = [path, back].map(|p| timed(&p, &machine).times.total_s);
    assert!((times[0] / times[1] - 1.0).abs() < 2e-3, "{times:?}");
}

/// A helix down and a spiral out, finely divided: few limits hold it, for short times.
fn helix_and_spiral() -> Toolpath {
    let at = |i: usize| {
        let angle = i as f64 * 0.08;
        let (r, z) =
            if i < 160 { (5.0, -0.004 * i as f64) } else { (5.0 + 0.25 * (angle - 12.8), -0.64) };
        Vec3::new(r * angle.cos(), r * angle.sin(), z)
    };
    cut(&(0..900).map(at).collect::<Vec<_>>(), 80.0)
}

#[test]
fn relaxing_a_limit_never_costs_time() {
    let machine = shop::machine("XYZ-AC");
    let options = AccountOptions { worth_of: 12, ..AccountOptions::default() };
    for path in [helix_and_spiral(), raster(3, 80, 0.3, 120.0)] {
        let account = account(&path, &machine, &options).unwrap();
        for limit in account.limits {
            let worth_s = limit.worth_s.unwrap_or(0.0);
            assert!(worth_s > -1e-4 * account.times.total_s, "{}: {worth_s}", limit.limit);
        }
    }
}

#[test]
fn elasticities_add_up_to_minus_one() {
    // derived: all speeds twice, accelerations four, jerks eight times as large: half the time; so
    // the logarithmic slopes add up as v + 2 a + 3 J = -1
    let path = raster(3, 80, 0.3, 120.0);
    let machine = shop::machine("XYZ-AC");
    let options = AccountOptions { worth_of: 0, ..AccountOptions::default() };
    let timer = Timer::new(&path, &machine, &options).unwrap();
    let with = |scenario: Scenario| timer.times(&scenario).unwrap().total_s;
    let nominal = Scenario::default();
    let faster = |f: f64| Scenario { speed: f, feed: f, block_time: 1.0 / f, ..nominal.clone() };
    let twice = Scenario { accel: 4.0, jerk: 8.0, ..faster(2.0) };
    let ratio = 2.0 * with(twice) / with(nominal.clone());
    // the planner keeps the nodes of the nominal limits
    assert!((ratio - 1.0).abs() < 1e-5, "{ratio}");
    let slope = |set: &dyn Fn(f64) -> Scenario| {
        (with(set(1.2)).ln() - with(set(1.0 / 1.2)).ln()) / (2.0 * 1.2f64.ln())
    };
    let by_accel = slope(&|accel| Scenario { accel, ..nominal.clone() });
    let by_jerk = slope(&|jerk| Scenario { jerk, ..nominal.clone() });
    // plans under jerk are local optima good to some tenths of a percent, slopes to a few
    let sum = slope(&faster) + 2.0 * by_accel + 3.0 * by_jerk;
    assert!((sum + 1.0).abs() < 0.05, "{sum}");
}

#[test]
fn without_jerk_limits_no_path_is_slower() {
    let path = raster(3, 80, 0.3, 120.0);
    let machine = shop::machine("XYZ-BC");
    let free = AccountOptions { jerk: false, worth_of: 0, ..AccountOptions::default() };
    let bound = account(&path, &machine, &free).unwrap().times.total_s;
    assert!(bound < timed(&path, &machine).times.total_s);
}

#[test]
fn every_layout_drives_the_same_raster() {
    let path = raster(2, 60, 0.3, 60.0);
    for layout in ["XYZ-AC", "XYZ-BC", "XYZ+AC", "XYZ+BC", "XYZ-C+B", "XYZ-C+A"] {
        let found = timed(&path, &shop::machine(layout));
        let programmed: f64 = path.runs.iter().map(|r| r.tip_length_mm() / 60.0).sum();
        assert!(found.times.total_s > programmed, "{layout}");
        assert!(found.times.total_s < 3.0 * programmed, "{layout}: {:?}", found.times);
        assert!(found.turning_over.is_empty(), "{layout}");
    }
}

#[test]
fn any_number_of_threads_gives_the_same_bits() {
    let path = raster(5, 60, 0.3, 120.0);
    let machine = shop::machine("XYZ-AC");
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| timed(&path, &machine))
    };
    assert_eq!(with(1), with(3));
}

#[test]
fn travel_is_checked_and_the_place_is_named() {
    let tips = [Vec3::ZERO, Vec3::new(310.0, 0.0, 0.0)];
    let found = timed(&cut(&tips, 100.0), &shop::machine("XYZ"));
    assert_eq!(found.exceeded.len(), 1);
    assert_eq!(found.exceeded[0].axis, AxisName::X);
    assert!((found.exceeded[0].beyond() - 10.0).abs() < 1e-9);
    assert!(found.exceeded[0].to_string().contains("10.000 mm beyond"));
}

#[test]
fn the_solution_inside_the_travel_is_chosen() {
    // leaned towards -y: A = +0.5 with C = 0, or A = -0.5 with C = 180
    let lean =
        |y: f64| Pose { tip: Vec3::Y * y, axis: Vec3::new(0.0, -(0.5f64.sin()), 0.5f64.cos()) };
    let path = Toolpath { runs: vec![run(RunKind::Cut, vec![lean(0.0), lean(20.0)], 50.0)] };
    let mut spec = shop::spec("XYZ-AC");
    spec.axes.get_mut("A").unwrap().travel_deg = Some([-110.0, 5.0]);
    assert!(timed(&path, &Machine::new(&spec).unwrap()).exceeded.is_empty());
    spec.axes.get_mut("A").unwrap().travel_deg = Some([-5.0, 5.0]);
    let found = timed(&path, &Machine::new(&spec).unwrap());
    assert_eq!(found.exceeded[0].axis, AxisName::A);
    assert!((found.exceeded[0].beyond().to_degrees() - 23.648).abs() < 1e-3);
}

/// A straight pass whose axis swings through the pole, missing it sideways by `miss_rad`.
fn over_the_pole(miss_rad: f64) -> Toolpath {
    let poses = (0..=40)
        .map(|i| f64::from(i - 20) / 20.0)
        .map(|t| Pose {
            tip: Vec3::X * (20.0 * t),
            axis: Vec3::new(miss_rad, 0.3 * t, 1.0).normalize(),
        })
        .collect();
    Toolpath { runs: vec![run(RunKind::Cut, poses, 50.0)] }
}

#[test]
fn the_pole_is_passed_straight_when_it_can_and_costs_time_when_it_is_near() {
    let machine = shop::machine("XYZ-AC");
    let [through, near, far] = [0.0, 0.01, 0.2].map(|miss| timed(&over_the_pole(miss), &machine));
    assert!(through.rotary[0].travel_rad[0] < 1e-6, "{:?}", through.rotary);
    assert!((near.rotary[0].pole_rad - 0.01).abs() < 1e-6);
    // derived: C swings by pi less twice what is left at the ends
    let swing = std::f64::consts::PI - 2.0 * (0.01f64 / 0.3).atan();
    assert!((near.rotary[0].travel_rad[0] - swing).abs() < 0.01, "{:?}", near.rotary);
    assert!(near.times.total_s > 1.1 * through.times.total_s);
    assert!(near.times.total_s > far.times.total_s);
}

#[test]
fn a_rapid_may_turn_the_axes_over_where_the_travel_asks_for_it() {
    let at = |x: f64, c: f64| Pose {
        tip: Vec3::X * x,
        axis: Vec3::new(0.4f64.sin() * c.sin(), -(0.4f64.sin()) * c.cos(), 0.4f64.cos()),
    };
    let turn = |from: f64, to: f64, x: f64| {
        (0..=20).map(|i| at(x + f64::from(i), from + (to - from) * f64::from(i) / 20.0)).collect()
    };
    let path = Toolpath {
        runs: vec![
            run(RunKind::Cut, turn(0.0, 3.0, 0.0), 50.0),
            run(RunKind::Rapid, vec![at(20.0, 3.0), at(60.0, 3.0)], f64::INFINITY),
            run(RunKind::Cut, turn(3.0, 6.0, 60.0), 50.0),
        ],
    };
    let mut spec = shop::spec("XYZ-AC");
    spec.axes.get_mut("C").unwrap().travel_deg = Some([-190.0, 190.0]);
    // the other solution, A -23 and C from -180 on, would do both passes without
    assert!(timed(&path, &Machine::new(&spec).unwrap()).turning_over.is_empty());
    spec.axes.get_mut("A").unwrap().travel_deg = Some([-5.0, 110.0]);
    let found = timed(&path, &Machine::new(&spec).unwrap());
    assert!(found.exceeded.is_empty(), "{:?}", found.exceeded);
    assert_eq!(found.turning_over, [1]);
    let free = timed(&path, &shop::machine("XYZ-AC"));
    assert!(free.turning_over.is_empty() && free.times.total_s < found.times.total_s);
}

#[test]
fn bad_toolpaths_are_refused_with_their_place() {
    let machine = shop::machine("XYZ");
    let refused =
        |path: &Toolpath| account(path, &machine, &AccountOptions::default()).unwrap_err();
    let mut path = cut(&line(10.0), 100.0);
    path.runs[0].tip_feed_mm_s[0] = 0.0;
    assert!(matches!(refused(&path), AccountError::Feed { run: 0, at: 0, .. }));
    path.runs[0].tip_feed_mm_s.clear();
    assert!(matches!(refused(&path), AccountError::Feed { .. }));
    let nan = cut(&[Vec3::ZERO, Vec3::NAN], 100.0);
    assert!(matches!(refused(&nan), AccountError::Pose { run: 0, pose: 1, .. }));
    let tilted = raster(1, 4, 0.3, 100.0);
    let message = refused(&tilted).to_string();
    assert!(message.contains("run 0") && message.contains("no rotary axis"), "{message}");
}

#[test]
fn nothing_takes_no_time() {
    let machine = shop::machine("XYZ-AC");
    for path in [Toolpath::default(), cut(&[Vec3::X], 10.0), cut(&[Vec3::X, Vec3::X], 10.0)] {
        let found = timed(&path, &machine);
        assert_eq!(found.times.total_s, 0.0);
        assert!(found.limits.is_empty() && found.times.feed_attainment().is_none());
    }
}
