//! A cutter names frequency responses that were measured at its tip.

const STUDY: &str = include_str!("data/study.toml");
const MACHINE: &str = include_str!("data/machine.toml");
const CUTTERS: &str = include_str!("data/cutters.toml");

/// One mode of 1000 Hz, damping 0.02, 2e7 N/m.
fn table() -> String {
    let row = |i: u32| {
        let hz = 500.0 + 10.0 * f64::from(i);
        let ratio = hz / 1000.0;
        let (re, im) = (1.0 - ratio * ratio, 0.04 * ratio);
        let size = 2e7 * (re * re + im * im);
        format!("{hz},{:e},{:e}\n", re / size, -im / size)
    };
    (0..120).map(row).collect()
}

fn read(named: &str, csv: &str) -> Result<study::Study, study::Rejected> {
    let text = STUDY.replacen("[[cutter]]\n", &format!("[[cutter]]\n{named}\n"), 1);
    assert_ne!(text, STUDY);
    let files = |path: &str| match path {
        "machine.toml" => Some(MACHINE.as_bytes().to_vec()),
        "cutters.toml" => Some(CUTTERS.as_bytes().to_vec()),
        "tip.csv" => Some(csv.as_bytes().to_vec()),
        _ => None,
    };
    study::read::study(text.as_bytes(), "study.toml", &files)
}

#[test]
fn a_response_is_read_for_the_axis_that_names_it() {
    let study = read("frf_x = \"tip.csv\"", &table()).unwrap_or_else(|e| panic!("{e}"));
    let found = study.cutters.iter().find(|c| c.response.x.is_some()).expect("the response");
    assert!(found.response.y.is_none());
    let tip = found.response.x.as_ref().expect("the response");
    assert_eq!(tip.file, "tip.csv");
    let at = tip.response.response(1000.0 * std::f64::consts::TAU).expect("in the band");
    // derived: 1/(2 ζ k) in mm/N
    assert!((at.norm() / 1.25e-3 - 1.0).abs() < 1e-9, "{at}");
}

#[test]
fn faults_are_told_where_they_are() {
    let missing = read("frf_y = \"tap.csv\"", "").expect_err("no such file").to_string();
    assert!(missing.contains("study.toml:") && missing.contains("\"tap.csv\""), "{missing}");
    let broken = table().replacen("510,", "510;x,", 1);
    let told = read("frf_x = \"tip.csv\"", &broken).expect_err("a word").diagnostics;
    assert_eq!((told[0].file.as_str(), told[0].line), ("tip.csv", 2), "{told:?}");
    let unsorted = table().replacen("530,", "505,", 1);
    let told = read("frf_x = \"tip.csv\"", &unsorted).expect_err("unsorted").diagnostics;
    assert_eq!((told[0].file.as_str(), told[0].line, told[0].column), ("tip.csv", 4, 1));
    let number = read("frf_x = 5", "").expect_err("a number").to_string();
    assert!(number.contains("frf_x"), "{number}");
}
