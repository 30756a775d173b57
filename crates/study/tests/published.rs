//! Binds the values of published tables to the materials that come with the program.

use published::{Bindings, Fault, Inputs};

fn coefficient(inputs: &Inputs) -> Result<f64, Fault> {
    let fault = |what: String| Fault::new("material", what);
    let name = inputs.word("material")?;
    let material = study::material::find(name).map_err(|near| fault(format!("{near:?}")))?;
    let sets = material.force.mechanistic.as_ref().map_err(|m| fault(m.reason.clone()))?;
    let set = sets.get(inputs.count("set_count")? as usize);
    let of = set.ok_or_else(|| fault("no such set".to_owned()))?.value.coefficients;
    match inputs.word("coefficient")? {
        "ktc" => Ok(of.ktc_n_mm2),
        "krc" => Ok(of.krc_n_mm2),
        "kac" => Ok(of.kac_n_mm2),
        "kte" => Ok(of.kte_n_mm),
        "kre" => Ok(of.kre_n_mm),
        "kae" => Ok(of.kae_n_mm),
        other => Err(fault(format!("no coefficient {other}"))),
    }
}

#[test]
fn published_checks_hold() {
    let tables = ["aluminium-cutting-coefficients", "aluminium-edge-coefficients"];
    Bindings::new(env!("CARGO_MANIFEST_DIR")).bind(&tables, coefficient).run();
}
