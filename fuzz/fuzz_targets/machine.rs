//! Any bytes as a file of the machine: read or refused with a place, never a panic.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if let Err(rejected) = study::read::machine_file(bytes, "machine.toml") {
        assert!(!rejected.diagnostics.is_empty());
    }
});
