//! The audit of a program at the command line: documents, statuses, and what a wrong program is
//! told.

#![allow(clippy::unwrap_used, reason = "a test may unwrap")]

mod program;

use program::{Told, call_in};
use serde_json::Value;
use std::fs;
use tempfile::TempDir;

const PROGRAM: &str = "%
O1000 (BRACKET)
G21 G17 G90 G94
T1 M6
S9000 M3
M8
G0 X0. Y0. Z50.
G1 Z0. F1200.
X100. F3000.
G3 X100. Y20. I0. J10.
G1 X0.
G4 X1.5
G0 Z50.
T2 M6
S4000 M3
G99 G81 X10. Y10. Z-8. R2. F400.
X40.
G80
M1
M61
G91 G28 Z0.
M30
%
";

fn folder(program: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("part.nc"), program).unwrap();
    folder
}

fn audit(folder: &TempDir, more: &[&str]) -> Told {
    let call = ["audit", "part.nc", "--machine", "three-axis-12k"];
    call_in(folder.path(), &[&call, more].concat())
}

fn document(told: &Told) -> Value {
    serde_json::from_str(&told.output).unwrap_or_else(|e| panic!("{e}: {}", told.error))
}

#[test]
fn the_document_holds_times_tools_limits_and_what_was_not_read() {
    let folder = folder(PROGRAM);
    let told = audit(&folder, &["--json"]);
    assert_eq!(told.status, 0, "{}", told.error);
    let d = document(&told);
    let time = |key: &str| d["time_s"][key].as_f64().unwrap();
    let parts = ["cutting", "rapid", "tool_change", "dwell", "other"].map(time);
    assert!((parts.iter().sum::<f64>() - time("total")).abs() < 1e-9);
    assert_eq!((time("tool_change"), time("dwell")), (8.0, 1.5));
    assert!(time("low") < time("total") && time("total") < time("high"));
    // 100 mm and half a circle of 10 mm twice over at 3000, the rest at 1200 and 400 mm/min
    let feeds = 50.0 / 20.0 + (200.0 + 10.0 * std::f64::consts::PI) / 50.0 + 20.0 / (400.0 / 60.0);
    assert!((time("programmed") - feeds).abs() < 1e-9, "{} {feeds}", time("programmed"));
    assert_eq!((d["blocks"].as_u64(), d["moves"].as_u64()), (Some(20), Some(14)));
    let tools: Vec<u64> =
        d["tools"].as_array().unwrap().iter().map(|t| t["number"].as_u64().unwrap()).collect();
    assert_eq!(tools, [1, 2]);
    let shares: f64 =
        d["limits"].as_array().unwrap().iter().map(|l| l["time_share"].as_f64().unwrap()).sum();
    assert!((shares - 1.0).abs() < 1e-9);
    let unread = d["unread"].as_array().unwrap();
    assert_eq!(unread.len(), 1);
    assert_eq!((unread[0]["line"].as_u64(), unread[0]["text"].as_str()), (Some(20), Some("M61")));
    assert!(unread[0]["why"].as_str().unwrap().contains("not known"));
}

#[test]
fn the_text_says_where_the_time_goes() {
    let folder = folder(PROGRAM);
    let told = audit(&folder, &[]);
    assert_eq!(told.status, 0, "{}", told.error);
    for says in [
        "part.nc on 3-axis vertical, 12 000 rpm: 20 blocks, 14 moves",
        "total, predicted",
        "% confidence",
        "per tool",
        "programmed feed",
        "raising every F by 25 %",
        "line 20: M61: this M word is not known",
        "they are not measured",
    ] {
        assert!(told.output.contains(says), "{says}: {}", told.output);
    }
}

#[test]
fn travel_ends_with_three_where_strictness_is_asked_for() {
    let folder = folder(&PROGRAM.replace("X0.\nG4", "X-450.25\nG4"));
    let loose = audit(&folder, &[]);
    assert_eq!(loose.status, 0, "{}", loose.error);
    let told =
        "line 11: axis X has to go to -450.250 mm, 50.250 mm beyond its travel to -400.000 mm";
    assert!(loose.output.contains(told), "{}", loose.output);
    let strict = audit(&folder, &["--strict", "--json"]);
    assert_eq!(strict.status, 3);
    let first = document(&strict)["travel_exceeded"][0].clone();
    assert_eq!((first["line"].as_u64(), first["axis"].as_str()), (Some(11), Some("X")));
}

#[test]
fn a_wrong_program_is_refused_with_its_place_and_writes_nothing() {
    let folder = folder(&PROGRAM.replace("I0. J10.", "I0. J12."));
    let told = audit(&folder, &["--report", "audit.html", "--json"]);
    assert_eq!((told.status, told.output.as_str()), (2, ""));
    let expected = "\
error: part.nc:10:15: the end of the arc misses its circle by 4.0000 mm: radius 12.0000 mm at the start, 8.0000 mm at the end
    ╭─[part.nc:10:15]
  9 │ X100. F3000.
 10 │ G3 X100. Y20. I0. J12.
    ·               ─┬─
    ·                ╰── here
 11 │ G1 X0.
    ╰────
  expected: at most 0.02 mm
  to do: check whether I, J, K count from the start or from program zero, and the plane (G17, G18, G19)
";
    assert_eq!(told.error.trim_end(), expected.trim_end());
    assert!(!folder.path().join("audit.html").exists());
}

#[test]
fn wrong_calls_say_what_was_expected() {
    let folder = folder(PROGRAM);
    let call = |arguments: &[&str]| call_in(folder.path(), arguments);
    for (arguments, says) in [
        (vec!["audit", "none.nc", "--machine", "three-axis-12k"], "no such file"),
        (vec!["audit", "part.nc", "--machine", "three-axis"], "did you mean \"three-axis-12k\"?"),
        (vec!["audit", "part.nc"], "--machine"),
        (
            vec!["audit", "part.nc", "--machine", "three-axis-12k", "--dialect", "z"],
            "--dialect is \"z\"",
        ),
        (
            vec!["audit", "part.nc", "--machine", "three-axis-12k", "--offset", "G55"],
            "as G55=100,0,0",
        ),
        (
            vec!["audit", "part.nc", "--machine", "three-axis-12k", "--report", "x.docx"],
            "ends in .html or .pdf",
        ),
    ] {
        let told = call(&arguments);
        assert_eq!(told.status, 2, "{arguments:?}");
        assert!(told.error.contains(says), "{arguments:?}: {}", told.error);
    }
}

#[test]
fn the_page_ranks_stretches_first_and_draws_feed_and_path() {
    let folder = folder(PROGRAM);
    let told = audit(&folder, &["--report", "audit.html"]);
    assert_eq!(told.status, 0, "{}", told.error);
    let page = fs::read_to_string(folder.path().join("audit.html")).unwrap();
    let paper = audit(&folder, &["--report", "audit.pdf"]);
    assert_eq!(paper.status, 0, "{}", paper.error);
    assert!(fs::read(folder.path().join("audit.pdf")).unwrap().starts_with(b"%PDF-"));
    let at = |text: &str| page.find(text).unwrap_or_else(|| panic!("{text}"));
    let order = [
        "Predicted",
        "Stretches that lose most",
        "What holds the time",
        "Feed over time",
        "The path and its limits",
        "Not followed",
        "What the numbers rest on",
        "Cautions",
    ];
    assert!(order.windows(2).all(|w| at(w[0]) < at(w[1])));
    assert_eq!(page.matches("<svg").count(), 2);
    assert!(!page.contains("NaN") && !page.contains("http"));
}

#[test]
fn another_program_zero_needs_its_offset() {
    let folder = folder(&PROGRAM.replace("T2 M6", "G55 T2 M6").replace("T1 M6", "G54 T1 M6"));
    let refused = audit(&folder, &[]);
    assert_eq!(refused.status, 2);
    assert!(refused.error.contains("part.nc:14:1: G55 after G54"), "{}", refused.error);
    let given = audit(&folder, &["--offset", "G55=50,0,0"]);
    assert_eq!(given.status, 0, "{}", given.error);
}

#[test]
fn tools_outside_the_list_are_named() {
    let folder = folder(PROGRAM);
    let told = audit(&folder, &["--tools", "1,3"]);
    assert_eq!(told.status, 0, "{}", told.error);
    let says = "line 14: T2: this tool is not in the list of tools";
    assert!(told.output.contains(says), "{}", told.output);
    assert!(!audit(&folder, &["--tools", "1,2"]).output.contains("list of tools"));
}

#[test]
fn loops_are_followed_and_what_only_the_control_knows_may_be_told() {
    let loops = "G1 Z0. F1200.\n#1=0\nWHILE [#1 LT #500] DO1\nX[#1*2.]\n#1=#1+1\nEND1\n";
    let folder = folder(&PROGRAM.replace("G1 Z0. F1200.\n", loops));
    let refused = audit(&folder, &[]);
    assert_eq!(refused.status, 2);
    assert!(
        refused.error.contains("part.nc:10:14: #500 is kept by the control"),
        "{}",
        refused.error
    );
    let told = audit(&folder, &["--variable", "500=8", "--json"]);
    assert_eq!(told.status, 0, "{}", told.error);
    let d = document(&told);
    // the first place is where the tool stands
    assert_eq!(
        (d["blocks"].as_u64(), d["moves"].as_u64()),
        (Some(20 + 1 + 9 + 3 * 8), Some(14 + 7))
    );
    assert!(d["worst"].as_array().unwrap().iter().any(|w| w["runs"] == 7), "{}", d["worst"]);
    let wrong = audit(&folder, &["--variable", "500"]);
    assert_eq!(wrong.status, 2);
    assert!(wrong.error.contains("as 500=12.5"), "{}", wrong.error);
}

#[test]
fn files_that_are_hardly_programs_are_refused_in_a_few_lines() {
    let long = format!("G0 X1. ({})) X2.\nM30\n", "x".repeat(2_000_000));
    let wide: Vec<u8> = "\u{feff}G0 X1.\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    for (bytes, says) in [
        (long.as_bytes(), "`)` is no part of a word"),
        (b"G0 X1. \xff\xfe\nM30\n".as_slice(), "byte 0xff is no part of a word"),
        (wide.as_slice(), "UTF-16"),
        (b"".as_slice(), "holds no block"),
        (b"%\n%\n".as_slice(), "holds no block"),
        (b"G21\nG0 X900000.\n".as_slice(), "more than 50 m away"),
        (b"G21\nG0 X1.\nG1 Y2. F100.\nX".as_slice(), "a file that was cut off"),
    ] {
        let folder = TempDir::new().unwrap();
        fs::write(folder.path().join("part.nc"), bytes).unwrap();
        let told = audit(&folder, &[]);
        assert_eq!((told.status, told.output.as_str()), (2, ""), "{}", told.error);
        assert!(told.error.contains(says), "{says}: {}", told.error);
        assert!(told.error.len() < 3000, "{}", told.error.len());
    }
}

#[test]
fn a_program_that_is_cut_off_or_has_other_line_ends_is_read_all_the_same() {
    let whole = folder(PROGRAM);
    let expected = document(&audit(&whole, &["--json"]));
    for (from, to) in [("\n", "\r\n"), ("\n", "\r")] {
        let told = audit(&folder(&PROGRAM.replace(from, to)), &["--json"]);
        assert_eq!(document(&told)["time_s"], expected["time_s"]);
    }
    let (head, _) = PROGRAM.split_once("T2 M6").unwrap();
    let told = audit(&folder(head), &[]);
    assert_eq!(told.status, 0);
    assert!(told.output.contains("was the program cut off?"), "{}", told.output);
}

/// A box from (0, 0, 0) as an STL file.
fn block(x: f64, y: f64, z: f64) -> String {
    let corner = |i: usize| {
        [x * f64::from(i & 1 == 1), y * f64::from(i & 2 == 2), z * f64::from(i & 4 == 4)]
    };
    let quads =
        [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let mut out = String::from("solid box\n");
    for [a, b, c, d] in quads {
        for triangle in [[a, b, c], [a, c, d]] {
            out.push_str("facet normal 0 0 0\nouter loop\n");
            for i in triangle {
                let [x, y, z] = corner(i);
                out.push_str(&format!("vertex {x} {y} {z}\n"));
            }
            out.push_str("endloop\nendfacet\n");
        }
    }
    out + "endsolid box\n"
}

#[test]
fn loads_along_a_program_follow_from_the_stock_and_the_cutter() {
    // a side cut 3 mm wide and 5 mm deep with a 12 mm end mill along a block of 60 by 30 by 20 mm
    let program = "%\nG21 G17 G90 G94 G54\n(T4 END MILL D12)\nT4 M6\nS8000 M3\nG0 X-20. Y-3. Z60.\n\
                   Z15.\nG1 X80. F1600.\nG0 Z60.\nT5 M6\nS1000 M3\nG1 X0. F500.\nG0 X30. Y15.\n\
                   T4 M6\nS8000 M3\nG0 Z10.\nZ60.\nM30\n%\n";
    let folder = folder(program);
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write("block.stl", &block(60.0, 30.0, 20.0));
    write(
        "study.toml",
        "[study]\nname = \"Bracket\"\nmachine = \"three-axis-12k\"\n[part]\nfile = \"block.stl\"\n\
         unit = \"mm\"\nmaterial = \"en-aw-7075-t651\"\n\
         stock = { shape = \"block\", margin_mm = [0.0, 0.0, 0.0] }\n\
         [[cutter]]\nid = \"em-12\"\nform = \"flat\"\ndiameter_mm = 12.0\nteeth = 2\n\
         flute_length_mm = 26.0\nhelix_deg = 30.0\nstickout_mm = 40.0\n\
         [[cutter]]\nid = \"ball-8\"\nform = \"ball\"\ndiameter_mm = 8.0\nteeth = 2\nstickout_mm = 40.0\n",
    );
    let told = audit(&folder, &["--study", "study.toml", "--json", "--report", "a.html"]);
    assert_eq!(told.status, 0, "{}", told.error);
    let d = document(&told);
    let tools = d["loads"]["tools"].as_array().unwrap();
    assert_eq!(tools.len(), 2);
    let t4 = &tools[0];
    assert_eq!(t4["cutter"], "em-12", "by its diameter: {}", t4["matched_by"]);
    assert_eq!(tools[1]["cutter"], Value::Null);
    assert!(tools[1]["matched_by"].as_str().unwrap().contains("no comment"));
    // derived: arccos(1 − ae / R) is the engagement, fz sin φ the thickest chip, with fz 0.1 mm;
    // stock of 60 × 3 × 5 mm and a plunge of a disc that a rapid makes on its way down
    let steady = (1.0f64 - 3.0 / 6.0).acos();
    let number = |v: &Value| v.as_f64().unwrap();
    let peak = number(&t4["engagement_deg"]["peak"]);
    assert!((peak - steady.to_degrees()).abs() < 2.0, "{peak}");
    let chip = number(&t4["chip_thickness_um"]["peak"]);
    assert!((chip / (100.0 * steady.sin()) - 1.0).abs() < 0.03, "{chip}");
    assert!(number(&t4["force_n"]["peak"]) > number(&t4["force_n"]["mean"]));
    let volume = number(&t4["volume_cm3"]);
    assert!((volume / 0.9 - 1.0).abs() < 0.02, "{volume}");
    // derived: the cutter meets the block from 6 − √(36 − 9) short of it to its far side, 40 mm of
    // 100 are in air but for that
    let air = number(&d["loads"]["air_share"]);
    assert!((air - (40.0 - 27f64.sqrt()) / 100.0).abs() < 0.02, "{air}");
    assert_eq!(d["air_s"], d["loads"]["air_s"]);
    let rapids = d["loads"]["rapid_in_stock"].as_array().unwrap();
    assert_eq!(rapids.len(), 1, "{rapids:?}");
    assert_eq!(rapids[0]["line"], 16, "on its way out it is free");
    // derived: a disc of 12 mm, 10 mm into the block
    let way = number(&rapids[0]["stock_mm3"]);
    assert!((way / (std::f64::consts::PI * 36.0 * 10.0) - 1.0).abs() < 0.02, "{way}");
    let page = fs::read_to_string(folder.path().join("a.html")).unwrap();
    assert!(page.contains("Loads along the program") && page.contains("Rapids through stock"));
    let text = audit(&folder, &["--study", "study.toml", "--cutter", "5=ball-8"]).output;
    assert!(text.contains("as the call says") && text.contains("in air"), "{text}");
    let wrong = audit(&folder, &["--study", "study.toml", "--cutter", "5=ball-9"]);
    assert_eq!(wrong.status, 2);
    assert!(wrong.error.contains("em-12"), "{}", wrong.error);
}

#[test]
fn a_leaning_tool_meets_the_stock_where_it_stands_and_turns_past_it_in_a_circle() {
    // A of 90 degrees lays the tool along Y: from one side to the other the tip goes round the part,
    // 400 mm away from it, not through it
    let program = "%\nG21 G17 G90 G94 G54\n(T4 END MILL D12)\nG53 G0 Z0.\nT4 M6\nS8000 M3\n\
                   G53 G0 A90. C0.\nG53 G0 A-90.\nG0 X30. Y60. Z10.\nG1 Y25. F500.\nG0 Y60.\n\
                   X50.\nY20.\nY60.\nG53 G0 Z0.\nM30\n%\n";
    let folder = folder(program);
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write("block.stl", &block(60.0, 30.0, 20.0));
    write(
        "study.toml",
        "[study]\nname = \"Bracket\"\nmachine = \"trunnion-15k\"\n[part]\nfile = \"block.stl\"\n\
         unit = \"mm\"\nmaterial = \"en-aw-7075-t651\"\n\
         stock = { shape = \"block\", margin_mm = [0.0, 0.0, 0.0] }\n\
         [[cutter]]\nid = \"em-12\"\nform = \"flat\"\ndiameter_mm = 12.0\nteeth = 2\n\
         flute_length_mm = 26.0\nhelix_deg = 30.0\nstickout_mm = 40.0\n",
    );
    let call = ["audit", "part.nc", "--machine", "trunnion-15k", "--study", "study.toml", "--json"];
    let told = call_in(folder.path(), &call);
    assert_eq!(told.status, 0, "{}", told.error);
    let d = document(&told);
    let rapids = d["loads"]["rapid_in_stock"].as_array().unwrap();
    let lines: Vec<u64> = rapids.iter().map(|r| r["line"].as_u64().unwrap()).collect();
    assert_eq!(lines, [13], "the way in alone: {rapids:?}");
    // derived: discs of 12 mm, 5 mm deep at feed and 10 mm deep at rapid
    let disc = std::f64::consts::PI * 36.0;
    let number = |v: &Value| v.as_f64().unwrap();
    let way = number(&rapids[0]["stock_mm3"]);
    assert!((way / (10.0 * disc) - 1.0).abs() < 0.02, "{way}");
    let t4 = &d["loads"]["tools"][0];
    let volume = number(&t4["volume_cm3"]);
    assert!((1e3 * volume / (5.0 * disc) - 1.0).abs() < 0.02, "{volume}");
    // derived: along its own axis the whole bottom cuts, a tooth the feed of 500 / (8000 · 2) mm
    assert_eq!(t4["missing"], Value::Null);
    assert!((number(&t4["engagement_deg"]["peak"]) - 360.0).abs() < 1e-6);
    let chip = number(&t4["chip_thickness_um"]["mean"]);
    assert!((chip / 31.25 - 1.0).abs() < 0.1, "{chip}");
    assert!(number(&t4["force_n"]["peak"]) > 0.0);
}

/// A study of a block of 60 by 30 by 20 mm on a trunnion machine.
fn block_study(folder: &TempDir, setup: &str, stock: &str) {
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write("block.stl", &block(60.0, 30.0, 20.0));
    write(
        "study.toml",
        &format!(
            "[study]\nname = \"Bracket\"\nmachine = \"trunnion-15k\"\n[part]\nfile = \"block.stl\"\n\
             unit = \"mm\"\nmaterial = \"en-aw-7075-t651\"\n{stock}\n{setup}\n\
             [[cutter]]\nid = \"em-12\"\nform = \"flat\"\ndiameter_mm = 12.0\nteeth = 2\n\
             flute_length_mm = 26.0\nhelix_deg = 30.0\nstickout_mm = 40.0\n"
        ),
    );
}

const FULL: &str = "stock = { shape = \"block\", margin_mm = [0.0, 0.0, 0.0] }";

fn held_against(folder: &TempDir, more: &[&str]) -> Told {
    let mut call =
        vec!["audit", "part.nc", "--machine", "trunnion-15k", "--study", "study.toml", "--json"];
    call.extend(more);
    call_in(folder.path(), &call)
}

#[test]
fn part_and_tool_turned_together_ask_the_same_of_the_cutter() {
    // a side cut 3 mm wide and 5 mm deep, upright; then the part lies on its side and the tool with it
    let upright = "%\nG21 G17 G90 G94 G54\n(T4 END MILL D12)\nT4 M6\nS8000 M3\nG0 X-20. Y-3. Z60.\n\
                   Z15.\nG1 X80. F1600.\nG0 Z60.\nM30\n%\n";
    let lying = "%\nG21 G17 G90 G94 G54\n(T4 END MILL D12)\nT4 M6\nS8000 M3\nG53 G0 A90. C0.\n\
                 G0 X-20. Y-60. Z-3.\nY-15.\nG1 X80. F1600.\nG0 Y-60.\nM30\n%\n";
    let loads = |program: &str, setup: &str| {
        let folder = folder(program);
        block_study(&folder, setup, FULL);
        let told = held_against(&folder, &[]);
        assert_eq!(told.status, 0, "{}", told.error);
        document(&told)["loads"].clone()
    };
    let (a, b) = (loads(upright, ""), loads(lying, "[setup]\nrotation_deg = [90.0, 0.0, 0.0]"));
    let (a, b) = (&a["tools"][0], &b["tools"][0]);
    let number = |v: &Value| v.as_f64().unwrap();
    for (what, part, most) in [
        ("engagement_deg", "mean", 0.02),
        ("engagement_deg", "peak", 0.02),
        ("chip_thickness_um", "mean", 0.02),
        ("chip_thickness_um", "peak", 0.02),
        ("force_n", "mean", 0.03),
        ("force_n", "peak", 0.03),
    ] {
        let (upright, lying) = (number(&a[what][part]), number(&b[what][part]));
        assert!((lying / upright - 1.0).abs() < most, "{what} {part}: {upright} {lying}");
    }
    let volume = |v: &Value| number(&v["volume_cm3"]);
    assert!((volume(a) / 0.9 - 1.0).abs() < 0.02 && (volume(b) / 0.9 - 1.0).abs() < 0.02, "{b}");
    let time = |v: &Value| number(&v["in_cut_s"]);
    assert!((time(a) - time(b)).abs() < 0.05 * time(a));
}

#[test]
fn the_stock_that_a_program_begins_with_is_told_and_may_be_chosen() {
    let program = "%\nG21 G17 G90 G94 G54\n(T4 END MILL D12)\nT4 M6\nS8000 M3\nG0 X-20. Y-3. Z60.\n\
                   Z15.\nG1 X80. F1600.\nG0 Z60.\nM30\n%\n";
    let folder = folder(program);
    let finish = "[[feature]]\nname = \"wall\"\nkind = \"face\"\nselect = { near_mm = [30.0, 0.0, 10.0] }\n\
                  cusp_um = 5.0\n[[process]]\nname = \"today\"\n[[process.operation]]\nname = \"Finish\"\n\
                  feature = \"wall\"\nkind = \"finish-wall\"\ncutter = \"em-12\"\nrpm = 8000\n\
                  feed_per_tooth_mm = 0.1\nallowance_mm = 0.4\n";
    block_study(&folder, finish, FULL);
    fs::write(folder.path().join("bar.stl"), block(60.0, 30.0, 18.0)).unwrap();
    fs::write(
        folder.path().join("open.stl"),
        "solid a\nfacet normal 0 0 0\nouter loop\nvertex 0 0 0\n\
        vertex 9 0 0\nvertex 0 9 0\nendloop\nendfacet\nendsolid a\n",
    )
    .unwrap();
    let number = |v: &Value| v.as_f64().unwrap();
    for (stock, taken, because, volume) in [
        (None, "near-net, 0.4 mm", "guessed", 0.3 * 5.4 * 0.608),
        (Some("block"), "block, 0 x 0 x 0 mm", "asked for in the call", 0.9),
        (Some("near-net"), "near-net, 0.4 mm", "asked for in the call", 0.3 * 5.4 * 0.608),
        (Some("near-net=0.2"), "near-net, 0.2 mm", "asked for in the call", 0.0),
        (Some("bar.stl"), "the mesh of bar.stl", "asked for in the call", 60.0 * 3.0 * 3e-3),
    ] {
        let more: Vec<&str> = stock.map_or_else(Vec::new, |s| vec!["--stock", s]);
        let told = held_against(&folder, &more);
        assert_eq!(told.status, 0, "{}", told.error);
        let loads = document(&told)["loads"].clone();
        assert!(loads["stock"]["taken"].as_str().unwrap().starts_with(taken), "{}", loads["stock"]);
        assert!(
            loads["stock"]["because"].as_str().unwrap().contains(because),
            "{}",
            loads["stock"]
        );
        if ["block", "bar.stl"].contains(&stock.unwrap_or_default()) {
            let found = number(&loads["tools"][0]["volume_cm3"]);
            assert!((found / volume - 1.0).abs() < 0.03, "{stock:?} {found} {volume}");
        }
    }
    for (stock, says) in [
        ("blok", "there is no such file"),
        ("near-net=0", "above 0 and up to"),
        ("near-net=thin", "as near-net=0.3"),
        ("near-net=", "as near-net=0.3"),
        ("none.stl", "there is no such file"),
        ("part.nc", "--stock"),
        ("open.stl", "its surface is open"),
        (".", "folder"),
        ("", "there is no such file"),
    ] {
        let told = held_against(&folder, &["--stock", stock, "--report", "a.html"]);
        assert_eq!((told.status, told.output.as_str()), (2, ""), "{stock}: {}", told.error);
        assert!(told.error.contains(says), "{stock}: {}", told.error);
        assert!(!folder.path().join("a.html").exists());
    }
    let alone = call_in(
        folder.path(),
        &["audit", "part.nc", "--machine", "trunnion-15k", "--stock", "block"],
    );
    assert_eq!(alone.status, 2);
    assert!(alone.error.contains("--study"), "{}", alone.error);
}

#[test]
fn the_share_of_the_programmed_feed_and_its_sentence_agree() {
    // short plunges: each gathers speed for longer than it runs at its feed
    let mut program = String::from("%\nG21 G17 G90 G94 G54\nT1 M6\nS8000 M3\nG0 X0. Y0. Z5.\n");
    for i in 0..40 {
        program += &format!("G0 X{i}.\nG1 Z3. F1200.\nG0 Z5.\n");
    }
    let folder = folder(&(program + "M30\n%\n"));
    let told = audit(&folder, &["--json"]);
    assert_eq!(told.status, 0, "{}", told.error);
    let d = document(&told);
    let line = d["limits"].as_array().unwrap().iter().find(|l| l["limit"] == "programmed feed");
    let line = line.expect("it runs at its feed for a while");
    let number = |v: &Value| v.as_f64().unwrap();
    let share = 100.0 * number(&line["time_share"]) * number(&d["time_s"]["total"])
        / number(&d["time_s"]["cutting"]);
    let says = line["because"].as_str().unwrap();
    let told: f64 = says.split(" %").next().unwrap().parse().unwrap();
    assert!((told - share).abs() < 0.06 && told > 1.0, "{says} {share}");
}

#[test]
fn faults_beside_the_study_are_told_by_the_path_to_type() {
    let folder = folder(PROGRAM);
    fs::create_dir(folder.path().join("deep")).unwrap();
    let study = folder.path().join("deep");
    let write = |name: &str, text: &str| fs::write(study.join(name), text).unwrap();
    write("block.stl", &block(60.0, 30.0, 20.0));
    write(
        "study.toml",
        "[study]\nname = \"Bracket\"\nmachine = \"m.toml\"\n[part]\nfile = \"block.stl\"\nunit = \"mm\"\n\
         material = \"en-aw-7075-t651\"\n",
    );
    let machine = fs::read_to_string(
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../study/data/three-axis-12k.toml"),
    );
    let machine = machine.unwrap();
    write("m.toml", &machine);
    write("cutters.toml", "[[cutter]]\nid = \"a\"\nform = \"bal\"\ndiameter_mm = 6.0\n");
    let call = |more: &[&str]| {
        let mut call = vec!["audit", "part.nc", "--machine", "three-axis-12k", "--study"];
        call.extend(more);
        call_in(folder.path(), &call)
    };
    let told = call(&["deep/study.toml"]);
    assert_eq!(told.status, 2);
    assert!(told.error.contains("deep/cutters.toml:3:"), "{}", told.error);
    write("cutters.toml", "");
    write("m.toml", &machine.replace("layout = \"XYZ\"", "layout = \"XYQ\""));
    let told = call(&["deep/study.toml"]);
    assert_eq!(told.status, 2);
    assert!(told.error.contains("deep/m.toml:"), "{}", told.error);
    let by_machine = call_in(folder.path(), &["audit", "part.nc", "--machine", "deep/m.toml"]);
    assert!(by_machine.error.contains("deep/m.toml:"), "{}", by_machine.error);
}
