//! A study and a part as texts, compared.

#![allow(
    clippy::unwrap_used,
    unreachable_pub,
    dead_code,
    missing_docs,
    reason = "tests share what a test may do"
)]

use study::outcome::{OperationOutcome, Outcome};

/// Compares the processes of a study text on a part that is an OBJ text, `block.obj` in mm.
pub fn run(text: &str, part: &str) -> Result<Outcome, String> {
    run_from(text, part, None)
}

/// The same from a stock that is an OBJ text too, which the study names.
pub fn run_from(text: &str, part: &str, stock: Option<&str>) -> Result<Outcome, String> {
    let study = study::read::study(text.as_bytes(), "study.toml", &study::NoFiles)
        .map_err(|e| e.to_string())?;
    let options = part::ReadOptions { unit: Some(part::LengthUnit::Mm), ..Default::default() };
    let read = |text: &str| part::read(text.as_bytes(), "block.obj", &options).unwrap();
    let (part, stock) = (read(part), stock.map(read));
    let given = compare::Given { study: &study, part: &part, fixtures: &[], stock: stock.as_ref() };
    compare::run(given, &|_| {}).map_err(|e| e.to_string())
}

/// The operations of its first process.
pub fn operations(text: &str, part: &str) -> Vec<OperationOutcome> {
    run(text, part).unwrap_or_else(|e| panic!("{e}")).processes.remove(0).operations
}

/// The same beside clamps, from the stock that the study gives.
pub fn run_beside(text: &str, part: &str, fixtures: &[geom::TriMesh]) -> Result<Outcome, String> {
    let study = study::read::study(text.as_bytes(), "study.toml", &study::NoFiles)
        .map_err(|e| e.to_string())?;
    let options = part::ReadOptions { unit: Some(part::LengthUnit::Mm), ..Default::default() };
    let part = part::read(part.as_bytes(), "block.obj", &options).unwrap();
    let given = compare::Given { study: &study, part: &part, fixtures, stock: None };
    compare::run(given, &|_| {}).map_err(|e| e.to_string())
}

/// Chords of a quarter circle.
pub const CHORDS: usize = 24;

/// A rectangle of half sides `a` and `b` with corners rounded by `r`, moved by `shift` along X, as vertices
/// of an OBJ text at `z`: four times one more than [`CHORDS`].
pub fn rounded_ring([a, b, r]: [f64; 3], shift: f64, z: f64) -> String {
    let corner = |k: usize| {
        let (sx, sy) = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)][k];
        (0..=CHORDS).map(move |i| {
            let t = std::f64::consts::FRAC_PI_2 * (k as f64 + i as f64 / CHORDS as f64);
            let (px, py) = (sx * (a - r) + r * t.cos() + shift, sy * (b - r) + r * t.sin());
            format!("v {px} {py} {z}\n")
        })
    };
    (0..4).flat_map(corner).collect()
}

/// Faces of a body whose four rings follow on each other in an OBJ text: outside at the foot and at the top,
/// a hollow at its rim and at its floor.
pub fn faces_of_rings() -> String {
    let n = 4 * (CHORDS + 1);
    let all = |from: usize| (1..=n).map(move |i| (from + i).to_string());
    let mut text = format!("f {}\n", all(0).rev().collect::<Vec<_>>().join(" "));
    for i in 1..=n {
        let j = i % n + 1;
        for (lo, hi) in [(0, n), (n, 2 * n), (2 * n, 3 * n)] {
            text += &format!("f {} {} {} {}\n", lo + i, lo + j, hi + j, hi + i);
        }
    }
    text + &format!("f {}\n", all(3 * n).collect::<Vec<_>>().join(" "))
}
