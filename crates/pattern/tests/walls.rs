//! Lines at constant height hold the step on walls, fillets and tops of real features, and what the
//! cutter cannot reach is left over, not refused.

mod support;

use geom::Vec3;
use part::Part;
use pattern::{AxisRule, FaceJob, FacePasses, Pattern, finish_face};
use support::*;

fn coupling() -> Part {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/mast-coupling/coupling.step");
    let bytes = std::fs::read(path).expect("the part of the example");
    part::read(&bytes, "coupling.step", &part::ReadOptions::default()).expect("a part")
}

#[test]
fn look() {
    let part = coupling();
    for f in &part.faces {
        let ts: Vec<usize> = (0..part.mesh.triangles.len()).filter(|t| part.mesh.face_of[*t] as usize == f.index).collect();
        let (mut lo, mut hi) = (Vec3::INFINITY, Vec3::NEG_INFINITY);
        for t in &ts { for p in part.mesh.corners(*t) { lo = lo.min(p); hi = hi.max(p); } }
        println!("{} {} {:.2} {:.2} {}", f.index, f.kind, lo, hi, ts.len());
    }
}
