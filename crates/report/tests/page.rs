//! The document as a whole, on an outcome made up for the test.

use report::{InputFile, Provenance};
use study::outcome::*;
use units::Interval;

fn picture(step_mm: f64, top_um: f32) -> Picture {
    let (columns, rows) = (40_usize, 28_usize);
    let um = (0..columns * rows)
        .map(|i| {
            let (c, r) = ((i % columns) as f32 / 20.0 - 1.0, (i / columns) as f32 / 14.0 - 1.0);
            (c * c + r * r < 1.1).then_some(top_um * (0.7 + 0.3 * (c * 3.0).sin()))
        })
        .collect();
    let line = |y: f64| vec![[-70.0, y, 10.0], [0.0, y, 12.0], [70.0, y, 10.0]];
    let corners = [[-80.0, -55.0], [80.0, -55.0], [80.0, 55.0], [-80.0, 55.0]];
    let edges = (0..4).map(|i| [corners[i], corners[(i + 1) % 4]]).collect();
    Picture {
        passes_mm: (0..)
            .map(|i| -50.0 + step_mm * f64::from(i))
            .take_while(|y| *y <= 50.0)
            .map(line)
            .collect(),
        every: 1,
        border_mm: Vec::new(),
        edges_mm: edges,
        cusp: Some(PlanMap { origin_mm: [-80.0, -56.0], cell_mm: 4.0, columns, rows, um }),
        gouge: None,
        feed: (0..200).map(|i| [f64::from(i), 3000.0 - 900.0 * f64::from(i % 7 / 6)]).collect(),
    }
}

fn loads() -> Vec<Load> {
    vec![
        Load {
            kind: LoadKind::Force,
            mean: Some(40.0),
            peak: Some(120.0),
            peak_range: Some(Interval::new(90.0, 160.0)),
            limit: Some(400.0),
            limit_from: "bending of the neck".to_owned(),
            rms: None,
            rms_limit: None,
            surface: None,
            missing: None,
        },
        Load::missing(LoadKind::Deflection, "the holder's stiffness is not known"),
    ]
}

fn operation(cutter: &str, seconds: f64, step_mm: f64) -> OperationOutcome {
    OperationOutcome {
        name: "Finish crown".to_owned(),
        feature: "crown <top>".to_owned(),
        kind: "finish-face".to_owned(),
        cutter: cutter.to_owned(),
        pattern: "parallel".to_owned(),
        time: OperationTime {
            total_s: seconds,
            cutting_s: 0.9 * seconds,
            linking_s: 0.1 * seconds,
            programmed_s: 0.8 * seconds,
        },
        measured_time_s: None,
        feed_attainment: Some(0.89),
        data: CuttingData {
            rpm: 15_000.0,
            feed_per_tooth_mm: 0.12,
            contact_feed_mm_min: 3000.0,
            tip_feed_mm_min: Interval::new(2900.0, 3100.0),
            contact_speed_m_min: None,
            kappa_deg: Interval::new(14.0, 16.0),
        },
        path_mm: 12_345.0,
        tip_path_mm: 12_400.0,
        link_mm: 500.0,
        passes: 50,
        path_bound_mm: None,
        uncut_mm2: Some(0.0),
        stepover_mm: Some(Spread { min: step_mm, mean: step_mm, max: step_mm }),
        cusp: Cusp { cut_max_um: Some(3.3), limit_um: Some(3.5), ..Cusp::default() },
        gouge: Some(Gouge { depth_um: 0.1, place_mm: [1.0, 2.0, 3.0], by: "pass" }),
        roughness: vec![Roughness {
            parameter: "Ra".to_owned(),
            direction: "across".to_owned(),
            um: Interval::point(0.8),
            cutoff_mm: Some(0.8),
            note: Some("the cut-off hides most of a row this wide".to_owned()),
        }],
        closest_approach: None,
        loads: loads(),
        form_error: Some(FormError {
            left_um: Interval::new(3.5, 11.0),
            range_um: Interval::new(1.5, 26.0),
            limit_um: Some(20.0),
            by_height: vec![[1.0, 11.0], [6.0, 3.5]],
            rests_on: "force as an edge passes the wall".to_owned(),
        }),
        swarf: Swarf { verdict: vec!["chips of 9 mm leave".to_owned()], ..Swarf::default() },
        chatter: Chatter {
            modelled_from_rpm: Some(11_000.0),
            ap_limit_mm: Some(1.4),
            ap_mm: Some(0.4),
            margin: Some(3.5),
            better: None,
            lobes: vec![[10_000.0, 1.2], [12_000.0, 2.4], [14_000.0, 1.5]],
            lobes_band: vec![[10_000.0, 0.7, 1.9], [12_000.0, 1.0, 3.1], [14_000.0, 0.8, 2.2]],
            rests_on: "modes estimated from the stick-out".to_owned(),
        },
        roughed: None,
        headroom: Headroom {
            feed_factor: Some(1.3),
            next_limit: Some("chip thickness".to_owned()),
            binds: Some(("chip thickness".to_owned(), 0.77)),
        },
        life: Life {
            minutes: Some(80.0),
            criterion: "flank wear 0.3 mm".to_owned(),
            upper_bound: true,
            ..Life::default()
        },
        limits: vec![LimitShare {
            limit: "axis B acceleration".to_owned(),
            time_share: 0.4,
            worth_s: Some(12.0),
            relaxed_by: 1.25,
        }],
        warnings: vec!["clamps are not checked".to_owned()],
        broken: Vec::new(),
        unknown_limits: Vec::new(),
        picture: picture(step_mm, 3.0),
    }
}

fn process(name: &str, seconds: f64, step_mm: f64) -> ProcessOutcome {
    ProcessOutcome {
        name: name.to_owned(),
        time_s: seconds + 4.5,
        tool_change_s: 4.5,
        cost: vec![CostLine {
            what: "machine".to_owned(),
            per_part: Some(seconds * 85.0 / 3600.0),
            rests_on: "rate per hour times cycle time".to_owned(),
        }],
        cutters: 1,
        operations: vec![operation(name, seconds, step_mm)],
    }
}

fn claim(quantity: &str, value: f64, half: f64, like_for_like: bool) -> Claim {
    Claim {
        process: "large-arc".to_owned(),
        operation: None,
        quantity: quantity.to_owned(),
        like_for_like,
        differs: (!like_for_like).then(|| "cusp 5 µm instead of 3.3 µm".to_owned()),
        value,
        interval: Interval::new(value - half, value + half),
        confidence: 0.9,
        rests_on: vec!["acceleration by data sheet".to_owned()],
        split: (quantity == "time_saved_s").then_some(Split {
            stepover_s: 400.0,
            feed_s: -20.0,
            links_s: 30.0,
            machine_s: 10.0,
        }),
        settled_by: "a stopwatch on both programs".to_owned(),
    }
}

fn outcome() -> Outcome {
    Outcome {
        study: "Mast coupling & crown".to_owned(),
        part: "coupling.step".to_owned(),
        material: "en-aw-7075-t651".to_owned(),
        machine: "5-axis trunnion".to_owned(),
        currency: "EUR".to_owned(),
        confidence: 0.9,
        processes: vec![process("today", 580.0, 2.0), process("large-arc", 160.0, 8.0)],
        claims: vec![
            claim("time_saved_s", 420.0, 25.0, true),
            claim("time_saved_share", 0.72, 0.03, true),
        ],
        assumptions: vec![Assumed {
            key: "axis.X.jerk_m_s3".to_owned(),
            value: 60.0,
            range: Interval::new(20.0, 200.0),
            because: "not in the machine file; common practice, no source".to_owned(),
        }],
        warnings: Vec::new(),
    }
}

fn provenance() -> Provenance {
    Provenance {
        version: "0.1.0".to_owned(),
        date: "2026-01-01".to_owned(),
        inputs: vec![InputFile {
            role: "part".to_owned(),
            name: "coupling.step".to_owned(),
            bytes: 12,
            sha256: "00".repeat(32),
        }],
    }
}

#[test]
fn the_page_fetches_nothing() {
    let page = report::html(&outcome(), &provenance());
    for word in ["http:", "https:", "src=", "@import", "url("] {
        assert!(!page.contains(word), "{word}");
    }
}

#[test]
fn names_from_files_are_escaped() {
    let page = report::html(&outcome(), &provenance());
    assert!(page.contains("crown &lt;top&gt;") && !page.contains("crown <top>"));
    assert!(page.contains("Mast coupling &amp; crown"));
}

#[test]
fn what_was_not_computed_says_so_and_is_never_zero() {
    let page = report::html(&outcome(), &provenance());
    let row = page.split("shortest path possible").nth(1).expect("row");
    assert!(row[..200.min(row.len())].contains("not computed"));
}

#[test]
fn the_answer_stands_first_with_its_interval_and_kind() {
    let page = report::html(&outcome(), &provenance());
    let answer = page.find("saves a predicted").expect("answer");
    assert!(answer < page.find("Side by side").expect("table"));
    let end = page[answer..].find("</p>").expect("end");
    let words = &page[answer..answer + end];
    assert!(words.contains("72") && words.contains("69.0 to 75.0"), "{words}");
    assert!(words.contains("like for like"));
}

#[test]
fn a_claim_that_differs_in_quality_says_how() {
    let mut o = outcome();
    o.claims = vec![claim("time_saved_share", 0.72, 0.03, false)];
    let page = report::html(&o, &provenance());
    assert!(page.contains("quality differs") && page.contains("cusp 5 µm instead of 3.3 µm"));
}

#[test]
fn loads_stand_against_their_limits_and_say_why_they_are_missing() {
    let html = report::html(&outcome(), &provenance());
    assert!(html.contains("loads against their limits") && html.contains("bending of the neck"));
    assert!(html.contains("the holder&#39;s stiffness is not known"));
    assert!(html.contains("at most 80") && html.contains("stable depth over spindle speed"));
    assert!(html.contains("class=\"outside\""), "speeds that are not modelled are shaded");
    assert!(html.contains("<polygon class=\"band\""), "the limit is drawn with its interval");
    assert!(html.contains("left on the wall because the cutter gives way"));
    assert!(html.contains("3.5 to 11") && html.contains("tolerance 20"));
    assert!(html.contains("1.30 times the feed, then chip thickness"));
}

#[test]
fn every_page_carries_the_cautions_and_the_digests() {
    let page = report::html(&outcome(), &provenance());
    assert!(page.contains("qualified person") && page.contains(&"00".repeat(32)));
}

#[test]
fn the_same_outcome_gives_the_same_bytes() {
    assert_eq!(report::html(&outcome(), &provenance()), report::html(&outcome(), &provenance()));
}

#[test]
fn a_study_without_processes_still_gives_a_page() {
    let mut o = outcome();
    o.processes.clear();
    o.claims.clear();
    assert!(report::html(&o, &Provenance::default()).contains("holds no process"));
}
