//! Binds published sensitivities of tool life to the life of an edge in a material of the library.

use mechanics::life::{EdgeUse, edge_life};
use published::{Bindings, Fault, Inputs};

/// Life that a change costs, %.
fn life_lost_percent(inputs: &Inputs) -> Result<f64, Fault> {
    let fault = |what: String| Fault::new("life", what);
    let material = study::material::find("ti-6al-4v").map_err(|near| fault(format!("{near:?}")))?;
    let (speed, width) = (inputs.real("speed_m_per_min")?, inputs.real("width_mm")?);
    let diameter = inputs.real("diameter_mm")?;
    let minutes = |speed_m_min: f64, width_mm: f64| {
        let cut = EdgeUse {
            speed_m_min,
            feed_per_tooth_mm: 0.1,
            depth_mm: None,
            width_mm: Some(width_mm),
            diameter_mm: Some(diameter),
        };
        edge_life(material, None, &cut).map(|l| l.minutes).map_err(|m| fault(m.reason))
    };
    let faster = speed * (1.0 + 0.01 * inputs.real_or("speed_up_percent", 0.0)?);
    let wider = width * (1.0 + 0.01 * inputs.real_or("width_up_percent", 0.0)?);
    Ok(100.0 * (1.0 - minutes(faster, wider)? / minutes(speed, width)?))
}

#[test]
fn published_checks_hold() {
    let changes = ["titanium-life-speed", "titanium-life-width"];
    Bindings::new(env!("CARGO_MANIFEST_DIR")).bind(&changes, life_lost_percent).run();
}
