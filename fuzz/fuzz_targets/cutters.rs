//! Any bytes as a file of the cutters: read or refused with a place, never a panic.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if let Err(rejected) = study::read::cutters_file(bytes, "cutters.toml") {
        assert!(!rejected.diagnostics.is_empty());
    }
});
