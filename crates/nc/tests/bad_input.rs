//! Programs that are wrong: refused with a place, or read with a reservation; never a panic.

mod shop;

use nc::{Dialect, ReadOptions};
use proptest::prelude::*;
use shop::{faults, read, read_as};

const HEAD: &str = "G21 G17 G90 G94\nT1 M6\nS8000 M3\nG0 X0. Y0. Z2.\n";

/// Line, column and message of the first fault of a program whose line 5 is `text`.
fn first(text: &str) -> (u32, u32, String) {
    let faults = faults(&format!("{HEAD}{text}\nM30\n"));
    let fault = &faults[0];
    assert!(!fault.expected.is_empty() && !fault.remedy.is_empty(), "{fault}");
    (fault.line, fault.column, fault.message.clone())
}

/// What is listed of a program with `text` after its head.
fn listed(text: &str) -> Vec<String> {
    read(&format!("{HEAD}{text}\nM30\n")).unread.iter().map(ToString::to_string).collect()
}

#[test]
fn what_could_change_the_path_is_refused_where_it_stands() {
    for (text, column, says) in [
        ("G1 X10. Y5. F100. U3.", 19, "no axis U"),
        ("G1 X10. A5. F100.", 9, "no axis A"),
        ("G187 X1.", 1, "G187"),
        ("X1. G68.2 Y0.", 5, "G68.2"),
        ("G0 G1 X1.", 1, "excludes"),
        ("G1 X1. X2. F100.", 8, "twice"),
        ("G1 X F100.", 4, "no number"),
        ("G1 X[1+2] F100.", 5, "expression"),
        ("#100=5", 1, "variables"),
        ("G1 X1.0.5 F100.", 8, "no part of a word"),
        ("G1 X1,5 F100.", 6, "no part of a word"),
        ("G1 X5.", 1, "no feed"),
        ("G1 X5. F0", 8, "feed is 0"),
        ("G1 X5. R2. F100.", 8, "straight"),
        ("G93 G1 X5.", 1, "no feed"),
        ("G2 X5. F100.", 4, "without a centre"),
        ("G2 X5. Y0. I2. J0. F100.", 12, "misses its circle by 1.0000 mm"),
        ("G2 X5. Y0. R2. F100.", 12, "twice R"),
        ("G2 X0. Y0. R2. F100.", 12, "ends where it begins"),
        ("G2 X5. Y0. I2.5 P2 F100.", 17, "in an arc"),
        ("G4", 1, "dwell without"),
        ("G55 X0.\nG54 X0.", 1, "G54 after G55"),
        ("G10 L2 P1 X5.", 1, "G10"),
        ("M98 P77", 5, "no subprogram O77"),
        ("M98", 1, "without a number"),
        ("G81 Z-5. F100. X1.", 1, "no R"),
        ("G83 R1. Z-500. Q0.001 F100.", 16, "pecks"),
        ("G53 G91 X5.", 1, "machine coordinates"),
        ("T99999", 1, "no tool 99999"),
    ] {
        let (line, at, message) = first(text);
        assert!(message.contains(says), "{text}: {message}");
        let expected_line = if text.starts_with("G55") { 6 } else { 5 };
        assert_eq!((line, at), (expected_line, column), "{text}: {message}");
    }
}

#[test]
fn what_leaves_the_path_alone_is_listed() {
    for (text, says) in [
        ("G1 X100 F100.", "X100: no decimal point"),
        ("G1 X1. F100. M777", "M777: this M word"),
        ("G8 P1", "changes how the control drives"),
        ("G1 X1. F100.\nQ5.", "nothing in its block uses"),
        ("M5\nG1 X1. F100.", "spindle stands"),
        ("G41 D1 G1 X1. F100.\nG40", "radius offset is not in the program"),
        ("G30 Z0.", "second reference point"),
        ("G2 X5.01 Y0. I2.5 F100.", "within the tolerance"),
        ("/G1 X1. F100.", "block delete"),
        ("G1 X1. F100. (open", "no end on its line"),
        ("S20000", "above the spindle's 15000"),
        ("G1 X1. F100.\nG20 X1.", "inches and mm"),
        ("M99", "begins again"),
    ] {
        let all = listed(text);
        assert!(all.iter().any(|u| u.contains(says)), "{text}: {all:?}");
    }
    assert_eq!(listed("G1 X1. F100."), Vec::<String>::new());
}

#[test]
fn a_word_without_a_point_is_counted_once() {
    let program = read(&format!("{HEAD}G1 F100. X100\nX200\nX300\nX0\nM30\n"));
    assert_eq!(program.unread.len(), 1);
    assert_eq!((program.unread[0].line, program.unread[0].count), (5, 3));
}

#[test]
fn tools_that_are_not_in_the_list_are_named() {
    let options = ReadOptions { tools: Some(vec![1, 2]), ..ReadOptions::default() };
    let text = "T1 M6\nT7 M6\nM30\n";
    let machine = shop::machine("XYZ");
    let program = nc::read(text.as_bytes(), &Dialect::a(), &machine, &options).expect("sound");
    assert_eq!(program.unread.len(), 1);
    assert!(program.unread[0].text == "T7" && program.unread[0].line == 2);
}

#[test]
fn a_known_radius_offset_is_refused() {
    let read = |offset: f64| {
        let options =
            ReadOptions { radius_offsets_mm: vec![(1, offset)], ..ReadOptions::default() };
        let text = format!("{HEAD}G41 D1 G1 X1. F100.\nM30\n");
        nc::read(text.as_bytes(), &Dialect::a(), &shop::machine("XYZ"), &options)
    };
    assert!(read(0.0).is_ok());
    assert!(read(0.1).expect_err("a shifted path")[0].message.contains("0.1 mm"));
}

#[test]
fn calls_without_end_are_refused() {
    let own = faults("M98 P1\nM30\nO1\nM98 P1\nM99\n");
    assert!(own[0].message.contains("deep"), "{}", own[0]);
    let options = ReadOptions { most_blocks: 10_000, ..ReadOptions::default() };
    let text = "M98 P1 L1000000\nM30\nO1\nG0 X1.\nX2.\nM99\n";
    let read = nc::read(text.as_bytes(), &Dialect::a(), &shop::machine("XYZ"), &options);
    assert!(read.expect_err("endless")[0].message.contains("10000 blocks"));
}

#[test]
fn a_program_that_is_cut_off_says_so() {
    for text in ["G0 X1.\n", "G0 X1.\nG1 Y2. F100", "G0 X1.\n%\nM30\n", "G0 X1.\nO2\nM99\n"] {
        let program = read(text);
        assert!(program.unread.iter().any(|u| u.why.contains("cut off")), "{text}");
    }
    let within = faults("G0 X1.\nG0 Y");
    assert_eq!((within[0].line, within[0].column), (2, 4));
}

#[test]
fn long_lines_and_bytes_that_are_no_text() {
    let long = format!("{HEAD}G1 X1. F100. ({})\nM30\n", "x".repeat(3_000_000));
    assert_eq!(read(&long).track.moves.len(), 2);
    let words = format!("{HEAD}{}\nM30\n", "X1. ".repeat(500_000));
    assert_eq!(faults(&words).len(), 1);
    let digits = format!("{HEAD}G1 X{} F100.\nM30\n", "1".repeat(1_000_000));
    assert_eq!(faults(&digits)[0].column, 4);
    let machine = shop::machine("XYZ");
    let read = |bytes: &[u8]| nc::read(bytes, &Dialect::a(), &machine, &ReadOptions::default());
    let comment = b"G0 X1. (\xff\xfe gr\xf6sse)\nM30\n";
    assert!(read(comment).expect("comments hold any bytes").unread.is_empty());
    let fault = &read(b"G0 X1. \xff\nM30\n").expect_err("no word")[0];
    assert_eq!((fault.line, fault.column), (1, 8));
    assert!(fault.message.contains("0xff"));
}

#[test]
fn all_faults_of_a_program_are_found_up_to_a_number() {
    let text = format!("{HEAD}{}M30\n", "G187\n".repeat(50));
    assert_eq!(faults(&text).len(), 20);
}

const WORDS: [&str; 44] = [
    "G0", "G1", "G2", "G3", "G4", "G9", "G17", "G18", "G19", "G20", "G21", "G28", "G40", "G41",
    "G43.4", "G49", "G52", "G53", "G54", "G55", "G61", "G64", "G68", "G69", "G73", "G76", "G80",
    "G81", "G83", "G84", "G87", "G90", "G91", "G92", "G93", "G94", "G95", "G98", "G99", "M3", "M6",
    "M98", "M99", "/",
];

fn word() -> impl Strategy<Value = String> {
    let code = prop::sample::select(WORDS.to_vec()).prop_map(str::to_owned);
    let letter = prop::sample::select(b"ABCDEFHIJKLMNOPQRSTUVWXYZ".to_vec());
    let number = (letter, -200i32..200, 0u32..1000)
        .prop_map(|(l, whole, part)| format!("{}{whole}.{part:03}", char::from(l)));
    let short = (prop::sample::select(b"GMTXYZIJKRFSPQL".to_vec()), 0u32..120)
        .prop_map(|(l, n)| format!("{}{n}", char::from(l)));
    prop_oneof![3 => code, 4 => number, 2 => short]
}

fn everywhere(bytes: &[u8]) -> Result<(), TestCaseError> {
    let options = ReadOptions { most_blocks: 2000, ..ReadOptions::default() };
    for (dialect, layout) in [(Dialect::a(), "XYZ-AC"), (Dialect::b(), "XYZ")] {
        match nc::read(bytes, &dialect, &shop::machine(layout), &options) {
            Ok(program) => {
                let mut last = 0;
                for wait in &program.track.waits {
                    prop_assert!(wait.after >= last && wait.after <= program.track.moves.len());
                    last = wait.after;
                }
                for step in &program.track.moves {
                    prop_assert!(step.to.linear.is_finite());
                }
            }
            Err(faults) => {
                prop_assert!(!faults.is_empty());
                let lines = bytes.iter().filter(|b| **b == b'\n').count() as u32 + 1;
                for fault in faults {
                    prop_assert!(fault.line >= 1 && fault.line <= lines && fault.column >= 1);
                }
            }
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        everywhere(&bytes)?;
    }

    #[test]
    fn words_in_any_order_are_read_or_refused(
        lines in prop::collection::vec(prop::collection::vec(word(), 1..6), 1..25),
    ) {
        let lines: Vec<String> = lines.iter().map(|words| words.join(" ")).collect();
        everywhere(lines.join("\n").as_bytes())?;
    }

    #[test]
    fn a_changed_program_is_read_or_refused(at in 0usize..200, byte: u8, cut in 0usize..260) {
        let text = format!("{HEAD}G83 X1. Y2. R1. Z-5. Q2. F100.\nG80\nM98 P9 L2\n\
            G2 X5. Y0. R20. F300.\nG93 G1 X1. F3.\nG94\nG68 X0. Y0. R30.\nG69\nM30\nO9\nG91 G1 X1. \
            F200.\nG90\nM99\n");
        let mut bytes = text.into_bytes();
        let place = at % bytes.len();
        bytes[place] = byte;
        bytes.truncate(cut);
        everywhere(&bytes)?;
    }
}

#[test]
fn dialect_b_refuses_parentheses() {
    let faults = read_as(&Dialect::b(), "XYZ", "G0 X1. (note)\n").expect_err("no comment");
    assert_eq!((faults[0].line, faults[0].column), (1, 8));
}
