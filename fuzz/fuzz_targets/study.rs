//! Any bytes as a study file: a study or its faults, never a panic.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if let Err(rejected) = study::read::study(bytes, "study.toml", &study::NoFiles) {
        assert!(!rejected.diagnostics.is_empty());
    }
});
