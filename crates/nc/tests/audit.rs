//! Audits: the parts add up, limits and stretches name what they should.

mod shop;

use nc::{Audit, AuditOptions};
use shop::{machine, read};

const HEAD: &str = "G21 G17 G90 G94\nT1 M6\nS8000 M3\n";

fn audit(text: &str) -> Audit {
    nc::audit(&read(text), &machine("XYZ"), &AuditOptions::default()).expect("drivable")
}

fn body(text: &str) -> Audit {
    audit(&format!("{HEAD}{text}\nG91 G28 Z0.\nM30\n"))
}

fn zigzag(step: f64, count: usize, feed: f64) -> String {
    let mut text = format!("G0 X0. Y0. Z2.\nG1 Z0. F{feed}\n");
    for i in 1..=count {
        let y = if i % 2 == 0 { 0.0 } else { step };
        text += &format!("X{:.3} Y{y:.3}\n", step * i as f64);
    }
    text
}

#[test]
fn parts_add_up_to_the_total_and_shares_to_one() {
    let audit = body(&format!(
        "{}G4 X2.\nM5\nT2 M6\nS5000 M3\nG0 X5.\nG1 X9. F100.",
        zigzag(0.5, 50, 3000.0)
    ));
    let t = audit.time;
    let sum = t.cutting_s + t.rapid_s + t.tool_change_s + t.dwell_s + t.other_s;
    assert!((sum - t.total_s).abs() < 1e-9);
    assert_eq!((t.tool_change_s, t.dwell_s), (9.0, 2.0));
    let shares: f64 = audit.limits.iter().map(|l| l.time_share).sum();
    assert!((shares - 1.0).abs() < 1e-9, "{shares}");
    assert!(t.low_s < t.total_s && t.total_s < t.high_s);
    let tools: f64 = audit.tools.iter().map(|tool| tool.time_s).sum();
    assert!((tools - t.total_s).abs() < 1e-9, "the first rapid is under tool 1");
    assert_eq!(audit.tools.iter().map(|tool| tool.number).collect::<Vec<_>>(), [1, 2]);
    let worth = |name: &str| audit.limits.iter().find(|l| l.limit == name).and_then(|l| l.worth_s);
    assert!((worth("tool change").expect("known") - 1.8).abs() < 1e-9);
    assert!(audit.limits.iter().all(|l| !l.because.is_empty()));
}

#[test]
fn a_long_move_attains_its_feed_and_a_zigzag_does_not() {
    let long = body("G0 X0. Y0. Z0.\nG1 X290. F600.");
    assert!(long.feed_attainment.expect("cuts") > 0.98);
    let first = long.limits.iter().find(|l| l.limit == "programmed feed").expect("it rules");
    // 29 s at 600 mm/min; a quarter more feed saves a fifth
    assert!((first.worth_s.expect("examined") - 5.8).abs() < 0.1);
    assert!(first.because.contains("600 to 750 mm/min"), "{}", first.because);
    let zigzag = body(&zigzag(0.5, 400, 6000.0));
    assert!(zigzag.feed_attainment.expect("cuts") < 0.6);
    let worst = &zigzag.worst[0];
    assert!(worst.lost_s() > 0.0 && worst.limit_share > 0.3, "{worst:?}");
    assert!(worst.lines[0] >= 6 && worst.lines[1] <= 406, "{worst:?}");
    assert!(worst.because.contains("instead of 6000 mm/min"), "{}", worst.because);
    assert!(zigzag.worst.windows(2).all(|w| w[0].lost_s() >= w[1].lost_s()));
}

#[test]
fn the_worst_stretch_is_the_one_that_crawls() {
    let text = format!(
        "G0 X0. Y0. Z0.\nG1 X200. F3000.\nG0 Z5.\n{}G0 Z5.\nG1 X0. F3000.",
        zigzag(0.2, 300, 3000.0)
    );
    let audit = body(&text);
    let lines = audit.worst[0].lines;
    assert!(lines[0] >= 8 && lines[1] <= 308, "{lines:?}");
}

#[test]
fn travel_is_said_by_line_axis_and_distance() {
    let audit = body("G0 X0. Y0. Z2.\nG1 X310.5 F5000.\nX0.\nG0 Z-150.\nG0 Z5.");
    let said: Vec<String> = audit.exceeded.iter().map(ToString::to_string).collect();
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(
        said[0].starts_with("line 5: axis X") && said[0].contains("10.500 mm beyond"),
        "{said:?}"
    );
    assert!(
        said[1].starts_with("line 7: axis Z") && said[1].contains("50.000 mm beyond"),
        "{said:?}"
    );
}

#[test]
fn feed_over_time_and_path_cover_the_program() {
    let audit = body(&format!("{}G2 X30. Y0. R40.\nG0 X0. Z10.", zigzag(0.5, 50, 3000.0)));
    let last = audit.feed.last().expect("steps").until_s;
    assert!((last - audit.time.total_s).abs() < 1e-9);
    assert!(audit.feed.windows(2).all(|w| w[0].until_s < w[1].until_s));
    assert!(audit.path.pieces.iter().any(|p| p.limit.is_none()), "rapids are drawn");
    let drawn = audit.path.pieces.iter().filter_map(|p| p.limit).max().expect("cuts");
    assert!(drawn < audit.path.limits.len());
}

#[test]
fn an_empty_program_takes_no_time() {
    let audit = audit("%\n%\n");
    assert_eq!(audit.time.total_s, 0.0);
    assert_eq!((audit.moves, audit.feed_attainment), (0, None));
    assert!(audit.limits.iter().all(|l| l.time_share.is_finite()));
}

#[test]
fn a_long_program_is_answered_for_by_its_pieces() {
    for count in [4000, 13_000] {
        let mut text = "G0 X0. Y0. Z0.\nG1 F3000. X0.1\n".to_owned();
        for i in 0..count {
            let (angle, radius) = (0.02 * f64::from(i), 50.0 + 0.001 * f64::from(i));
            let (x, y) = (radius * angle.cos(), radius * angle.sin());
            text += &format!("X{x:.3} Y{y:.3} Z{:.3}\n", 2.0 * (5.0 * angle).sin());
        }
        let audit = body(&text);
        let saved = audit.limits.iter().filter_map(|l| l.worth_s);
        let total_s = audit.time.total_s;
        assert!(saved.into_iter().all(|s| s > -0.01 * total_s && s < 0.3 * total_s));
        let t = audit.time;
        assert!(t.low_s > 0.7 * t.total_s && t.high_s < 1.5 * t.total_s, "{t:?}");
    }
}
