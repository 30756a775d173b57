//! Limits against values made by other methods.
//!
//! derived: rows of the mean-matrix method by two independent codes; rows of the full time variation by
//! piecewise Chebyshev collocation of the one-period operator (converged to 1e-6) and by direct time
//! integration below and above the limit. Parameters of the one-mode cutter (922 Hz, ζ 0.011, 0.03993 kg,
//! Kt 600 and Kn 200 N/mm², two teeth): seen in several open research codes, there after Ding et al.,
//! Int. J. Mach. Tools Manuf. 2010.

#![allow(clippy::unwrap_used, reason = "a test may")]

use stability::cut::{Direction, Immersion};
use stability::limit::{Limit, Method, limits};
use stability::{Axis, Cut, Kind, Mode, Structure};

fn cut(teeth: u32, kt: f64, kr: f64, width: f64, direction: Direction) -> Cut {
    Cut::new(teeth, kt, kr, Immersion::of_width(1.0, width, direction).unwrap()).unwrap()
}

fn one(structure: &Structure, cut: &Cut, rpm: f64, method: Method, deepest: f64) -> Option<Limit> {
    limits(structure, cut, &[rpm], method, deepest).unwrap()[0]
}

fn near(value: f64, expected: f64, share: f64, what: &str) {
    assert!((value / expected - 1.0).abs() < share, "{what}: {value}, expected {expected}");
}

/// 0.03993 kg at 922 Hz.
fn classic() -> Mode {
    let omega = std::f64::consts::TAU * 922.0;
    Mode::new(922.0, 0.011, 0.03993 * omega * omega / 1000.0).unwrap()
}

fn x_only() -> Structure {
    Structure { x: Axis::mode(classic()), y: Axis::Rigid }
}

fn x_and_y() -> Structure {
    Structure { x: Axis::mode(classic()), y: Axis::mode(classic()) }
}

#[test]
fn zeroth_order_of_a_cutter_with_two_axes() {
    // derived, two independent codes
    let structure = Structure {
        x: Axis::mode(Mode::new(1250.0, 0.035, 9000.0).unwrap()),
        y: Axis::mode(Mode::new(1330.0, 0.03, 11_000.0).unwrap()),
    };
    let rows = [
        (Direction::Down, 9000.0, 8.048_494, Some(1427.11)),
        (Direction::Down, 12_000.0, 5.777_360, Some(1280.63)),
        (Direction::Down, 17_500.0, 13.500_75, Some(1503.84)),
        (Direction::Up, 9000.0, 3.520_275, None),
        (Direction::Up, 12_000.0, 1.369_656, None),
        (Direction::Up, 17_500.0, 7.812_084, None),
    ];
    for (direction, rpm, depth, hz) in rows {
        let cut = cut(4, 750.0, 0.3, 0.3, direction);
        let found = one(&structure, &cut, rpm, Method::ZerothOrder, 100.0).unwrap();
        near(found.depth_mm, depth, 1e-6, "depth");
        if let Some(hz) = hz {
            near(found.chatter_hz, hz, 1e-5, "frequency");
        }
    }
    // Kr upside down is the mistake that this value exposes
    let upside_down = cut(4, 750.0, 1.0 / 0.3, 0.3, Direction::Down);
    let found = one(&structure, &upside_down, 9000.0, Method::ZerothOrder, 100.0).unwrap();
    assert!(found.depth_mm < 4.1);
}

#[test]
fn least_depth_over_all_speeds_of_one_mode() {
    // derived: 2 k ζ (1 ± ζ)/(Kt |A0/2|), + where the mean coefficient is negative
    let cut = cut(2, 600.0, 1.0 / 3.0, 1.0, Direction::Down);
    let speeds: Vec<f64> = (0..4000).map(|i| 2000.0 + f64::from(i)).collect();
    let found = limits(&x_only(), &cut, &speeds, Method::ZerothOrder, 100.0).unwrap();
    let least = found.iter().flatten().map(|l| l.depth_mm).fold(f64::MAX, f64::min);
    near(least, 0.298_053_8, 1e-4, "least depth");
    assert!(least >= 0.298_053_7, "nothing lies below the least depth: {least}");
}

#[test]
fn multipliers_of_the_one_mode_cutter_in_a_slot() {
    let cut = cut(2, 600.0, 1.0 / 3.0, 1.0, Direction::Down);
    let modal = stability::semi::Modal::new(&x_only()).unwrap();
    for (depth, expected) in [(0.2, 0.819_742_78), (0.5, 1.073_975_59), (1.0, 1.406_473_53)] {
        let at =
            |steps| stability::semi::multiplier(&modal, &cut, 5000.0, depth, steps).unwrap().norm();
        let (coarse, fine, finer) = (at(100), at(400), at(800));
        assert!((fine - expected).abs() < 3e-3, "{depth}: {fine}");
        assert!(((4.0 * finer - fine) / 3.0 - expected).abs() < 2e-6, "{depth}: {finer}");
        // the error falls with the square of the step
        let order = ((coarse - expected) / (fine - expected)).log(4.0);
        assert!((order - 2.0).abs() < 0.15, "order {order} at {depth}");
    }
}

/// A limit of full time variation: speed, depth, and how it is lost; `None`: stable up to the depth.
type Row = (f64, f64, Option<Kind>);

const HOPF: Option<Kind> = Some(Kind::Hopf);
const FLIP: Option<Kind> = Some(Kind::Flip);

fn compare(structure: &Structure, cut: &Cut, rows: &[Row], share: f64) {
    for (rpm, depth, kind) in rows {
        match kind {
            Some(kind) => {
                let found = one(structure, cut, *rpm, Method::SemiDiscretisation, 20.0).unwrap();
                near(found.depth_mm, *depth, share, &format!("depth at {rpm}"));
                assert_eq!(found.kind, *kind, "at {rpm}");
            }
            None => {
                let found = one(structure, cut, *rpm, Method::SemiDiscretisation, *depth);
                assert_eq!(found, None, "at {rpm}");
            }
        }
    }
}

fn with_width(structure: &Structure, width: f64, direction: Direction, rows: &[Row]) {
    compare(structure, &cut(2, 600.0, 1.0 / 3.0, width, direction), rows, 5e-5);
}

#[test]
fn one_mode_in_a_slot() {
    let rows = [
        (5_000.0, 0.408_627_700_8, HOPF),
        (6_000.0, 0.353_223_800_7, HOPF),
        (7_000.0, 1.151_993_942, HOPF),
        (8_000.0, 0.676_388_931_3, HOPF),
        (9_000.0, 3.009_210_587, HOPF),
        (10_000.0, 0.322_378_921_5, HOPF),
        (12_000.0, 2.149_308_395, FLIP),
        (14_000.0, 2.140_012_741, HOPF),
        (16_000.0, 0.318_529_129, HOPF),
        (18_000.0, 0.689_538_955_7, HOPF),
        (20_000.0, 1.417_506_027, FLIP),
        (24_000.0, 3.742_544_937, HOPF),
    ];
    with_width(&x_only(), 1.0, Direction::Down, &rows);
}

#[test]
fn one_mode_half_down() {
    let rows = [
        (5_000.0, 0.847_203_445_4, HOPF),
        (6_000.0, 1.138_849_258, HOPF),
        (7_000.0, 2.550_570_297, HOPF),
        (8_000.0, 0.797_932_052_6, HOPF),
        (9_000.0, 1.564_792_252, HOPF),
        (10_000.0, 2.104_689_407, FLIP),
        (12_000.0, 0.613_090_896_6, HOPF),
        (14_000.0, 3.090_524_673, FLIP),
        (16_000.0, 2.072_385_025, FLIP),
        (18_000.0, 1.619_698_715, HOPF),
        (20_000.0, 0.719_643_020_6, HOPF),
        (24_000.0, 0.775_720_596_3, HOPF),
    ];
    with_width(&x_only(), 0.5, Direction::Down, &rows);
}

#[test]
fn one_mode_a_tenth_down() {
    let rows = [
        (5_000.0, 1.296_263_377, HOPF),
        (6_000.0, 1.732_915_497, HOPF),
        (7_000.0, 2.987_822_215, FLIP),
        (8_000.0, 1.220_424_143, HOPF),
        (9_000.0, 2.441_054_535, HOPF),
        (10_000.0, 2.518_412_018, FLIP),
        (12_000.0, 0.942_951_202_4, HOPF),
        (14_000.0, 6.026_011_403, FLIP),
        (16_000.0, 3.115_753_428, FLIP),
        (18_000.0, 0.815_657_297_8, FLIP),
        (20_000.0, 1.221_466_319, HOPF),
        (24_000.0, 1.222_600_047, HOPF),
    ];
    with_width(&x_only(), 0.1, Direction::Down, &rows);
}

#[test]
fn one_mode_a_twentieth_down() {
    let rows = [
        (5_000.0, 2.206_918_716, HOPF),
        (6_000.0, 3.071_331_406, HOPF),
        (7_000.0, 4.846_875_381, FLIP),
        (8_000.0, 2.163_160_324, HOPF),
        (9_000.0, 4.316_462_326, HOPF),
        (10_000.0, 4.090_710_831, FLIP),
        (12_000.0, 1.680_517_197, HOPF),
        (14_000.0, 12.0, None),
        (16_000.0, 5.517_675_4, FLIP),
        (18_000.0, 1.295_141_983, FLIP),
        (20_000.0, 2.298_676_682, HOPF),
        (24_000.0, 2.189_699_936, HOPF),
    ];
    with_width(&x_only(), 0.05, Direction::Down, &rows);
}

#[test]
fn one_mode_a_tenth_up() {
    let rows = [
        (5_000.0, 1.026_451_365, HOPF),
        (6_000.0, 0.892_500_559_5, HOPF),
        (7_000.0, 2.906_309_255, HOPF),
        (8_000.0, 1.684_004_974, HOPF),
        (9_000.0, 6.073_734_792, FLIP),
        (10_000.0, 0.815_343_984, HOPF),
        (12_000.0, 3.180_176_036, FLIP),
        (14_000.0, 5.272_912_852, HOPF),
        (16_000.0, 0.805_837_758_4, HOPF),
        (18_000.0, 1.844_722_239, HOPF),
        (20_000.0, 2.206_031_545, FLIP),
        (24_000.0, 8.0, None),
    ];
    with_width(&x_only(), 0.1, Direction::Up, &rows);
}

#[test]
fn two_axes_in_a_slot() {
    let rows = [
        (5_000.0, 0.047_506_328_58, HOPF),
        (6_000.0, 0.048_348_499_3, HOPF),
        (7_000.0, 0.218_886_184_7, HOPF),
        (8_000.0, 0.051_480_014_8, HOPF),
        (9_000.0, 0.346_222_305_3, HOPF),
        (10_000.0, 0.071_411_136_63, HOPF),
        (12_000.0, 0.084_925_144_2, HOPF),
        (14_000.0, 0.460_704_422, HOPF),
        (16_000.0, 0.063_905_620_57, HOPF),
        (18_000.0, 0.047_871_898_65, HOPF),
        (20_000.0, 0.063_221_309_66, HOPF),
        (24_000.0, 0.311_531_448_4, HOPF),
    ];
    with_width(&x_and_y(), 1.0, Direction::Down, &rows);
}

#[test]
fn two_axes_half_down() {
    let rows = [
        (5_000.0, 0.127_106_094_4, HOPF),
        (6_000.0, 0.127_363_967_9, HOPF),
        (7_000.0, 0.566_457_748_4, HOPF),
        (8_000.0, 0.140_856_552_1, HOPF),
        (9_000.0, 0.952_586_746_2, HOPF),
        (10_000.0, 0.181_029_892, HOPF),
        (12_000.0, 0.241_820_907_6, HOPF),
        (14_000.0, 1.165_735_245, HOPF),
        (16_000.0, 0.162_073_135_4, HOPF),
        (18_000.0, 0.130_229_568_5, HOPF),
        (20_000.0, 0.176_159_286_5, HOPF),
        (24_000.0, 0.962_570_571_9, HOPF),
    ];
    with_width(&x_and_y(), 0.5, Direction::Down, &rows);
}

#[test]
fn two_axes_a_twentieth_down() {
    let rows = [
        (5_000.0, 1.843_802_261, HOPF),
        (6_000.0, 1.536_266_708, HOPF),
        (7_000.0, 5.101_910_019, HOPF),
        (8_000.0, 2.229_399_49, HOPF),
        (9_000.0, 11.293_235_4, HOPF),
        (10_000.0, 1.486_949_539, HOPF),
        (12_000.0, 7.857_864_761, HOPF),
        (14_000.0, 8.455_331_039, HOPF),
        (16_000.0, 1.412_223_434, HOPF),
        (18_000.0, 3.664_873_886, HOPF),
        (20_000.0, 3.250_385_666, FLIP),
        (24_000.0, 12.0, None),
    ];
    with_width(&x_and_y(), 0.05, Direction::Down, &rows);
}

/// Speed, depth of full time variation, depth and frequency of the zeroth order.
type Both = (f64, f64, f64, f64);

fn by_both(structure: &Structure, cut: &Cut, rows: &[Both], kind: impl Fn(f64) -> Kind) {
    for (rpm, full, mean, hz) in rows {
        let found = one(structure, cut, *rpm, Method::SemiDiscretisation, 20.0).unwrap();
        near(found.depth_mm, *full, 5e-5, &format!("full variation at {rpm}"));
        assert_eq!(found.kind, kind(*rpm), "at {rpm}");
        let found = one(structure, cut, *rpm, Method::ZerothOrder, 20.0).unwrap();
        near(found.depth_mm, *mean, 1e-4, &format!("zeroth order at {rpm}"));
        near(found.chatter_hz, *hz, 1e-4, &format!("frequency at {rpm}"));
    }
}

/// Case: settings of a numerical study in an open research code (Bayesian stability of milling, seen).
#[test]
fn a_symmetric_mode_half_down_with_three_teeth() {
    let mode = Mode::new(1200.0, 0.02, 8000.0).unwrap();
    let structure = Structure { x: Axis::mode(mode), y: Axis::mode(mode) };
    let (sin, cos) = 68.0_f64.to_radians().sin_cos();
    let cut = cut(3, 700.0 * sin, cos / sin, 0.5, Direction::Down);
    let rows = [
        (5_000.0, 1.157_925_034, 1.242_385_244, 1_191.76),
        (6_000.0, 3.947_375_87, 3.815_787_056, 1_277.836),
        (7_000.0, 0.983_696_365_4, 0.965_279_726_5, 1_216.08),
        (8_000.0, 5.199_579_239, 4.968_805_368, 1_296.704),
        (9_000.0, 0.889_255_905_2, 0.911_253_247_6, 1_199.66),
        (10_000.0, 1.091_405_869, 1.064_746_427, 1_220.164),
        (11_000.0, 2.992_134_476, 2.719_930_016, 1_258.456),
    ];
    by_both(&structure, &cut, &rows, |_| Kind::Hopf);
}

/// Modes of a cutter in 7075 after Altintas, Manufacturing Automation, 2012, p. 162, as quoted in an open
/// research code (seen).
#[test]
fn two_modes_an_axis_half_down() {
    let mode = |hz, zeta, k: f64| Mode::new(hz, zeta, k / 1000.0).unwrap();
    let structure = Structure {
        x: Axis::Modes(vec![
            mode(456.780_432, 0.111_705_399, 7_933_097.18),
            mode(1_448.889_141, 0.017_037_009_6, 14_691_778.44),
        ]),
        y: Axis::Modes(vec![
            mode(516.518_189, 0.024_579_632_7, 9_374_613.81),
            mode(1_408.448_141, 0.031_357_601_9, 12_406_389.71),
        ]),
    };
    let cut = cut(2, 1319.4, 788.8 / 1319.4, 0.5, Direction::Down);
    let rows = [
        (4_000.0, 0.945_845_413_2, 1.085_842_663, 1_426.981),
        (6_000.0, 1.842_815_781, 1.615_350_293, 536.945),
        (8_000.0, 1.132_648_849, 1.139_546_744, 1_455.744),
        (10_000.0, 1.563_397_598, 1.456_959_227, 1_466.23),
        (12_000.0, 0.913_444_900_5, 0.958_263_004_8, 1_438.993),
        (14_000.0, 4.954_111_099, 4.619_694_619, 1_536.762),
        (16_000.0, 0.992_489_242_6, 1.039_600_002, 1_429.536),
    ];
    by_both(&structure, &cut, &rows, |_| Kind::Hopf);
}

/// A worked example of the trade's textbooks (from memory); the limits are derived.
#[test]
fn two_axes_half_up_with_three_teeth() {
    let structure = Structure {
        x: Axis::mode(Mode::new(603.0, 0.039, 5590.0).unwrap()),
        y: Axis::mode(Mode::new(666.0, 0.035, 5715.0).unwrap()),
    };
    let cut = cut(3, 600.0, 0.07, 0.5, Direction::Up);
    let rows = [
        (3_000.0, 1.270_414_035, 1.226_628_5, 653.034),
        (4_000.0, 1.481_808_662, 1.419_335_982, 658.71),
        (5_000.0, 1.097_392_718, 1.087_021_838, 631.998),
        (6_000.0, 2.028_468_768, 1.945_738_051, 665.451),
        (8_000.0, 1.098_226_865, 1.095_363_651, 626.904),
        (10_000.0, 1.364_980_38, 1.339_633_181, 656.862),
        (13_000.0, 5.210_009_575, 5.190_452_187, 592.635),
    ];
    by_both(&structure, &cut, &rows, |_| Kind::Hopf);
}

#[test]
fn absolute_limits_of_cuts_in_a_fixed_direction() {
    // derived: b = −1/(2 Kf min Re G); one mode, and a shaping problem with two modes at 30° and 45°
    // (statement in an open research code, there with a power of ten missing), on a fine grid
    let least = |g: &dyn Fn(f64) -> f64, low: f64, high: f64| {
        let count = 400_000;
        let at = |i: i32| low + (high - low) * f64::from(i) / f64::from(count);
        (0..=count)
            .map(|i| (g(at(i)), at(i)))
            .fold((0.0, 0.0), |a, b| if b.0 < a.0 { b } else { a })
    };
    let tau = std::f64::consts::TAU;
    let one = Mode::new(100.0, 0.03, 20_000.0).unwrap();
    let (re, hz) = least(&|f| one.response(tau * f).re, 90.0, 120.0);
    near(-1.0 / (2.0 * 700.0 * re), 1.765_714_286, 1e-8, "one mode");
    near(hz / 100.0, 1.029_563, 1e-5, "its frequency");
    let first = Mode::new(250.0, 0.012, 2.26e5).unwrap();
    let second = Mode::new(150.0, 0.01, 2.13e5).unwrap();
    let both = |f: f64| {
        let (a, b) = (first.response(tau * f).re, second.response(tau * f).re);
        30f64.to_radians().cos().powi(2) * a + 45f64.to_radians().cos().powi(2) * b
    };
    let (re, hz) = least(&both, 200.0, 300.0);
    near(-1.0 / (2.0 * 1000.0 * re), 7.184_977, 1e-6, "two modes");
    near(hz, 252.98, 1e-5, "its frequency");
    let (re, hz) = least(&both, 100.0, 200.0);
    near(-1.0 / (2.0 * 1000.0 * re), 9.458_426, 1e-6, "second minimum");
    near(hz, 151.49, 3e-5, "its frequency");
}

#[test]
fn pockets_stand_where_the_teeth_pass_in_step_with_the_mode() {
    // n = 60 fn/(z j); the top of a pocket is beside it, for the chatter is not at fn itself
    let cut = cut(2, 600.0, 1.0 / 3.0, 1.0, Direction::Down);
    for j in 2..=5 {
        let step = 60.0 * 922.0 / (2.0 * f64::from(j));
        let speeds: Vec<f64> = (0..=300).map(|i| step * (0.85 + 0.001 * f64::from(i))).collect();
        let found = limits(&x_only(), &cut, &speeds, Method::ZerothOrder, 1e3).unwrap();
        let depths: Vec<f64> = found.iter().map(|l| l.unwrap().depth_mm).collect();
        let top = (0..depths.len()).max_by(|a, b| depths[*a].total_cmp(&depths[*b])).unwrap();
        assert!((speeds[top] / step - 1.0).abs() < 0.07, "{j}: {} {step}", speeds[top]);
    }
}
