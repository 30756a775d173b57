//! Binds the published checks of circle geometry to its functions.

use geom::circle::Section;
use published::{Bindings, Fault, Inputs};

fn section(inputs: &Inputs) -> Result<Section, Fault> {
    let surface_mm = inputs.real_or("surface_radius_mm", f64::INFINITY)?;
    Section::from_radii(inputs.real("arc_radius_mm")?, surface_mm)
        .map_err(|e| Fault::new("section", e))
}

fn cusp_um(inputs: &Inputs) -> Result<f64, Fault> {
    let cusp_mm = section(inputs)?.cusp_mm(inputs.real("stepover_mm")?);
    Ok(1e3 * cusp_mm.map_err(|e| Fault::new("cusp", e))?)
}

fn stepover_mm(inputs: &Inputs) -> Result<f64, Fault> {
    let stepover_mm = section(inputs)?.stepover_mm(1e-3 * inputs.real("cusp_um")?);
    stepover_mm.map_err(|e| Fault::new("step-over", e))
}

#[test]
fn published_checks_hold() {
    let cusps = [
        "cusp-ball-flat",
        "cusp-segment-flat",
        "cusp-ball-convex",
        "cusp-ball-concave",
        "cusp-segment-convex",
        "cusp-segment-concave",
        "quadratic-cusp",
    ];
    let mut bindings = Bindings::new(env!("CARGO_MANIFEST_DIR"));
    bindings
        .bind(&cusps, cusp_um)
        .bind(&["stepover-for-cusp-flat", "stepover-for-cusp-curved"], stepover_mm)
        .bind(
            &["stepover-of-a-short-arc"],
            |i| Ok(section(i)?.band_stepover_mm(i.real("side_mm")?)),
        )
        .run();
}
