//! Life of an edge: closed values, influences, ranges, refusals.

use super::*;
use material::{
    Certainty, ChipHabits, EdgeEnds, ForceData, IsoGroup, Validity, sourced::Sourced as S,
};

fn source() -> Source {
    Source {
        certainty: Certainty::Published,
        citation: "a made-up test".to_owned(),
        place: "table 1".to_owned(),
    }
}

fn known<T>(value: T, scatter: f64) -> S<T> {
    S { value, scatter, source: source(), note: String::new() }
}

fn taylor() -> Taylor {
    Taylor {
        c_m_min: 620.0,
        n: 0.32,
        feed: Some(LifeFactor { reference: 0.1, exponent: 0.7 }),
        depth: Some(LifeFactor { reference: 10.0, exponent: 0.3 }),
        width: Some(LifeFactor { reference: 2.0, exponent: 0.6 }),
        width_over_diameter: None,
        edge: EdgeMaterial::CoatedCarbide,
        criterion: "flank wear 0.3 mm".to_owned(),
        conditions: "flood".to_owned(),
        validity: Validity {
            speed_m_min: Some(Interval::new(200.0, 400.0)),
            feed_per_tooth_mm: Some(Interval::new(0.05, 0.2)),
            ..Validity::default()
        },
    }
}

fn work(ends: Vec<EdgeEnd>, life: Known<Vec<S<Taylor>>>) -> Material {
    let none = || Err(Missing::because("not needed here"));
    let range = || known(Interval::new(1.0, 2.0), 0.2);
    Material {
        id: "made-up".to_owned(),
        name: "Made-up metal".to_owned(),
        aliases: Vec::new(),
        iso_group: IsoGroup::N,
        state: "none".to_owned(),
        density_kg_m3: known(2700.0, 0.01),
        hardness: Err(Missing::because("not needed here")),
        force: ForceData {
            kienzle: Err(Missing::because("not needed here")),
            mechanistic: Err(Missing::because("not needed here")),
            radial_over_tangential: none(),
            axial_over_tangential: none(),
        },
        chip: ChipHabits {
            bulk_ratio: range(),
            usual_thickness_mm: range(),
            least_over_edge_radius: range(),
            coated_edge_radius_mm: known(0.008, 0.5),
            bright_edge_radius_mm: known(0.004, 0.5),
        },
        coated_speed_m_min: Err(Missing::because("not needed here")),
        bright_speed_m_min: Err(Missing::because("not needed here")),
        life,
        edge_ends: known(EdgeEnds { ends, built_up_below_m_min: Some(150.0) }, 0.5),
        cautions: Vec::new(),
    }
}

fn steel() -> Material {
    work(vec![EdgeEnd::FlankWear], Ok(vec![known(taylor(), 0.5)]))
}

fn cut(speed_m_min: f64) -> EdgeUse {
    EdgeUse {
        speed_m_min,
        feed_per_tooth_mm: 0.1,
        depth_mm: Some(10.0),
        width_mm: Some(2.0),
        diameter_mm: Some(12.0),
    }
}

/// At the references the plain line of Taylor is left: C 620, n 0.32, v 300 give 9.665406 min, and
/// 10 % more speed 0.7424169 of it (derived: logarithms).
#[test]
fn the_references_leave_taylors_line() {
    let life = edge_life(&steel(), None, &cut(300.0)).unwrap();
    assert!((life.minutes - 9.665_406).abs() < 1e-6, "{}", life.minutes);
    let faster = edge_life(&steel(), None, &cut(330.0)).unwrap();
    assert!((faster.minutes / life.minutes - 0.742_416_9).abs() < 1e-7);
    assert!((life.interval_min.low - 9.665_406 / 1.5).abs() < 1e-6);
    assert!((life.interval_min.high - 9.665_406 * 1.5).abs() < 1e-6);
    assert_eq!((life.criterion.as_str(), life.upper_bound), ("flank wear 0.3 mm", false));
    assert_eq!(life.warnings, ["tested as: coated carbide, flood"]);
    let mut noted = steel();
    noted.life.as_mut().unwrap()[0].note = "found on a sister alloy".to_owned();
    let said = edge_life(&noted, None, &cut(300.0)).unwrap().warnings;
    assert_eq!(said.last().unwrap(), "of the constants: found on a sister alloy");
}

/// Doubled and halved quantities give powers of two (derived).
#[test]
fn each_influence_has_its_own_exponent() {
    let base = edge_life(&steel(), None, &cut(300.0)).unwrap().minutes;
    let ratio = |changed: EdgeUse| edge_life(&steel(), None, &changed).unwrap().minutes / base;
    let feed = ratio(EdgeUse { feed_per_tooth_mm: 0.2, ..cut(300.0) });
    assert!((feed - 2.0_f64.powf(-0.7)).abs() < 1e-12);
    let depth = ratio(EdgeUse { depth_mm: Some(5.0), ..cut(300.0) });
    assert!((depth - 2.0_f64.powf(0.3)).abs() < 1e-12);
    let width = ratio(EdgeUse { width_mm: Some(4.0), ..cut(300.0) });
    assert!((width - 2.0_f64.powf(-0.6)).abs() < 1e-12);
}

/// Life falls with the fourth power of speed and the first of width over diameter (K. Tatar and
/// others, Heliyon 6 (2020) e04217, abstract): 10 % more speed leaves 0.68301346, twice the width
/// half.
#[test]
fn width_over_diameter_is_a_share() {
    let titanium = Taylor {
        c_m_min: 200.0,
        n: 0.25,
        feed: None,
        depth: None,
        width: None,
        width_over_diameter: Some(LifeFactor { reference: 0.3, exponent: 1.0 }),
        ..taylor()
    };
    let titanium = work(vec![EdgeEnd::FlankWear], Ok(vec![known(titanium, 0.5)]));
    let at = |speed_m_min, width| {
        let cut = EdgeUse { width_mm: Some(width), ..cut(speed_m_min) };
        edge_life(&titanium, None, &cut).unwrap().minutes
    };
    assert!((at(110.0, 3.6) / at(100.0, 3.6) - 0.683_013_46).abs() < 1e-8);
    assert!((at(100.0, 7.2) / at(100.0, 3.6) - 0.5).abs() < 1e-12);
    assert!((at(100.0, 3.6) - 16.0).abs() < 1e-9);
}

#[test]
fn outside_the_tested_range_the_interval_grows_and_the_range_is_named() {
    let life = edge_life(&steel(), None, &cut(800.0)).unwrap();
    let inside = edge_life(&steel(), None, &cut(400.0)).unwrap();
    let width = |l: &Life| l.interval_min.high / l.minutes;
    assert!((width(&inside) - 1.5).abs() < 1e-9);
    // twice the range: 1.5 times 2 to the power of 0.3 / 0.32
    assert!((width(&life) - 1.5 * 2.0_f64.powf(0.3 / 0.32)).abs() < 1e-9);
    assert!((life.minutes / life.interval_min.low - width(&life)).abs() < 1e-9);
    let said = life.warnings.join("\n");
    assert!(
        said.contains("cutting speed 800 m/min is above the tested 200 to 400 m/min"),
        "{said}"
    );
    assert!(!inside.warnings.join("\n").contains("tested 200"));
}

#[test]
fn built_up_edge_makes_the_figure_an_upper_bound() {
    let ends = vec![EdgeEnd::BuiltUpEdge, EdgeEnd::Chipping, EdgeEnd::Finish];
    let aluminium = work(ends.clone(), Ok(vec![known(taylor(), 0.5)]));
    let life = edge_life(&aluminium, None, &cut(300.0)).unwrap();
    assert!(life.upper_bound);
    assert_eq!(life.ends, ends);
    let said = &life.warnings[0];
    assert!(said.contains("built-up edge, chipping, finish") && said.contains("upper bound"));
    let slow = edge_life(&aluminium, None, &cut(100.0)).unwrap();
    assert!(slow.warnings.iter().any(|w| w.contains("below about 150 m/min")));
}

#[test]
fn no_constants_no_figure_but_the_reason() {
    let bare = work(vec![EdgeEnd::FlankWear], Err(Missing::because("nothing was published")));
    assert_eq!(edge_life(&bare, None, &cut(300.0)).unwrap_err().reason, "nothing was published");
    let other = edge_life(&steel(), Some(EdgeMaterial::Diamond), &cut(300.0)).unwrap_err();
    assert!(other.reason.contains("diamond"));
    assert!(edge_life(&steel(), Some(EdgeMaterial::CoatedCarbide), &cut(300.0)).is_ok());
}

#[test]
fn a_ball_at_its_tip_is_refused_and_one_that_is_tilted_is_not() {
    let tip = effective_speed_m_min(0.0, 200.0).unwrap_err();
    assert!(tip.reason.contains("tip") && tip.reason.contains("speed is 0"));
    assert_eq!(edge_life(&steel(), None, &cut(0.0)).unwrap_err(), tip);
    // 12 mm ball tilted by 17 degrees touches at a diameter of 3.508460 mm; 12 000 rev/min
    let tilted = effective_speed_m_min(3.508_460 / 2.0, 200.0).unwrap();
    assert!((tilted - 132.2658).abs() < 1e-3);
}

#[test]
fn values_that_cannot_be_are_refused() {
    let refused = [
        EdgeUse { speed_m_min: -1.0, ..cut(1.0) },
        EdgeUse { speed_m_min: f64::NAN, ..cut(1.0) },
        EdgeUse { feed_per_tooth_mm: 0.0, ..cut(300.0) },
        EdgeUse { depth_mm: Some(-1.0), ..cut(300.0) },
        EdgeUse { width_mm: Some(f64::INFINITY), ..cut(300.0) },
        EdgeUse { width_mm: Some(13.0), ..cut(300.0) },
    ];
    for cut in refused {
        assert!(edge_life(&steel(), None, &cut).is_err(), "{cut:?}");
    }
    assert!(effective_speed_m_min(f64::NAN, 1.0).is_err());
    assert!(effective_speed_m_min(1.0, 0.0).is_err());
    // so slow that the power overflows
    let steep = Taylor { n: 0.03, ..taylor() };
    let steep = work(vec![EdgeEnd::FlankWear], Ok(vec![known(steep, 0.5)]));
    assert!(edge_life(&steep, None, &cut(1e-9)).is_err());
}

#[test]
fn what_is_not_given_or_not_counted_is_said() {
    let bare = EdgeUse { depth_mm: None, width_mm: None, diameter_mm: None, ..cut(300.0) };
    let life = edge_life(&steel(), None, &bare).unwrap();
    assert!((life.minutes - 9.665_406).abs() < 1e-6);
    let said = life.warnings.join("\n");
    assert!(
        said.contains("depth of cut is taken as 10 mm")
            && said.contains("width of cut is taken as 2 mm")
    );
    let plain = Taylor { feed: None, depth: None, width: None, ..taylor() };
    let plain = work(vec![EdgeEnd::FlankWear], Ok(vec![known(plain, 0.5)]));
    let said = edge_life(&plain, None, &cut(300.0)).unwrap().warnings;
    let counts: Vec<&String> = said.iter().filter(|s| s.contains("do not count")).collect();
    assert_eq!(counts.len(), 3, "{said:?}");
}

/// 4.2 min of cutting at a life of 90 min and one use (derived).
#[test]
fn cutters_for_a_part() {
    assert!((cutters_per_part(4.2, 90.0, 1.0).unwrap() - 4.2 / 90.0).abs() < 1e-15);
    assert!((cutters_per_part(4.2, 90.0, 4.0).unwrap() - 4.2 / 360.0).abs() < 1e-15);
    assert_eq!(cutters_per_part(0.0, 90.0, 1.0), Ok(0.0));
    assert!(cutters_per_part(1.0, 0.0, 1.0).is_err() && cutters_per_part(1.0, 9.0, 0.0).is_err());
    assert_eq!(whole_parts_per_edge(14.845_859, 56.0), Ok(3.0));
    assert_eq!(whole_parts_per_edge(60.0, 56.0), Ok(0.0));
    assert!(whole_parts_per_edge(0.0, 56.0).is_err());
}

#[test]
fn the_standards_criterion_names_its_limits_and_its_scope() {
    let words = iso_8688_2::CRITERION;
    assert!(words.contains(&format!("{} mm over", iso_8688_2::EVEN_FLANK_WEAR_MM)));
    assert!(words.contains(&format!("{} mm at one", iso_8688_2::LOCAL_FLANK_WEAR_MM)));
    assert!(words.contains("high-speed steel"));
}
