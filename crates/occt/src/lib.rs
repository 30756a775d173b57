//! STEP files through the OCCT kernel: plain data out, nothing of the kernel seen outside.
//!
//! One call, [`read`], takes the bytes of a file and gives placed bodies and faces, the full
//! definition of every surface, borders, and a closed tessellation with the parameters of each
//! corner. The kernel is found when the crate is built; without it [`available`] is false and
//! [`read`] says so.

mod bridge;

pub use bridge::ffi::{
    Body, Curve, CurveKind, Face, Frame, Loop, Mesh, Model, Remark, Request, Surface, SurfaceKind,
};

/// Packages that make STEP reading available on Debian and its relatives, when building.
pub const PACKAGES: &str = "g++ libocct-data-exchange-dev libocct-modeling-algorithms-dev";

/// Why a file gave no model.
#[derive(Debug, Clone, PartialEq)]
pub enum Failure {
    /// The program was built without the kernel.
    NotBuilt,
    /// A coordinate beyond what was allowed, mm.
    TooLarge(f64),
    /// The time limit was reached; the text says at what.
    OutOfTime(String),
    /// The trial in a process of its own used up the processor time it was given.
    TrialOutOfTime,
    /// The kernel gave up; its own words.
    Kernel(String),
}

impl std::fmt::Display for Failure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotBuilt => write!(f, "the program was built without a STEP kernel"),
            Self::TooLarge(value_mm) => write!(f, "a coordinate of {value_mm} mm"),
            Self::TrialOutOfTime => write!(f, "the trial used up its processor time"),
            Self::OutOfTime(text) | Self::Kernel(text) => f.write_str(text),
        }
    }
}

impl std::error::Error for Failure {}

/// Whether the program was built with the kernel.
pub const fn available() -> bool {
    cfg!(has_occt)
}

/// Version of the kernel, where there is one.
pub const fn version() -> Option<&'static str> {
    option_env!("OCCT_VERSION")
}

/// Reads a STEP file from memory. One call at a time runs in the kernel; others wait.
///
/// The bytes should have passed a check of their syntax: the kernel's own parser is trusted with
/// well-formed exchange files only.
#[cfg(has_occt)]
pub fn read(bytes: &[u8], request: &Request) -> Result<Model, Failure> {
    bridge::ffi::read_step(bytes, request).map_err(|e| {
        let text = e.what().to_owned();
        match text.split_once(": ") {
            Some(("size", rest)) => Failure::TooLarge(rest.parse().unwrap_or(f64::NAN)),
            Some(("trial", _)) => Failure::TrialOutOfTime,
            Some(("time", rest)) => Failure::OutOfTime(rest.to_owned()),
            _ => Failure::Kernel(text),
        }
    })
}

/// Reads a STEP file from memory: not in this build.
#[cfg(not(has_occt))]
pub fn read(_bytes: &[u8], _request: &Request) -> Result<Model, Failure> {
    Err(Failure::NotBuilt)
}
