//! Distribution of the deviations from another method: piecewise Chebyshev collocation with a dense
//! eigenvalue solver.
//!
//! The limits are computed by `scripts/reference/stability/run.py` and committed with the versions of
//! the libraries: the classic one-mode cutter at half and low immersion with one and two axes, and a
//! family drawn at random.

#![allow(clippy::unwrap_used, reason = "a test may")]

use serde_json::Value;
use stability::cut::Immersion;
use stability::limit::{Method, limits};
use stability::{Axis, Cut, Kind, Mode, Structure};
use std::f64::consts::PI;

const LIMITS: &str = include_str!("../../../scripts/reference/stability/results/limits.json");

fn axis(modes: &Value) -> Axis {
    let value = |mode: &Value, i: usize| mode[i].as_f64().unwrap();
    let mode = |m: &Value| Mode::new(value(m, 0), value(m, 1), value(m, 2)).unwrap();
    Axis::Modes(modes.as_array().unwrap().iter().map(mode).collect())
}

/// Relative deviation of the depth; `None` where both methods find nothing.
fn deviation(case: &Value) -> Option<f64> {
    let number = |key: &str| case[key].as_f64().unwrap();
    let structure = Structure { x: axis(&case["modes_x"]), y: axis(&case["modes_y"]) };
    let immersion =
        Immersion { entry_rad: number("entry_rad"), exit_rad: number("exit_rad").min(PI) };
    let cut = Cut::new(number("teeth") as u32, number("kt"), number("kr"), immersion).unwrap();
    let deepest = number("to_mm");
    let method = Method::SemiDiscretisation;
    let found = limits(&structure, &cut, &[number("rpm")], method, deepest).unwrap()[0];
    match (case["limit_mm"].as_f64(), found) {
        (None, None) => None,
        (Some(depth), Some(found)) => {
            let flip = (PI - case["theta_rad"].as_f64().unwrap()).abs() < 1e-3;
            assert_eq!(found.kind == Kind::Flip, flip, "{case}");
            Some(found.depth_mm / depth - 1.0)
        }
        (depth, found) => panic!("{}: {depth:?} by the reference, {found:?} here", case["name"]),
    }
}

#[test]
fn limits_against_collocation() {
    let document: Value = serde_json::from_str(LIMITS).unwrap();
    assert!(document["made_with"]["scipy"].is_string(), "results carry no versions");
    let cases = document["cases"].as_array().unwrap();
    let mut off: Vec<(f64, String)> = cases
        .iter()
        .filter_map(|c| Some((deviation(c)?.abs(), format!("{} {}", c["name"], c["rpm"]))))
        .collect();
    off.sort_by(|a, b| a.0.total_cmp(&b.0));
    println!("median {:e}, worst {:?}", off[off.len() / 2].0, &off[off.len() - 3..]);
    assert!(off.len() > 60, "{} limits", off.len());
    // the bar is 2 %; what is reached is far better, and a slip would show
    assert!(off[off.len() / 2].0 < 5e-6, "median {:?}", off[off.len() / 2]);
    assert!(off[off.len() - 1].0 < 1e-4, "worst {:?}", off[off.len() - 1]);
}
