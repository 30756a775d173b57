//! `calc speed`: cheapest and most productive cutting speed for a Taylor line v·Tⁿ = C.
//!
//! The cost of a part is proportional to (1/v)(1 + (t_c + C_t/C_m)/T); its minimum is at
//! T = (1/n − 1)(t_c + C_t/C_m). Derived; valid only where the time goes with 1/v.

use super::{Calculation, number};
use crate::failure::Failure;
use units::RangeCheck;

/// A Taylor line and what time and edges cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request {
    /// C of v·Tⁿ = C: the speed for a life of 1 min, m/min.
    pub taylor_c: f64,
    /// n of v·Tⁿ = C.
    pub taylor_n: f64,
    /// Price of an hour of the machine.
    pub machine_rate: f64,
    /// Price of one life of the cutter.
    pub edge_cost: f64,
    /// Time to change a worn cutter, min.
    pub change_min: f64,
}

/// Runs the calculation.
///
/// # Errors
/// A value out of range: n must lie between 0 and 1 for a minimum to exist.
pub fn run(request: &Request) -> Result<Calculation, Failure> {
    let c = request.taylor_c.positive("--taylor-c")?;
    let n = request.taylor_n.positive("--taylor-n")?;
    let rate_per_min = request.machine_rate.positive("--machine-rate")? / 60.0;
    let edge_cost = request.edge_cost.not_negative("--edge-cost")?;
    let change_min = request.change_min.not_negative("--change-min")?;
    if n >= 1.0 || edge_cost + change_min == 0.0 {
        return Err(Failure::call(
            format!(
                "no speed is cheapest at n = {n}, edge cost {edge_cost}, change {change_min} min"
            ),
            "n below 1, and an edge or a change that costs something",
            "check n: 0.1 to 0.5 is usual",
        ));
    }
    let cheapest_min = (1.0 / n - 1.0) * (change_min + edge_cost / rate_per_min);
    let fastest_min = (1.0 / n - 1.0) * change_min;
    let mut results = vec![
        number("least_cost_speed_m_min", "cheapest speed", c / cheapest_min.powf(n), "m/min"),
        number("least_cost_life_min", "life at that speed", cheapest_min, "min"),
        number("most_output_life_min", "life at most parts per hour", fastest_min, "min"),
    ];
    if fastest_min > 0.0 {
        let speed = c / fastest_min.powf(n);
        results.push(number(
            "most_output_speed_m_min",
            "speed for most parts per hour",
            speed,
            "m/min",
        ));
    }
    Ok(Calculation {
        inputs: vec![
            number("taylor_c", "C", c, "m/min"),
            number("taylor_n", "n", n, ""),
            number("machine_rate", "machine rate", request.machine_rate, "per hour"),
            number("edge_cost", "cost of one life", edge_cost, ""),
            number("change_min", "change", change_min, "min"),
        ],
        results,
    })
}
