//! Programs with variables, loops and jumps move as the same program written out.

mod shop;

use nc::{AuditOptions, Dialect, Program, ReadOptions};
use shop::{ends, faults, machine, read};
use std::fmt::Write as _;

const HEAD: &str = "G21 G17 G90 G94\nT1 M6\nS8000 M3\nG0 X0. Y0. Z10.\n";

fn body(text: &str) -> Program {
    read(&format!("{HEAD}{text}\nM30\n"))
}

/// A number as its shortest text that reads back the same, with a point.
fn shown(value: f64) -> String {
    let text = format!("{value}");
    if text.contains('.') { text } else { text + "." }
}

/// The moves of two programs without the lines that they stand in.
fn same_motion(a: &Program, b: &Program) {
    let plain = |p: &Program| {
        let mut moves = p.track.moves.clone();
        moves.iter_mut().for_each(|m| m.block = 0);
        moves
    };
    assert_eq!(plain(a), plain(b));
    let events = |p: &Program| -> Vec<_> {
        p.track.waits.iter().map(|w| (w.after, w.event.clone(), w.tool)).collect()
    };
    assert_eq!(events(a), events(b));
}

#[test]
fn a_bolt_circle_by_a_loop() {
    let program = body(
        "#100=35. (RADIUS)\n#101=8 (HOLES)\n#102=15. (FIRST ANGLE)\n#103=0\n\
         G99 G81 X[#100*COS[#102]] Y[#100*SIN[#102]] Z-12. R2. F300.\n\
         WHILE [#103 LT #101-1] DO1\n#103=#103+1\n#104=#102+360/#101*#103\n\
         X[#100*COS[#104]] Y[#100*SIN[#104]]\nEND1\nG80",
    );
    let mut written = String::from("G99 G81 Z-12. R2. F300. ");
    for hole in 0..8 {
        // the angle from the nearest right angle, so that both take the same sine
        let turn = 15.0 + 45.0 * f64::from(hole);
        let quarter = (turn / 90.0f64).round();
        let (s, c) = (turn - 90.0 * quarter).to_radians().sin_cos();
        let (s, c) = [(s, c), (c, -s), (-s, -c), (-c, s)][quarter as usize % 4];
        writeln!(written, "X{} Y{}", shown(35.0 * c), shown(35.0 * s)).unwrap();
    }
    let plain = body(&format!("{written}G80"));
    same_motion(&program, &plain);
    let deep = ends(&program).iter().filter(|p| p[2] == -12.0).count();
    assert_eq!(deep, 8);
    for p in ends(&program).iter().filter(|p| p[2] == -12.0) {
        assert!((p[0].hypot(p[1]) - 35.0).abs() < 1e-12);
    }
    assert_eq!(program.unread, []);
}

#[test]
fn a_pocket_by_nested_loops_keeps_the_lines_of_its_blocks() {
    let text = "#1=40. (LENGTH)\n#2=24. (WIDTH)\n#3=6. (DEPTH)\n#4=2. (A PASS)\n#5=4. (STEP)\n#6=0\n\
                WHILE [#6 LT #3] DO1\n#6=#6+#4\nIF [#6 GT #3] THEN #6=#3\nG0 X0. Y0.\n\
                G1 Z-#6 F200.\n#7=#5\nWHILE [#7 LE #2/2] DO2\nG1 X-[#7+[#1-#2]/2] Y-#7 F900.\n\
                X[#7+[#1-#2]/2]\nY#7\nX-[#7+[#1-#2]/2]\nY-#7\n#7=#7+#5\nEND2\nG0 Z10.\nEND1";
    let program = body(text);
    let mut written = String::new();
    for depth in [2.0, 4.0, 6.0] {
        writeln!(written, "G0 X0. Y0.\nG1 Z-{} F200.", shown(depth)).unwrap();
        for half in [4.0, 8.0, 12.0] {
            let (x, y) = (shown(half + 8.0), shown(half));
            writeln!(written, "G1 X-{x} Y-{y} F900.\nX{x}\nY{y}\nX-{x}\nY-{y}").unwrap();
        }
        written.push_str("G0 Z10.\n");
    }
    same_motion(&program, &body(&written));
    let lines: Vec<u32> = program.track.moves[1..19].iter().map(|m| m.block).collect();
    assert_eq!(lines, [15, 18, 19, 20, 21, 22, 18, 19, 20, 21, 22, 18, 19, 20, 21, 22, 25, 14]);
    let audit = nc::audit(&program, &machine("XYZ"), &AuditOptions::default()).expect("drivable");
    let run: Vec<_> = audit.worst.iter().filter(|w| w.lines == [19, 19]).collect();
    assert_eq!(run.len(), 1, "what a loop runs again is one stretch: {:?}", audit.worst);
    assert_eq!((run[0].runs, run[0].moves), (9, 9));
    assert!((run[0].path_mm - 3.0 * (24.0 + 32.0 + 40.0)).abs() < 1e-9);
    assert!(run[0].because.contains("9 runs"), "{}", run[0].because);
}

#[test]
fn a_countdown_by_if_and_goto() {
    let program = body("#1=5\nN10 G1 X[#1*2] F500.\n#1=#1-1\nIF [#1 GT 0] GOTO 10\nX0.");
    let plain = body("G1 X10. F500.\nX8.\nX6.\nX4.\nX2.\nX0.");
    same_motion(&program, &plain);
    let steps = body("#1=0.3\nN10 G1 X#1 F500.\n#1=#1-.1\nIF [#1 GT 0] GOTO 10\nX0.");
    assert_eq!(steps.track.moves.len(), 5, "three steps of a tenth, not four");
    assert!(steps.unread.iter().any(|u| u.why.contains("rounding")), "{:?}", steps.unread);
}

#[test]
fn words_take_variables_of_every_kind() {
    let program =
        body("#1=1\n#2=7\n#3=4500\n#4=0.5\nT#2 M6\nS#3 M#[#1+2]\nG#1 Z[#4*2] F[#3/10]\nG4 P#4");
    let moves = &program.track.moves;
    assert_eq!(program.tools, [1, 7], "the number of a variable");
    // #4 is 0.5 and no number of an M word
    assert_eq!(moves.len(), 2);
}

#[test]
fn a_word_of_a_variable_that_holds_nothing_is_left_out() {
    let program = body("G1 X5. Y#120 F500.\nX#120 Y2.\n#120=3.\nX#120\n#120=#0\nX#120 Y4.");
    let plain = body("G1 X5. F500.\nY2.\nX3.\nY4.");
    same_motion(&program, &plain);
    let noted: Vec<&str> = program.unread.iter().map(|u| u.text.as_str()).collect();
    assert_eq!(noted, ["Y#120"]);
    assert_eq!((program.unread[0].line, program.unread[0].count), (5, 3));
}

#[test]
fn a_macro_has_the_letters_of_its_call_as_variables() {
    let text = "#1=99.\nG65 P9001 A10. B2 I5. X1.5 M4. L2\nG1 X#1 F100.";
    let sub = "O9001 (ONE SIDE)\nG1 X#1 Y[#2+#4] Z-#24 F[#13*100]\n#1=#1+1.\nX#1\n\
               IF [#7 EQ #0] GOTO 5\nX500.\nN5 M99\n";
    let program = read(&format!("{HEAD}{text}\nM30\n{sub}"));
    let plain = body("G1 X10. Y7. Z-1.5 F400.\nX11.\nX10.\nX11.\nG1 X99. F100.");
    same_motion(&program, &plain);
    assert_eq!(program.track.moves[1].block, 10);
    let deep = "M98 P1\nM30\nO1\n#1=4.\nG65 P2 A6.\nG1 X#1 F100.\nM99\nO2\nG1 Y#1 F100.\nM99\n";
    let at = ends(&read(&format!("{HEAD}{deep}")));
    assert_eq!(
        at[at.len() - 2..],
        [[0.0, 6.0, 10.0], [4.0, 6.0, 10.0]],
        "M98 shares, G65 does not"
    );
}

#[test]
fn a_subprogram_may_return_to_a_block_of_its_caller() {
    let text = "G1 F100. X1.\nM98 P1 L5\nX2.\nN7 X3.\nM30\nO1\nN7 Y1.\nM99 P7\n";
    let at = ends(&read(&format!("{HEAD}{text}")));
    let tail: Vec<[f64; 2]> = at[1..].iter().map(|p| [p[0], p[1]]).collect();
    assert_eq!(tail, [[1.0, 0.0], [1.0, 1.0], [3.0, 1.0]]);
}

#[test]
fn a_jump_may_leave_a_loop_and_a_deleted_block_is_none() {
    let text = "#1=0\nDO1\n#1=#1+1\nIF [#1 GE 3] GOTO 50\nG1 X#1 F100.\n/GOTO 50\nEND1\nN50 Y1.";
    let run = |block_delete: bool| {
        let options = ReadOptions { block_delete, ..ReadOptions::default() };
        let text = format!("{HEAD}{text}\nM30\n");
        nc::read(text.as_bytes(), &Dialect::a(), &machine("XYZ"), &options).expect("sound")
    };
    let xs = |p: &Program| ends(p)[1..].iter().map(|e| [e[0], e[1]]).collect::<Vec<_>>();
    assert_eq!(xs(&run(true)), [[1.0, 0.0], [2.0, 0.0], [2.0, 1.0]]);
    assert_eq!(xs(&run(false)), [[1.0, 0.0], [1.0, 1.0]]);
}

#[test]
fn what_the_control_keeps_may_be_told() {
    let text = format!("{HEAD}G1 X#501 Y[#5021+1.] F100.\nM30\n");
    let options =
        ReadOptions { variables: vec![(501, 4.0), (5021, 2.0)], ..ReadOptions::default() };
    let program = nc::read(text.as_bytes(), &Dialect::a(), &machine("XYZ"), &options);
    assert_eq!(ends(&program.expect("told"))[1], [4.0, 3.0, 10.0]);
    assert!(faults(&text)[0].remedy.contains("--variable 501=VALUE"));
}

#[test]
fn loops_without_end_are_refused_with_their_line() {
    let first = |text: &str| {
        let options = ReadOptions { most_blocks: 50_000, ..ReadOptions::default() };
        let text = format!("{HEAD}{text}\nM30\nO5\nG91 G1 X1. F100.\nG90\nM99\n");
        let read = nc::read(text.as_bytes(), &Dialect::a(), &machine("XYZ"), &options);
        let fault = read.expect_err("endless").remove(0);
        (fault.line, fault.message)
    };
    for (text, line, says) in [
        // nothing changes: told at the second time round
        ("#1=0\nWHILE [#1 LT 5] DO1\nG91 G1 X1. F100.\nEND1", 8, "goes back to line 6 without end"),
        ("#1=1\nN5 G91 G1 X1. F100.\nIF [#1 EQ 1] GOTO 5", 7, "goes back to line 6 without end"),
        ("#1=1\nN5 M98 P5 L3\nGOTO 5", 7, "goes back to line 6 without end"),
        ("N5 X1.\nM99 P5", 6, "goes back to line 5 without end"),
        // something changes, but never comes to an end
        ("#1=0\nWHILE [#1 LT 5] DO1\n#1=#1-1\nEND1", 6, "has run 50000 blocks"),
        ("#1=0\nN5 #1=1-#1\nGOTO 5", 6, "has run 50000 blocks"),
        ("#1=0\nN5 #1=#1+1\nG65 P5\nGOTO 5", 0, "has run 50000 blocks"),
    ] {
        let (at, message) = first(text);
        assert!(message.contains(says), "{text}: {message}");
        assert!(line == 0 || at.abs_diff(line) <= 2, "{text}: line {at}");
    }
}

#[test]
fn what_only_writes_text_is_listed() {
    let program = body("POPEN\nDPRNT[X#100[53]]\nPCLOS\nG1 X1. F100.");
    let listed: Vec<(u32, &str)> =
        program.unread.iter().map(|u| (u.line, u.text.as_str())).collect();
    assert_eq!(listed, [(5, "POPEN"), (6, "DPRNT"), (7, "PCLOS")]);
}

#[test]
fn line_ends_cases_and_blanks_do_not_matter_to_statements() {
    let text = "#1=0\nWHILE[#1LT3]DO1\nG1X[#1*2]F100.\n#1=#1+1\nEND1\nIF[#1EQ3]GOTO9\nX99.\nN9Y1.";
    let spaced = text
        .replace("WHILE[#1LT3]DO1", "while [ # 1 lt 3 ] do 1 (A LOOP)")
        .replace("IF[#1EQ3]GOTO9", "If [#1 Eq 3] Goto 9 ; on")
        .replace('\n', "\r\n");
    same_motion(&body(text), &body(&spaced));
}
