//! The test program of a machine and the fit to its readings, at the command line.

mod program;

use program::call_in;
use std::fs;

/// A three-axis machine whose jerk nobody stated.
const MACHINE: &str = r#"
id = "small-mill"
layout = "XYZ"
block_time_ms = 1.0
path_tolerance_mm = 0.01
tool_change_s = 5.0
[axis.X]
travel_mm = [-200.0, 200.0]
max_feed_mm_min = 24000.0
accel_m_s2 = 4.0
[axis.Y]
travel_mm = [-200.0, 200.0]
max_feed_mm_min = 24000.0
accel_m_s2 = 4.0
[axis.Z]
travel_mm = [-400.0, 0.0]
max_feed_mm_min = 20000.0
accel_m_s2 = 3.0
[spindle]
max_rpm = 12000.0
"#;

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("machine.toml"), MACHINE).expect("written");
    folder
}

#[test]
fn the_test_program_marks_every_stretch_and_says_what_to_heed() {
    let folder = folder();
    let told = call_in(folder.path(), &["machine-test", "machine.toml", "--json"]);
    assert_eq!(told.status, 0, "{}", told.error);
    let written: serde_json::Value = serde_json::from_str(&told.output).expect("one document");
    assert_eq!(written["file"], "small-mill-test.nc");
    let motion_s = written["motion_s"].as_f64().expect("a time");
    assert!((300.0..=600.0).contains(&motion_s), "{motion_s}");
    let text = fs::read_to_string(folder.path().join("small-mill-test.nc")).expect("written");
    for line in written["stretches"].as_array().expect("stretches") {
        let name = line["test"].as_str().expect("a name");
        let start = text.find(&format!("(test {name})\nM0\n")).expect("the stretch begins");
        let end = text.find(&format!("M0\n(end {name})\n")).expect("the stretch ends");
        assert!(start < end);
    }
    for words in ["QUALIFIED PERSON", "DOOR CLOSED", "ROOM NEEDED", "G21 G90", "M30"] {
        assert!(text.contains(words), "{words}");
    }
    assert!(text.lines().all(|l| l.len() < 100));
}

#[test]
fn readings_that_are_wrong_are_refused_with_their_place() {
    let folder = folder();
    let cases = [
        ("test,seconds\nx-short,20\n", "8 at least"),
        ("test,seconds\nx-shirt,20\n", "times.csv:2:1"),
        ("x-short,fast\n", "times.csv:1:9"),
        ("x-short;-3\n", "times.csv:1:9"),
        ("x-short\n", "one field"),
        ("", "8 at least"),
    ];
    for (text, words) in cases {
        fs::write(folder.path().join("times.csv"), text).expect("written");
        let told = call_in(folder.path(), &["machine-fit", "machine.toml", "times.csv"]);
        assert_eq!(told.status, 2, "{text:?}: {}", told.error);
        assert!(told.error.contains(words), "{text:?}: {}", told.error);
        assert!(!folder.path().join("small-mill-fitted.toml").exists());
    }
    for (machine, words) in [("no-such", "there is no machine"), ("three-axis-12", "did you mean")]
    {
        let told = call_in(folder.path(), &["machine-test", machine]);
        assert_eq!(told.status, 2, "{}", told.error);
        assert!(told.error.contains(words), "{}", told.error);
    }
}
