//! Any bytes as a file of a material: read or refused with a place, never a panic.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if let Err(rejected) = study::read::material_file(bytes, "material.toml") {
        assert!(!rejected.diagnostics.is_empty());
    }
});
