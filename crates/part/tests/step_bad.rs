//! Damaged and strange STEP files: told with place and remedy, never a crash.
#![cfg(any(feature = "occt", feature = "step-io"))]
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test may panic")]

use part::step::{Reader, read_by};
use part::{Part, ReadError, ReadOptions};

fn demo() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/mast-coupling/coupling.step");
    std::fs::read_to_string(path).expect("the demo part")
}

fn coarse() -> ReadOptions {
    ReadOptions { deviation_mm: 0.2, ..ReadOptions::default() }
}

/// By every reader of this build.
fn read(text: &[u8]) -> Vec<Result<Part, ReadError>> {
    let readers = Reader::available().into_iter();
    readers.map(|r| read_by(r, text, "bad.step", &coarse())).collect()
}

fn refused(text: &[u8]) -> Vec<String> {
    let answers = read(text).into_iter();
    answers.map(|a| a.expect_err("no part").to_string()).collect()
}

fn is_sound(part: &Part) {
    assert!(part.mesh.vertices.iter().all(|v| v.is_finite()));
    assert!(part.deviation_mm.is_finite());
    assert!(part.faces.iter().all(|f| f.area_mm2.is_finite()));
    let vertices = part.mesh.vertices.len() as u32;
    assert!(part.mesh.triangles.iter().flatten().all(|v| *v < vertices));
}

/// `text` with `count` of its digits changed.
fn damaged(text: &[u8], seed: usize, count: usize) -> Vec<u8> {
    let digits: Vec<usize> = (0..text.len()).filter(|i| text[*i].is_ascii_digit()).collect();
    let mut bad = text.to_vec();
    for j in 0..count {
        let at = digits[(seed * 7_919 + j * 104_729 + 13) * 31 % digits.len()];
        bad[at] = b'0' + ((seed + 3 * j) % 10) as u8;
    }
    bad
}

#[test]
fn a_file_cut_anywhere_is_refused_with_its_line() {
    let text = demo();
    for share in [0.001, 0.01, 0.3, 0.9, 0.9999] {
        let cut = &text[..(text.len() as f64 * share) as usize];
        for error in refused(cut.as_bytes()) {
            assert!(error.contains("bad.step, line"), "{error}");
        }
    }
}

#[test]
fn a_file_without_faces_and_one_without_data_are_refused() {
    let text = demo();
    let start = text.find("DATA;").expect("data") + 5;
    let empty = format!("{}\nENDSEC;\nEND-ISO-10303-21;\n", &text[..start]);
    for answer in read(empty.as_bytes()) {
        let no_part = Err(ReadError::NoSurface { file: String::new(), what: String::new() });
        let kind = |a: &Result<Part, ReadError>| a.as_ref().err().map(std::mem::discriminant);
        let malformed = matches!(answer, Err(ReadError::Malformed { .. }));
        assert!(malformed || kind(&answer) == kind(&no_part), "{:?}", answer.err());
    }
    let other = text.replace("MANIFOLD_SOLID_BREP(", "STRANGE_SOLID(");
    for error in refused(other.as_bytes()) {
        assert!(error.contains("STRANGE_SOLID") && error.contains("line"), "{error}");
    }
}

#[test]
fn a_solid_that_is_not_there_lists_the_choices() {
    let options = ReadOptions { solid: Some("bolt".to_owned()), ..ReadOptions::default() };
    let error = part::read(demo().as_bytes(), "p.step", &options).expect_err("no bolt").to_string();
    assert!(error.contains("mast_coupling (#15)"), "{error}");
}

#[test]
fn damaged_numbers_and_references_never_crash() {
    let text = demo().into_bytes();
    for seed in 0..6 {
        read(&damaged(&text, seed, 6)).iter().flatten().for_each(is_sound);
    }
}

#[test]
fn a_border_off_its_surface_is_a_defect_and_costs_no_more_than_a_sound_part() {
    // a pole of a fillet's spline, millimetres off: splitting the mesh cannot help there
    let bad = damaged(demo().as_bytes(), 1, 6);
    for part in read(&bad).into_iter().flatten() {
        assert!(part.mesh.triangles.len() < 20_000, "{}", part.mesh.triangles.len());
        assert!(!part.defects.is_empty());
    }
}

#[cfg(feature = "step-io")]
#[test]
fn small_files_damaged_in_many_ways_are_answered_in_rust() {
    for name in ["kinds_ap214", "turned_ap203_inch", "pair_ap242", "rounds_ap242"] {
        let path = format!("{}/tests/step/{name}.step", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read(path).expect("a test part");
        let sound = (0..SEEDS)
            .filter_map(|seed| {
                let bad = damaged(&text, seed, 1 + seed % 3);
                read_by(Reader::Exchange, &bad, "bad.step", &coarse()).ok()
            })
            .inspect(is_sound)
            .count();
        assert!(sound > 0, "{name}: every damage was fatal");
    }
}

/// Ways in which each small file is damaged.
#[cfg(feature = "step-io")]
const SEEDS: usize = 40;
