//! Damaged and strange STEP files: told with place and remedy, never a crash.
#![cfg(feature = "occt")]
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test may panic")]

use part::{ReadError, ReadOptions};

fn demo() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/mast-coupling/coupling.step");
    std::fs::read_to_string(path).expect("the demo part")
}

fn read(text: &[u8]) -> Result<part::Part, ReadError> {
    let options = ReadOptions { deviation_mm: 0.2, ..ReadOptions::default() };
    part::read(text, "bad.step", &options)
}

#[test]
fn a_file_cut_anywhere_is_refused_with_its_line() {
    let text = demo();
    for share in [0.001, 0.01, 0.3, 0.9, 0.9999] {
        let cut = &text[..(text.len() as f64 * share) as usize];
        let error = read(cut.as_bytes()).expect_err("cut short").to_string();
        assert!(error.contains("bad.step, line"), "{error}");
    }
}

#[test]
fn a_file_without_faces_and_one_without_data_are_refused() {
    let text = demo();
    let start = text.find("DATA;").expect("data") + 5;
    let empty = format!("{}\nENDSEC;\nEND-ISO-10303-21;\n", &text[..start]);
    assert!(matches!(
        read(empty.as_bytes()),
        Err(ReadError::NoSurface { .. } | ReadError::Malformed { .. })
    ));
    let other = text.replace("MANIFOLD_SOLID_BREP(", "STRANGE_SOLID(");
    let error = read(other.as_bytes()).expect_err("nothing to read").to_string();
    assert!(error.contains("STRANGE_SOLID") && error.contains("line"), "{error}");
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
    let digits: Vec<usize> = (0..text.len()).filter(|i| text[*i].is_ascii_digit()).collect();
    for k in 0..6_usize {
        let mut bad = text.clone();
        for j in 0..6 {
            let at = digits[(k * 7_919 + j * 104_729 + 13) * 31 % digits.len()];
            bad[at] = b'0' + ((k + 3 * j) % 10) as u8;
        }
        if let Ok(part) = read(&bad) {
            assert!(part.mesh.vertices.iter().all(|v| v.is_finite()));
            assert!(part.deviation_mm.is_finite());
        }
    }
}
