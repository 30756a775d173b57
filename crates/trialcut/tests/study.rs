//! From a part to a comparison at the command line: documents, statuses, and what a wrong input
//! is told. Nothing is written where the status is 2.

#![allow(clippy::unwrap_used, reason = "a test may unwrap")]

mod program;

use program::{Told, call_in};
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// A block of 20 × 12 × 6 mm.
const BLOCK: &str = "\
v 0 0 0\nv 20 0 0\nv 20 12 0\nv 0 12 0\nv 0 0 6\nv 20 0 6\nv 20 12 6\nv 0 12 6
f 4 3 2 1\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8\n";

const STUDY: &str = r#"
[study]
name = "Block"
machine = "trunnion-15k"

[part]
file = "block.obj"
unit = "mm"
material = "c45"

[[feature]]
name = "top"
kind = "face"
select = { near_mm = [10.0, 6.0, 6.0] }
cusp_um = 30.0

[[process]]
name = "today"
[[process.operation]]
name = "Finish top"
feature = "top"
kind = "finish-face"
cutter = "ball-8"
axis = "tilted"
stepover_mm = 0.6
rpm = 12000
feed_per_tooth_mm = 0.1

[[process]]
name = "wider"
[[process.operation]]
name = "Finish top"
feature = "top"
kind = "finish-face"
cutter = "ball-8"
axis = "tilted"
stepover_mm = 1.2
rpm = 12000
feed_per_tooth_mm = 0.1

[[cutter]]
id = "ball-8"
form = "ball"
diameter_mm = 8.0
teeth = 2
flute_length_mm = 16.0
overall_length_mm = 80.0
shank_diameter_mm = 8.0
stickout_mm = 40.0
"#;

fn folder(study: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("block.obj"), BLOCK).unwrap();
    fs::write(folder.path().join("study.toml"), study).unwrap();
    folder
}

fn document(told: &Told) -> serde_json::Value {
    serde_json::from_str(&told.output).unwrap_or_else(|e| panic!("{e}: {}", told.output))
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

#[test]
fn a_comparison_is_one_document_the_same_for_any_number_of_threads() {
    let folder = folder(STUDY);
    let one = call_in(folder.path(), &["compare", "study.toml", "--json", "--threads", "1"]);
    assert_eq!(one.status, 0, "{}", one.error);
    let two = call_in(folder.path(), &["compare", "study.toml", "--json", "--threads", "2"]);
    assert_eq!(one.output, two.output);
    let found = document(&one);
    assert_eq!(found["study"], "Block");
    assert_eq!(found["processes"][1]["name"], "wider");
    let operation = &found["processes"][0]["operations"][0];
    for key in ["total", "cutting", "linking", "programmed"] {
        assert!(operation["time_s"][key].as_f64().is_some_and(|t| t > 0.0), "time {key}");
    }
    let cusp = operation["cusp_um"]["cut_max"].as_f64().unwrap();
    // ball of 4 mm at 0.6 mm on a flat: 11.266 um at most; the last strips are evened out
    assert!((9.0..11.4).contains(&cusp), "{cusp}");
    let positive = |value: &serde_json::Value| value.as_f64().is_some_and(|v| v > 0.0);
    for key in ["chip_width_mm", "chip_length_mm", "volume_cm3", "bulk_volume_cm3"] {
        assert!(positive(&operation["swarf"][key]), "{key} in {}", operation["swarf"]);
    }
    for key in ["force_n", "torque_nm", "power_kw", "chip_thickness_um"] {
        let load = &operation["load"][key];
        assert!(positive(&load["mean"]) && positive(&load["peak"]), "{key}: {load}");
    }
    assert!(positive(&operation["headroom"]["feed_factor"]));
    assert!(found["claims"].as_array().is_some_and(|c| !c.is_empty()));
}

#[test]
fn a_broken_limit_is_status_3_only_when_asked_and_tables_are_written() {
    let folder = folder(&STUDY.replace("cusp_um = 30.0", "cusp_um = 5.0"));
    let mild = call_in(folder.path(), &["compare", "study.toml"]);
    assert_eq!(mild.status, 0, "{}", mild.error);
    assert!(mild.output.contains("predicted"), "{}", mild.output);
    assert!(mild.output.contains("Limits that are broken"), "{}", mild.output);
    let strict =
        call_in(folder.path(), &["compare", "study.toml", "--strict", "--json", "--out", "tables"]);
    assert_eq!(strict.status, 3, "{}", strict.error);
    document(&strict);
    let tables = names(&folder.path().join("tables"));
    assert_eq!(tables, ["claims.csv", "limits.csv", "operations.csv", "processes.csv"]);
    let operations = fs::read_to_string(folder.path().join("tables/operations.csv")).unwrap();
    assert_eq!(operations.lines().count(), 3);
}

#[test]
fn what_a_check_lacks_is_named_and_fails_it() {
    let folder = folder(STUDY);
    let strict = call_in(folder.path(), &["compare", "study.toml", "--strict", "--json"]);
    assert_eq!(strict.status, 3, "{}", strict.error);
    let operation = &document(&strict)["processes"][0]["operations"][0];
    let lines = operation["unknown_limits"].as_array().unwrap();
    for key in ["max_rpm", "runout_um"] {
        let line = lines.iter().filter_map(|l| l.as_str()).find(|l| l.contains(key));
        assert!(
            line.is_some_and(|l| l.contains("so that") && l.contains("give ")),
            "{key}: {lines:?}"
        );
    }
    // a leaned ball on a face makes no wall
    assert!(operation["form_error_um"].is_null());
    let lobe = &operation["chatter"]["lobes"][0];
    assert!(lobe["low_mm"].as_f64() <= lobe["high_mm"].as_f64(), "{lobe}");
}

#[test]
fn a_report_is_one_file_that_names_its_inputs() {
    let folder = folder(STUDY);
    let told = call_in(folder.path(), &["report", "study.toml", "--out", "out/block.html"]);
    assert_eq!(told.status, 0, "{}", told.error);
    let page = fs::read_to_string(folder.path().join("out/block.html")).unwrap();
    assert!(page.contains("block.obj") && page.contains("predicted"));
    let paper = call_in(folder.path(), &["report", "study.toml", "--out", "out/block.pdf"]);
    assert_eq!(paper.status, 0, "{}", paper.error);
    assert!(fs::read(folder.path().join("out/block.pdf")).unwrap().starts_with(b"%PDF-"));
    let refused = call_in(folder.path(), &["report", "study.toml", "--out", "block.docx"]);
    assert_eq!(refused.status, 2);
    assert!(refused.error.contains(".html"), "{}", refused.error);
}

#[test]
fn an_inspection_lists_faces_size_and_volume_in_either_unit() {
    let folder = folder(STUDY);
    let mm = document(&call_in(folder.path(), &["inspect", "block.obj", "--json"]));
    assert_eq!(mm["faces"].as_array().map(Vec::len), Some(6));
    assert_eq!(mm["size_mm"], serde_json::json!([20.0, 12.0, 6.0]));
    assert!((mm["volume_mm3"].as_f64().unwrap() - 1440.0).abs() < 1e-9);
    assert_eq!(mm["faces"][0]["kind"], "plane");
    assert!(mm["faces"][0]["arc_radius_max_mm"].is_null(), "flat: every arc fits");
    let inch = call_in(folder.path(), &["inspect", "block.obj", "--unit", "inch", "--json"]);
    let width = document(&inch)["size_mm"][0].as_f64().unwrap();
    assert!((width - 508.0).abs() < 1e-9, "{width}");
    assert_eq!(call_in(folder.path(), &["inspect", "block.obj", "--unit", "furlong"]).status, 2);
    assert_eq!(call_in(folder.path(), &["inspect", "none.stl"]).status, 2);
}

#[test]
fn an_open_part_is_inspected_with_its_defects_but_not_milled_there() {
    let folder = folder(STUDY);
    // the top has lost its triangles' neighbour: one side is missing
    let open = BLOCK.replace("f 1 2 6 5\n", "");
    fs::write(folder.path().join("block.obj"), open).unwrap();
    let told = call_in(folder.path(), &["inspect", "block.obj", "--json"]);
    assert_eq!(told.status, 0, "{}", told.error);
    let found = document(&told);
    assert!(found["defects"].as_array().is_some_and(|d| !d.is_empty()));
    assert!(found["volume_mm3"].is_null());
    let refused = call_in(folder.path(), &["compare", "study.toml"]);
    assert_eq!(refused.status, 2, "{}", refused.output);
    assert!(refused.error.contains("study.toml:"), "{}", refused.error);
}

#[test]
fn a_new_study_of_a_part_reads_as_it_stands() {
    let folder = folder(STUDY);
    let made = call_in(
        folder.path(),
        &["new", "fresh", "--part", "block.obj", "--material", "c45", "--json"],
    );
    assert_eq!(made.status, 0, "{}", made.error);
    document(&made);
    let written = names(&folder.path().join("fresh"));
    assert_eq!(written, ["block.obj", "cutters.toml", "machine.toml", "study.toml"]);
    // a block has no curved face: the study reads, and says that a process is missing
    let told = call_in(folder.path(), &["compare", "fresh/study.toml"]);
    assert_eq!(told.status, 2);
    assert!(told.error.contains("no process"), "{}", told.error);
    let again = call_in(folder.path(), &["new", "fresh", "--part", "block.obj"]);
    assert_eq!(again.status, 2);
    let unknown =
        call_in(folder.path(), &["new", "b", "--part", "block.obj", "--machine", "trunion-15k"]);
    assert_eq!(unknown.status, 2);
    assert!(unknown.error.contains("did you mean \"trunnion-15k\""), "{}", unknown.error);
    assert!(!folder.path().join("b").exists(), "nothing is written");
}

#[test]
fn every_wrong_study_is_status_2_with_place_expectation_and_remedy() {
    let cases = [
        ("file = \"block.obj\"", "file = \"blok.obj\"", "study.toml:7:8", "beside the study"),
        ("near_mm = [10.0, 6.0, 6.0]", "near_mm = [500.0, 6.0, 6.0]", "selects nothing", "inspect"),
        ("near_mm = [10.0, 6.0, 6.0]", "faces = [99]", "face 99", "inspect"),
        ("stepover_mm = 0.6", "stepover_mm = -0.6", "study.toml:25:15", "minus sign"),
        ("rpm = 12000", "rpm = nan", "NaN", "finite"),
        ("diameter_mm = 8.0", "diameter_mm = 1200.0", "study.toml:44:15", "inches"),
        ("cutter = \"ball-8\"", "cutter = \"ball-9\"", "study.toml:23:10", "did you mean"),
        ("machine = \"trunnion-15k\"", "machine = \"machine.toml\"", "no machine file", "beside"),
        ("teeth = 2", "teeths = 2", "`teeths` is not a key", "`teeth`"),
        ("unit = \"mm\"", "unit = \"furlong\"", "study.toml:8:8", "one of these"),
    ];
    for (sound, faulty, place, remedy) in cases {
        let folder = folder(&STUDY.replacen(sound, faulty, 1));
        let told = call_in(folder.path(), &["compare", "study.toml", "--json", "--out", "tables"]);
        assert_eq!(told.status, 2, "{faulty}: {}{}", told.output, told.error);
        assert!(told.output.is_empty(), "{faulty} wrote {}", told.output);
        for word in [place, remedy, "expected:", "to do:", "study.toml:"] {
            assert!(told.error.contains(word), "{faulty} lacks {word}: {}", told.error);
        }
        assert_eq!(
            names(folder.path()),
            ["block.obj", "study.toml"],
            "{faulty}: nothing is written"
        );
    }
}

#[test]
fn part_files_that_are_none_are_refused_by_every_command() {
    let files: [(&str, &[u8]); 6] = [
        ("empty.step", b""),
        ("noise.stl", &[0x00, 0xff, 0x13, 0x37, 0x00]),
        ("cut.step", b"ISO-10303-21;\nHEADER;\nFILE_DESC"),
        ("cut.stl", b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0"),
        ("huge.obj", b"v 1e300 0 0\nv 0 1e300 0\nv 0 0 1e300\nf 1 2 3\n"),
        ("words.ply", b"ply\nformat ascii 1.0\nelement vertex many\nend_header\n"),
    ];
    for (name, bytes) in files {
        let folder = folder(&STUDY.replace("block.obj", name));
        fs::write(folder.path().join(name), bytes).unwrap();
        for arguments in
            [vec!["inspect", name], vec!["compare", "study.toml"], vec!["new", "n", "--part", name]]
        {
            let told = call_in(folder.path(), &arguments);
            assert_eq!(told.status, 2, "{arguments:?} on {name}: {}{}", told.output, told.error);
            assert!(told.error.contains(name), "{arguments:?}: {}", told.error);
        }
    }
}

#[test]
fn every_command_helps_with_an_example() {
    for command in [
        "demo",
        "new",
        "inspect",
        "compare",
        "report",
        "calc",
        "program",
        "audit",
        "machine-test",
        "machine-fit",
        "cutter-set",
    ] {
        let told = call_in(Path::new("."), &[command, "--help"]);
        assert_eq!(told.status, 0);
        assert!(told.output.contains("Example:\n  trialcut "), "{command}: {}", told.output);
        assert!(told.output.contains("--json"), "{command}");
    }
    assert_eq!(call_in(Path::new("."), &[]).status, 2);
    assert_eq!(call_in(Path::new("."), &["compere"]).status, 2);
}

#[test]
fn a_program_is_written_and_its_audit_finds_the_time_that_was_predicted() {
    let folder = folder(STUDY);
    let told = call_in(
        folder.path(),
        &["program", "study.toml", "--process", "today", "--out", "nc", "--json"],
    );
    assert_eq!(told.status, 0, "{}", told.error);
    let written: serde_json::Value = serde_json::from_str(&told.output).unwrap();
    let predicted = written["operations"][0]["predicted_s"].as_f64().unwrap();
    let text = fs::read_to_string(folder.path().join("nc/today.nc")).unwrap();
    assert!(text.contains("QUALIFIED PERSON") && text.contains("NOT MEASURED"), "{text}");
    let location = fs::read_to_string(folder.path().join("nc/today.cl")).unwrap();
    assert!(location.starts_with("PARTNO/") && location.ends_with("FINI\n"));
    let told =
        call_in(folder.path(), &["audit", "nc/today.nc", "--machine", "trunnion-15k", "--json"]);
    assert_eq!(told.status, 0, "{}", told.error);
    let audit: serde_json::Value = serde_json::from_str(&told.output).unwrap();
    let time = |key: &str| audit["time_s"][key].as_f64().unwrap();
    // the audit also counts the way from the reference point and back up
    let moving = time("cutting") + time("rapid");
    assert!(moving > 0.999 * predicted && moving < predicted + 4.0, "{moving} {predicted}");
}

#[test]
fn a_process_that_is_not_there_is_named_beside_those_that_are() {
    let folder = folder(STUDY);
    let told = call_in(folder.path(), &["program", "study.toml", "--process", "toady"]);
    assert_eq!(told.status, 2);
    assert!(told.error.contains("did you mean \"today\""), "{}", told.error);
    assert!(!folder.path().join("program").exists());
}

/// The block as a stock file, larger by `by` mm all round, with one vertex written as `first`.
fn grown(by: f64, first: &str) -> String {
    let corner = |k: usize, axis: usize, hi: f64| if k >> axis & 1 == 1 { hi + by } else { -by };
    let order = [0b000, 0b001, 0b011, 0b010, 0b100, 0b101, 0b111, 0b110];
    let line = |k: &usize| {
        format!("v {} {} {}\n", corner(*k, 0, 20.0), corner(*k, 1, 12.0), corner(*k, 2, 6.0))
    };
    let mut lines: Vec<String> = order.iter().map(line).collect();
    if !first.is_empty() {
        lines[0] = format!("v {first}\n");
    }
    let faces = &BLOCK[BLOCK.find("f 4").unwrap()..];
    lines.concat() + faces
}

#[test]
fn a_stock_file_that_will_not_do_is_told_with_place_and_remedy() {
    let folder = TempDir::new().unwrap();
    let at = |name: &str| folder.path().join(name);
    let whole = grown(1.0, "");
    fs::write(at("block.obj"), BLOCK).unwrap();
    fs::create_dir(at("folder.obj")).unwrap();
    let missing_face = whole.replace("f 5 6 7 8\n", "");
    for (name, text) in [
        ("empty.obj", ""),
        ("open.obj", missing_face.as_str()),
        ("nan.obj", &grown(1.0, "nan 0 0")),
        ("huge.obj", &grown(1.0, "-1e9 -1 -1")),
        ("small.obj", &grown(-2.0, "")),
        ("cut.obj", &whole[..20]),
        ("named.stl", &whole),
        ("words.xyz", "hello\n"),
        ("good.obj", &whole),
    ] {
        fs::write(at(name), text).unwrap();
    }
    for (stock, says, remedy) in [
        ("none.obj", "there is no file", "put it beside"),
        ("empty.obj", "is empty", "export it again"),
        ("open.obj", "surface is open", "mend the mesh"),
        ("nan.obj", "line 1: a coordinate is not a finite number", "exporter's scale"),
        ("huge.obj", "coordinate 1000000000 mm is not the size of a part", "check the unit"),
        ("small.obj", "out of stock \"small.obj\"", "in the part's coordinates and unit"),
        ("cut.obj", "cut.obj", "to do:"),
        ("named.stl", "the content is OBJ, the name says stl", "right ending"),
        ("words.xyz", "what kind of part this is", "export it again"),
        ("folder.obj", "cannot be read", "name a file"),
    ] {
        let stock =
            format!("material = \"c45\"\nstock = {{ shape = \"file\", file = \"{stock}\" }}");
        fs::write(at("study.toml"), STUDY.replace("material = \"c45\"", &stock)).unwrap();
        let told = call_in(folder.path(), &["report", "study.toml", "--out", "a.html"]);
        assert_eq!((told.status, told.output.as_str()), (2, ""), "{stock}: {}", told.error);
        let all = [says, remedy, "study.toml:", "expected"];
        assert!(all.iter().all(|s| told.error.contains(s)), "{stock}: {}", told.error);
        assert!(!at("a.html").exists(), "{stock}");
    }
}
