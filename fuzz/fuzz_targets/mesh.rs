//! Any bytes as a mesh in any format: a part or the reason, never a panic.
#![no_main]

use part::{ReadOptions, read};

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    for name in ["part", "part.stl", "part.obj", "part.ply", "part.3mf"] {
        if let Err(error) = read(bytes, name, &ReadOptions::default()) {
            assert!(!error.to_string().is_empty());
        }
    }
});
