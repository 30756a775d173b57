//! Bytes as a STEP part, read in Rust alone. Seeds: `crates/part/tests/step`, `crates/part/corpus`.
#![no_main]

use libfuzzer_sys::fuzz_target;
use part::ReadOptions;

fuzz_target!(|bytes: &[u8]| {
    let options = ReadOptions { deviation_mm: 0.2, ..ReadOptions::default() };
    if let Ok(part) = part::read(bytes, "fuzz.step", &options) {
        assert!(part.mesh.vertices.iter().all(|v| v.is_finite()));
        assert!(part.faces.iter().all(|f| f.area_mm2.is_finite()));
    }
});
