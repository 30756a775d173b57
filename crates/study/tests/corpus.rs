//! Files that once were or might be trouble, and random damage to sound ones: read or refused with
//! places, never a panic.

use proptest::prelude::*;
use study::Rejected;

const STUDY: &str = include_str!("data/study.toml");
const MACHINE: &str = include_str!("data/machine.toml");
const CUTTERS: &str = include_str!("data/cutters.toml");
const MATERIAL: &str = include_str!("data/material.toml");

fn files(path: &str) -> Option<Vec<u8>> {
    match path {
        "machine.toml" => Some(MACHINE.as_bytes().to_vec()),
        "cutters.toml" => Some(CUTTERS.as_bytes().to_vec()),
        _ => None,
    }
}

fn told(result: Result<(), Rejected>) {
    let Err(rejected) = result else { return };
    assert!(!rejected.diagnostics.is_empty());
    for fault in &rejected.diagnostics {
        assert!(fault.line >= 1 && fault.column >= 1);
        assert!(fault.span.start <= fault.text.len());
        assert!(!fault.message.is_empty() && !fault.expected.is_empty());
    }
}

fn replay(bytes: &[u8]) {
    told(study::read::study(bytes, "study.toml", &files).map(drop));
    told(study::read::machine_file(bytes, "machine.toml").map(drop));
    told(study::read::cutters_file(bytes, "cutters.toml").map(drop));
    told(study::read::material_file(bytes, "material.toml").map(drop));
}

#[test]
fn the_corpus() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus");
    let mut count = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        replay(&std::fs::read(entry.unwrap().path()).unwrap());
        count += 1;
    }
    assert!(count >= 10, "the corpus is there");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn damage(which in 0..4_usize, at in 0.0..1.0_f64, cut in 0..20_usize, put in "[a-z0-9\"\\[\\]{}=.,\\-\n]{0,8}") {
        let text = [STUDY, MACHINE, CUTTERS, MATERIAL][which];
        let start = (at * text.len() as f64) as usize;
        let mut bytes = text.as_bytes().to_vec();
        bytes.splice(start..(start + cut).min(text.len()), put.bytes());
        replay(&bytes);
    }

    #[test]
    fn any_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        replay(&bytes);
    }
}
