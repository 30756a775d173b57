//! Gently curved tops from STEP files: a spherical cap, its pole in the middle of the top, and a saddle.
//! Every pattern finds its way over the pole and keeps the cusp, levels where the surface is nearly level
//! too.

#[path = "../../pattern/tests/support/mod.rs"]
mod support;

use cutsim::{CutJob, cut_surface};
use geom::Vec3;
use part::ReadOptions;
use pattern::{AxisRule, FaceJob, LeanSide, Pattern};
use support::{ball, job};

const CAP: &[u8] = include_bytes!("../../part/tests/recesses/cap.step");
const SADDLE: &[u8] = include_bytes!("../../part/tests/recesses/saddle.step");
const CUSP_MM: f64 = 0.02;

#[test]
fn patterns_cross_the_pole_and_keep_the_cusp() {
    let patterns = [Pattern::Parallel, Pattern::Spiral, Pattern::EqualCusp, Pattern::Level];
    keep_the_cusp(CAP, "cap.step", &patterns);
}

#[test]
fn levels_on_a_saddle_keep_the_cusp_where_it_is_flat() {
    keep_the_cusp(SADDLE, "saddle.step", &[Pattern::Level]);
}

fn keep_the_cusp(step: &[u8], name: &str, patterns: &[Pattern]) {
    let part = part::read(step, name, &ReadOptions::default()).expect("the part");
    let hit = part.bvh.closest(&part.mesh, Vec3::ZERO, 1.0).expect("the top");
    let faces = [part.mesh.face_of[hit.triangle as usize] as usize];
    let assembly = ball(12.0);
    for pattern in patterns.iter().copied() {
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
