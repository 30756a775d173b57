//! The demo's crown, from its STEP file: what equal-cusp passes leave on the simulated cut.

use cutsim::{CutJob, cut_surface};
use cutter::{Assembly, CutterSpec, Form};
use part::{Part, ReadOptions};
use pattern::{AxisRule, CutSide, FaceJob, Feed, Frame, LeanSide, Pattern, Traverse};

const STEP: &[u8] = include_bytes!("../../../examples/mast-coupling/coupling.step");
const CUSP_MM: f64 = 0.005;

fn coupling() -> Part {
    part::read(STEP, "coupling.step", &ReadOptions::default()).expect("the demo part")
}

fn large_arc() -> Assembly {
    let mut spec = CutterSpec::new(Form::TaperBarrel, 12.0);
    spec.arc_radius_mm = Some(250.0);
    spec.corner_radius_mm = Some(2.0);
    spec.corner_offset_mm = Some(0.5);
    spec.taper_rad = Some(20f64.to_radians());
    spec.flute_length_mm = Some(12.0);
    spec.shank_diameter_mm = Some(12.0);
    spec.stickout_mm = Some(60.0);
    Assembly::new(&spec).expect("a cutter that can be ground")
}

fn job<'a>(part: &'a Part, faces: &'a [usize], assembly: &'a Assembly) -> FaceJob<'a> {
    FaceJob {
        part,
        faces,
        frame: Frame::default(),
        assembly,
        pattern: Pattern::EqualCusp,
        direction_rad: None,
        axis: AxisRule::Tilted { kappa_rad: None, lead_rad: 0.0, lean: LeanSide::Auto },
        stepover_mm: None,
        cusp_mm: Some(CUSP_MM),
        chord_mm: None,
        stock_left_mm: 0.0,
        traverse: Traverse::BothWays,
        cut: CutSide::Down,
        lead_radius_mm: 2.0,
        clearance_mm: 2.0,
        feed: Feed::AtContact(75.0),
        fixtures: &[],
    }
}

#[test]
fn equal_cusp_passes_leave_an_equal_cusp() {
    let part = coupling();
    let top = geom::Vec3::new(0.0, 0.0, 40.0);
    let hit = part.bvh.closest(&part.mesh, top, 5.0).expect("the crown");
    let faces = [part.mesh.face_of[hit.triangle as usize] as usize];
    let assembly = large_arc();
    let passes = pattern::finish_face(&job(&part, &faces, &assembly), &|_| ()).expect("passes");
    let over_bound = passes.path_mm / passes.path_bound_mm.expect("a bound");
    assert!(over_bound <= 1.05, "path over its bound: {over_bound}");
    let spacing = passes.stepover_mm.expect("several passes");
    let cut = cut_surface(
        &CutJob {
            part: &part,
            faces: &faces,
            toolpath: &passes.toolpath,
            profile: assembly.cutter.profile(),
            stock_mm: 0.2,
            stepover_mm: spacing.mean,
            samples: 20_000,
        },
        &|_| (),
    )
    .expect("a cut surface");
    let near = |h: f64| (h / CUSP_MM - 1.0).abs() <= 0.05;
    let share =
        cut.ridges.iter().filter(|r| near(r.height_mm)).count() as f64 / cut.ridges.len() as f64;
    let worst = cut.ridges.iter().map(|r| r.height_mm).fold(0.0, f64::max);
    eprintln!("share {share} worst {worst} gouge {:?} over {over_bound}", cut.gouge);
    assert!(cut.ridges.len() > 1000, "{}", cut.ridges.len());
    assert!(share >= 0.95, "{share} of {} ridges within 5 %, highest {worst}", cut.ridges.len());
}
