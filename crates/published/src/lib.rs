//! The register of published checks: value, source, tolerance, and the proof that each check can fail.
