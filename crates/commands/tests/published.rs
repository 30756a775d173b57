//! Binds the published checks of cheapest speeds and part cost to the calculations.

use commands::calc::{Calculation, Value, cost, speed};
use published::{Bindings, Fault, Inputs};

fn value(calculation: &Calculation, key: &str) -> Result<f64, Fault> {
    let entry = calculation.results.iter().find(|e| e.key == key);
    match entry.map(|e| &e.value) {
        Some(Value::Number(Some(number))) => Ok(*number),
        _ => Err(Fault::new(key, "no such result")),
    }
}

fn best(inputs: &Inputs, key: &str) -> Result<f64, Fault> {
    let request = speed::Request {
        taylor_c: inputs.real("taylor_c_m_per_min")?,
        taylor_n: inputs.real("taylor_n_ratio")?,
        machine_rate: inputs.real("machine_rate_per_hour")?,
        edge_cost: inputs.real("edge_price")?,
        change_min: inputs.real("change_min")?,
    };
    let calculation = speed::run(&request).map_err(|f| Fault::new("speed", format!("{f:?}")))?;
    value(&calculation, key)
}

fn part_cost(inputs: &Inputs) -> Result<f64, Fault> {
    let request = cost::Request {
        cut_min: inputs.real("cut_min")?,
        idle_min: inputs.real("idle_min")?,
        machine_rate: inputs.real("machine_rate_per_hour")?,
        cutter_price: inputs.real("cutter_price")?,
        edges: inputs.real("edges_count")?,
        life_min: inputs.real("life_min")?,
        change_min: inputs.real("change_min")?,
        batch: inputs.real("batch_count")?,
        setup_min: inputs.real("setup_min")?,
    };
    let calculation = cost::run(&request).map_err(|f| Fault::new("cost", format!("{f:?}")))?;
    value(&calculation, "cost_per_part")
}

#[test]
fn published_checks_hold() {
    let cheapest = ["cheapest-speed", "cheapest-speed-textbook", "cheapest-speed-worked-answer"];
    let mut bindings = Bindings::new(env!("CARGO_MANIFEST_DIR"));
    bindings
        .bind(&cheapest, |i| best(i, "least_cost_speed_m_min"))
        .bind(&["cheapest-life"], |i| best(i, "least_cost_life_min"))
        .bind(&["most-output-speed", "most-output-speed-textbook"], |i| {
            best(i, "most_output_speed_m_min")
        })
        .bind(&["part-cost"], part_cost)
        .run();
}
