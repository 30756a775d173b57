//! Binds the published checks of the law of Kienzle to its functions.

use material::Validity;
use material::kienzle::{Kienzle, Linear, Linearisation};
use published::{Bindings, Fault, Inputs};
use units::Interval;

fn law(inputs: &Inputs) -> Result<Kienzle, Fault> {
    Ok(Kienzle {
        kc11_n_mm2: inputs.real("kc11_n_per_mm2")?,
        mc: inputs.real("mc_ratio")?,
        rake_rad: None,
        validity: Validity::default(),
    })
}

fn line(inputs: &Inputs, how: Linearisation) -> Result<Linear, Fault> {
    law(inputs)?.linear(how).map_err(|e| Fault::new("line", e))
}

fn tangent(inputs: &Inputs) -> Result<Linear, Fault> {
    line(inputs, Linearisation::Tangent { at_mm: inputs.real("chip_mm")? })
}

fn over(inputs: &Inputs) -> Result<Interval, Fault> {
    Ok(Interval::new(inputs.real("from_mm")?, inputs.real("to_mm")?))
}

fn fit(inputs: &Inputs) -> Result<Linear, Fault> {
    line(inputs, Linearisation::LeastSquares { over_mm: over(inputs)? })
}

#[test]
fn published_checks_hold() {
    let mut bindings = Bindings::new(env!("CARGO_MANIFEST_DIR"));
    bindings
        .bind(&["kienzle"], |i| Ok(law(i)?.specific_n_mm2(i.real("chip_mm")?)))
        .bind(&["kienzle-tangent-slope"], |i| Ok(tangent(i)?.ktc_n_mm2))
        .bind(&["kienzle-tangent-edge"], |i| Ok(tangent(i)?.kte_n_mm))
        .bind(&["kienzle-fit-slope"], |i| Ok(fit(i)?.ktc_n_mm2))
        .bind(&["kienzle-fit-edge"], |i| Ok(fit(i)?.kte_n_mm))
        .bind(&["kienzle-fit-worst"], |i| Ok(100.0 * law(i)?.worst_error(&fit(i)?, over(i)?)))
        .run();
}
