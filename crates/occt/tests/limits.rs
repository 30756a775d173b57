//! What bounds a read.
#![allow(clippy::expect_used, reason = "a test may panic")]

use occt::{Failure, Request};

fn request() -> Request {
    Request {
        deflection_mm: 0.01,
        inside_factor: 4.0,
        coarsest_share: 2e-6,
        angle_rad: 0.35,
        time_limit_s: 300.0,
        trial_cpu_s: 300.0,
        largest_coordinate_mm: 1e6,
        only_body: -1,
        mesh: true,
    }
}

fn demo() -> Vec<u8> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/mast-coupling/coupling.step");
    std::fs::read(path).expect("the demo part")
}

#[test]
fn a_read_that_takes_too_much_processor_time_is_given_up() {
    if !occt::available() {
        return;
    }
    let hasty = Request { trial_cpu_s: 0.02, ..request() };
    assert_eq!(occt::read(&demo(), &hasty), Err(Failure::TrialOutOfTime));
}

#[test]
fn a_giant_is_refused() {
    if !occt::available() {
        return;
    }
    let small = Request { largest_coordinate_mm: 50.0, ..request() };
    let answer = occt::read(&demo(), &small);
    assert!(matches!(answer, Err(Failure::TooLarge(x)) if x.abs() > 50.0), "{:?}", answer.err());
}
