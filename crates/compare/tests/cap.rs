//! A spherical cap from a STEP file, its pole in the middle of the top: every pattern in plan finds its
//! way over the pole and keeps the cusp.

#[path = "../../pattern/tests/support/mod.rs"]
mod support;

use cutsim::{CutJob, cut_surface};
use geom::Vec3;
use part::ReadOptions;
use pattern::{AxisRule, FaceJob, LeanSide, Pattern};
use support::{ball, job};

const STEP: &[u8] = include_bytes!("../../part/tests/recesses/cap.step");
const CUSP_MM: f64 = 0.02;

#[test]
fn patterns_in_plan_cross_the_pole_and_keep_the_cusp() {
    let part = part::read(STEP, "cap.step", &ReadOptions::default()).expect("the cap");
    let hit = part.bvh.closest(&part.mesh, Vec3::ZERO, 1.0).expect("the top");
    let faces = [part.mesh.face_of[hit.triangle as usize] as usize];
    let assembly = ball(12.0);
    for pattern in [Pattern::Parallel, Pattern::Spiral, Pattern::EqualCusp] {
        let kappa_rad = Some(15f64.to_radians());
        let job = FaceJob {
            faces: &faces,
            axis: AxisRule::Tilted { kappa_rad, lead_rad: 0.0, lean: LeanSide::Auto },
            cusp_mm: Some(CUSP_MM),
            ..job(&part, &assembly, pattern)
        };
        let passes = pattern::finish_face(&job, &|_| ()).expect("passes");
        let stepover_mm = passes.stepover_mm.map_or(1.0, |s| s.mean);
        let cut = CutJob {
            part: &part,
            faces: &faces,
            toolpath: &passes.toolpath,
            profile: assembly.cutter.profile(),
            stock_mm: 0.2,
            stepover_mm,
            samples: 20_000,
        };
        let cut = cut_surface(&cut, &|_| ()).expect("a cut surface");
        let max = cut.cut_max_mm.expect("cut");
        assert!(max <= 1.02 * CUSP_MM, "{pattern:?}: {max}");
        assert_eq!(cut.uncut_mm2, 0.0, "{pattern:?}");
    }
}
