//! Bytes as the syntax of a STEP file. Seeds: `crates/part/corpus`.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let _ = part::step::outline(bytes, "fuzz.step");
});
