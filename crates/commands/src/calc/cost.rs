//! `calc cost`: the cost of one part by its lines.
//!
//! (cut + idle)·r + price/edges·cut/life + change·cut/life·r + setup·r/batch with r per minute.

use super::{Calculation, number};
use crate::failure::Failure;
use units::RangeCheck;

/// Times, prices and lot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request {
    /// Time in cut for one part, min.
    pub cut_min: f64,
    /// Other time of the machine for one part, min.
    pub idle_min: f64,
    /// Price of an hour of the machine.
    pub machine_rate: f64,
    /// Price of a cutter.
    pub cutter_price: f64,
    /// Uses in one price.
    pub edges: f64,
    /// Time in cut that one use lasts, min.
    pub life_min: f64,
    /// Time to change a worn cutter, min.
    pub change_min: f64,
    /// Parts that share one set-up.
    pub batch: f64,
    /// Time of one set-up, min.
    pub setup_min: f64,
}

/// Runs the calculation.
///
/// # Errors
/// A value out of range.
pub fn run(request: &Request) -> Result<Calculation, Failure> {
    let cut = request.cut_min.not_negative("--cut-min")?;
    let idle = request.idle_min.not_negative("--idle-min")?;
    let rate = request.machine_rate.not_negative("--machine-rate")? / 60.0;
    let price = request.cutter_price.not_negative("--cutter-price")?;
    let edges = request.edges.positive("--edges")?;
    let life = request.life_min.positive("--life-min")?;
    let change = request.change_min.not_negative("--change-min")?;
    let batch = request.batch.positive("--batch")?;
    let setup = request.setup_min.not_negative("--setup-min")?;
    let machine = (cut + idle) * rate;
    let cutter = price / edges * cut / life;
    let changes = change * cut / life * rate;
    let setup_share = setup * rate / batch;
    Ok(Calculation {
        inputs: inputs(request),
        results: vec![
            number(
                "cost_per_part",
                "cost of one part",
                machine + cutter + changes + setup_share,
                "",
            ),
            number("machine_cost", "  machine", machine, ""),
            number("cutter_cost", "  cutter", cutter, ""),
            number("change_cost", "  changing worn cutters", changes, ""),
            number("setup_cost", "  set-up", setup_share, ""),
        ],
    })
}

fn inputs(request: &Request) -> Vec<super::Entry> {
    vec![
        number("cut_min", "in cut", request.cut_min, "min"),
        number("idle_min", "idle", request.idle_min, "min"),
        number("machine_rate", "machine rate", request.machine_rate, "per hour"),
        number("cutter_price", "price of a cutter", request.cutter_price, ""),
        number("edges", "uses", request.edges, ""),
        number("life_min", "life", request.life_min, "min"),
        number("change_min", "change", request.change_min, "min"),
        number("batch", "parts per set-up", request.batch, ""),
        number("setup_min", "set-up", request.setup_min, "min"),
    ]
}
