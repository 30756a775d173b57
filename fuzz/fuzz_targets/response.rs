//! Any bytes as a measured response: read and fitted, or refused with a place, never a panic.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    match stability::frf::read(bytes, "tip.csv") {
        Ok(response) => {
            let _ = stability::fit::modes(&response);
        }
        Err(error) => assert!(error.line > 0 && error.column > 0),
    }
});
