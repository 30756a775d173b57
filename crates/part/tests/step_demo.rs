//! The demo part: closed, exact, measured.
#![cfg(any(feature = "occt", feature = "step-io"))]
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test may panic")]

use geom::MeshEdges;
use part::{FaceKind, ReadOptions};

fn demo() -> Vec<u8> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/mast-coupling/coupling.step");
    std::fs::read(path).expect("the demo part")
}

#[test]
fn the_demo_part_is_closed_and_its_crown_is_one_spline_face() {
    let part = part::read(&demo(), "coupling.step", &ReadOptions::default()).expect("a part");
    let edges = MeshEdges::new(&part.mesh);
    assert!((0..edges.len()).all(|e| edges.pair(e).is_some_and(|[a, b]| a.forward != b.forward)));
    assert!(part.defects.is_empty(), "{:?}", part.defects);
    assert!(part.deviation_mm <= 0.01, "{}", part.deviation_mm);
    let crown = part
        .faces
        .iter()
        .filter(|f| f.kind == FaceKind::Spline)
        .max_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2))
        .expect("a crown");
    // 160 × 110 mm less the fillet all round it and the corners
    assert!((15_000.0..17_400.0).contains(&crown.area_mm2), "{}", crown.area_mm2);
    let (lo, hi) = part.mesh.bounds().expect("a mesh");
    assert!(lo.z.abs() < 1e-9 && (39.5..40.5).contains(&hi.z), "{lo} {hi}");
}
