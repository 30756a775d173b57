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
        ("G1 X[1+2 F100.", 5, "not closed"),
        ("G1 X1+2. F100.", 6, "`+` belongs to an expression"),
        ("G1 X1. #100=5", 8, "an assignment after other words"),
        ("X1. GOTO 10", 5, "GOTO after other words"),
        ("N#1 X1.", 2, "number of `N`"),
        ("G1 X#1 X2. F100.", 8, "twice"),
        ("#100 5", 6, "`5` cannot stand here"),
        ("#0=5", 1, "#0 holds nothing"),
        ("#50=5", 1, "no variable #50"),
        ("#100=#5021", 6, "#5021 belongs to the control"),
        ("G1 X#5021 F1.", 5, "#5021 belongs to the control"),
        ("#5221=0", 1, "#5221 belongs to the control"),
        ("#3000=1 (NO TOOL)", 1, "with an alarm"),
        ("#100=#500", 6, "#500 is kept by the control"),
        ("#100=1/0", 7, "divided by zero"),
        ("#100=SQRT[-4]", 6, "SQRT of -4"),
        ("#100=[1+2", 6, "not closed"),
        ("#100=1+2]", 9, "`]` cannot stand here"),
        ("#100=POW[2,3]", 6, "`POW` is no function"),
        ("IF #1 GT 2 GOTO 5", 4, "`#` after IF"),
        ("IF [#1] GOTO 5", 4, "a number after IF"),
        ("IF [#1 EQ #0] X5.", 15, "what IF shall do"),
        ("IF [#1 EQ #0] THEN G0 X5.", 20, "what IF shall do"),
        ("IF [#1 EQ #0] THEN #1=1 ELSE", 25, "`ELSE` cannot stand here"),
        ("ELSE", 1, "ELSE is not followed"),
        ("GOTO 99", 5, "no block N99"),
        ("GOTO", 5, "the end of the block"),
        ("GOTO 1.5", 5, "1.5 is not a whole number"),
        ("GOTO 7\nDO1\nN7 X1.\nEND1", 5, "a jump into a loop: N7 in line 7"),
        ("WHILE [1 EQ 1]", 15, "no DO"),
        ("WHILE [1 EQ 1] DO4\nEND4", 18, "from 1 to 3"),
        ("WHILE [1 EQ 1] DO1", 1, "has no end"),
        ("END1", 1, "END1 ends no loop"),
        ("DO1\nDO1\nEND1\nEND1", 0, "inside another loop"),
        ("DO1\nDO2\nEND1\nEND2", 0, "loops cross"),
        ("DO1\nX1.\nEND1", 0, "goes back to line 5 without end"),
        ("N7 X1.\nGOTO7", 0, "goes back to line 5 without end"),
        ("G65 P77 A1.", 5, "no subprogram O77"),
        ("G65 A1.", 1, "a macro call without a number"),
        ("G65 P9 A1. A2.", 12, "twice"),
        ("G65 P9 N5 O3", 11, "after other words"),
        ("G66 P9 A1.", 1, "it calls a macro after every move"),
        ("G51 X1. P2.", 1, "it scales the path"),
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
        ("G1 X100000000. F100.", 4, "more than 50 m away"),
        ("G1 F100. Y1.\nG91 Z-60000.", 0, "more than 50 m away"),
        ("G2 X0. I60000. F100.", 8, "more than 50 m away"),
        ("G81 Z-70000. R1. F100.", 5, "more than 50 m away"),
        ("G91 G81 X1. Z-1. R-1. L70000 F100.", 0, "more than 50 m away"),
        ("G1 XO.5 F100.", 4, "no number"),
    ] {
        let (line, at, message) = first(text);
        assert!(message.contains(says), "{text}: {message}");
        // loops are refused at the block that shows it
        if column > 0 {
            let expected_line = if text.starts_with("G55") { 6 } else { 5 };
            assert_eq!((line, at), (expected_line, column), "{text}: {message}");
        }
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
        ("G1 X1e5 F100.", "E5: nothing in its block uses"),
        ("G0 X1. Q3.", "Q3: nothing in its block uses"),
        ("M98 P7\nM30\nO7\nM99\nO7\nM99", "O7: this number stands for several"),
    ] {
        let all = listed(text);
        assert!(all.iter().any(|u| u.contains(says)), "{text}: {all:?}");
    }
    assert_eq!(listed("G1 X1. F100."), Vec::<String>::new());
}

#[test]
fn a_wrong_feed_is_told_once() {
    for text in ["G1 X5. F0\nX6.\nX7.", "G1 X5. F-100.\nX6.", "G1 X5.\nX6."] {
        assert_eq!(faults(&format!("{HEAD}{text}\nM30\n")).len(), 1, "{text}");
    }
}

#[test]
fn lines_may_end_with_carriage_returns_alone() {
    let text = format!("{HEAD}G1 X5. F100.\n(NOTE)\nX6.\nM30\n");
    let bytes = text.replace('\n', "\r").into_bytes();
    let machine = shop::machine("XYZ");
    let options = ReadOptions::default();
    let found = nc::read(&nc::with_line_feeds(bytes), &Dialect::a(), &machine, &options);
    assert_eq!(found.expect("sound"), read(&text));
    let mixed = b"G0 X1.\r\nX2.\r\n".to_vec();
    assert_eq!(nc::with_line_feeds(mixed.clone()), mixed);
}

#[test]
fn text_of_two_bytes_a_sign_is_told_as_such() {
    let wide: Vec<u8> = "\u{feff}G0 X1.\nM30\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    let read = nc::read(&wide, &Dialect::a(), &shop::machine("XYZ"), &ReadOptions::default());
    let found = read.expect_err("no program");
    assert_eq!(found.len(), 1);
    assert!(found[0].message.contains("UTF-16"), "{}", found[0]);
}

#[test]
fn a_rotary_axis_turns_so_often_and_no_more() {
    let text = format!("{HEAD}G1 A100000000. F100.\nM30\n");
    let found = read_as(&Dialect::a(), "XYZ-AC", &text).expect_err("far");
    assert_eq!((found[0].line, found[0].column), (5, 4), "{}", found[0]);
    assert!(found[0].message.contains("1000 times"), "{}", found[0]);
}

#[test]
fn a_cycle_is_repeated_so_often_and_no_more() {
    let options = ReadOptions { most_blocks: 10_000, ..ReadOptions::default() };
    let text = format!("{HEAD}G91 G83 X0. Z-1. R-1. Q0.001 L90000 F100.\nM30\n");
    let read = nc::read(text.as_bytes(), &Dialect::a(), &shop::machine("XYZ"), &options);
    let found = read.expect_err("many")[0].clone();
    assert!(found.line == 5 && found.message.contains("more than 10000 moves"), "{found}");
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

const PIECES: [&str; 48] = [
    "#1",
    "#100",
    "#2=",
    "#[",
    "#0",
    "=",
    "[",
    "]",
    "+",
    "-",
    "*",
    "/",
    "MOD",
    "AND",
    "OR",
    "EQ",
    "NE",
    "GT",
    "LE",
    "SIN[",
    "ATAN[",
    "]/[",
    "SQRT[",
    "ROUND[",
    "FIX[",
    "LN[",
    "1.",
    "2",
    "0.5",
    "\n",
    "\n",
    "\n",
    "IF[",
    "]GOTO",
    "GOTO 10",
    "]THEN#3=",
    "WHILE[",
    "]DO1\n",
    "]DO2\n",
    "\nEND1\n",
    "\nEND2\n",
    "\nN10 ",
    "X",
    "G1 Y",
    "G65 P9 A",
    "M98 P9",
    "\nM30\nO9\n",
    "\nM99\n",
];

/// Numbers from a seed, by xorshift.
struct Draw(u64);

impl Draw {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % n as u64) as usize
    }
}

#[test]
fn pieces_of_programs_with_variables_are_read_or_refused_and_come_to_an_end() {
    let mut draw = Draw(0x5eed_0001);
    let mut read = 0;
    for _ in 0..6000 {
        let count = 1 + draw.below(40);
        let mut bytes = HEAD.as_bytes().to_vec();
        bytes.extend_from_slice(b"#1=1.\n#100=2.\n");
        for _ in 0..count {
            match draw.below(30) {
                0 => bytes.push(draw.below(256) as u8),
                1 => bytes.push(b' '),
                _ => bytes.extend_from_slice(PIECES[draw.below(PIECES.len())].as_bytes()),
            }
        }
        everywhere(&bytes).expect("read or refused");
        let options = ReadOptions { most_blocks: 2000, ..ReadOptions::default() };
        let machine = shop::machine("XYZ");
        read += usize::from(nc::read(&bytes, &Dialect::a(), &machine, &options).is_ok());
    }
    assert!(read > 20, "{read}: some of them must be sound, else the pieces test only refusals");
}

/// Programs with variables, seeds of the fuzz target.
const CORPUS: [&str; 3] = [
    include_str!("corpus/bolt-circle.nc"),
    include_str!("corpus/pocket.nc"),
    include_str!("corpus/countdown.nc"),
];

#[test]
fn programs_with_variables_are_read_and_refused_wherever_they_are_cut_or_changed() {
    let mut draw = Draw(0x5eed_0002);
    for text in CORPUS {
        assert!(read(text).track.moves.len() > 20);
        for cut in (0..text.len()).step_by(11) {
            everywhere(&text.as_bytes()[..cut]).expect("read or refused");
        }
        for _ in 0..400 {
            let mut bytes = text.as_bytes().to_vec();
            let at = draw.below(bytes.len());
            match draw.below(3) {
                0 => bytes[at] = draw.below(256) as u8,
                1 => drop(bytes.remove(at)),
                _ => {
                    let piece = PIECES[draw.below(PIECES.len())].bytes();
                    drop(bytes.splice(at..at, piece));
                }
            }
            everywhere(&bytes).expect("read or refused");
        }
    }
}

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
fn a_dialect_without_variables_says_so() {
    for (text, column, says) in [
        ("#100=5", 1, "an assignment: this dialect has no variables"),
        ("X#100", 2, "number of `X` is a variable"),
        ("IF [#1 EQ 2] GOTO 5", 1, "IF: this dialect has no variables"),
    ] {
        let faults = read_as(&Dialect::b(), "XYZ", text).expect_err("no variables");
        assert_eq!((faults[0].line, faults[0].column), (1, column), "{}", faults[0]);
        assert!(faults[0].message.contains(says), "{}", faults[0]);
        assert!(faults[0].remedy.contains("--dialect"), "{}", faults[0]);
    }
}

#[test]
fn dialect_b_refuses_parentheses() {
    let faults = read_as(&Dialect::b(), "XYZ", "G0 X1. (note)\n").expect_err("no comment");
    assert_eq!((faults[0].line, faults[0].column), (1, 8));
}
