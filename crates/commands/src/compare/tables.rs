//! The comparison as tables for a spreadsheet (CSV, RFC 4180).

use crate::failure::Failure;
use study::outcome::{OperationOutcome, Outcome, ProcessOutcome};

/// All tables with the names of their files.
pub(super) fn all(outcome: &Outcome) -> Result<Vec<(&'static str, Vec<u8>)>, Failure> {
    Ok(vec![
        ("processes.csv", processes(outcome).map_err(failed)?),
        ("operations.csv", operations(outcome).map_err(failed)?),
        ("limits.csv", limits(outcome).map_err(failed)?),
        ("claims.csv", claims(outcome).map_err(failed)?),
    ])
}

fn failed(error: csv::Error) -> Failure {
    Failure::other(format!("a table cannot be written: {error}"), "report this fault")
}

fn finish(writer: csv::Writer<Vec<u8>>) -> Result<Vec<u8>, csv::Error> {
    writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}

fn cell(value: Option<f64>) -> String {
    value.map_or_else(String::new, |v| v.to_string())
}

fn processes(outcome: &Outcome) -> Result<Vec<u8>, csv::Error> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record([
        "process",
        "time_s",
        "tool_change_s",
        "cost_per_part",
        "currency",
        "cutters",
    ])?;
    for p in &outcome.processes {
        out.write_record([
            p.name.clone(),
            p.time_s.to_string(),
            p.tool_change_s.to_string(),
            cell(p.cost_per_part()),
            outcome.currency.clone(),
            p.cutters.to_string(),
        ])?;
    }
    finish(out)
}

const OPERATION_COLUMNS: [&str; 27] = [
    "process",
    "operation",
    "feature",
    "kind",
    "cutter",
    "total_s",
    "cutting_s",
    "linking_s",
    "programmed_s",
    "measured_s",
    "feed_attainment",
    "path_mm",
    "tip_path_mm",
    "link_mm",
    "passes",
    "path_bound_mm",
    "uncut_mm2",
    "stepover_min_mm",
    "stepover_mean_mm",
    "stepover_max_mm",
    "cusp_predicted_max_um",
    "cusp_cut_max_um",
    "cusp_limit_um",
    "gouge_um",
    "form_error_low_um",
    "form_error_high_um",
    "form_tolerance_um",
];

fn operations(outcome: &Outcome) -> Result<Vec<u8>, csv::Error> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(OPERATION_COLUMNS)?;
    for process in &outcome.processes {
        for operation in &process.operations {
            out.write_record(operation_row(process, operation))?;
        }
    }
    finish(out)
}

fn operation_row(p: &ProcessOutcome, o: &OperationOutcome) -> [String; 27] {
    [
        p.name.clone(),
        o.name.clone(),
        o.feature.clone(),
        o.kind.clone(),
        o.cutter.clone(),
        o.time.total_s.to_string(),
        o.time.cutting_s.to_string(),
        o.time.linking_s.to_string(),
        o.time.programmed_s.to_string(),
        cell(o.measured_time_s),
        cell(o.feed_attainment),
        o.path_mm.to_string(),
        o.tip_path_mm.to_string(),
        o.link_mm.to_string(),
        o.passes.to_string(),
        cell(o.path_bound_mm),
        cell(o.uncut_mm2),
        cell(o.stepover_mm.map(|s| s.min)),
        cell(o.stepover_mm.map(|s| s.mean)),
        cell(o.stepover_mm.map(|s| s.max)),
        cell(o.cusp.predicted_max_um),
        cell(o.cusp.cut_max_um),
        cell(o.cusp.limit_um),
        cell(o.gouge.map(|g| g.depth_um)),
        cell(o.form_error.as_ref().map(|e| e.left_um.low)),
        cell(o.form_error.as_ref().map(|e| e.left_um.high)),
        cell(o.form_error.as_ref().and_then(|e| e.limit_um)),
    ]
}

fn limits(outcome: &Outcome) -> Result<Vec<u8>, csv::Error> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(["process", "operation", "limit", "time_share", "worth_s", "relaxed_by"])?;
    for process in &outcome.processes {
        for operation in &process.operations {
            for limit in &operation.limits {
                out.write_record([
                    process.name.clone(),
                    operation.name.clone(),
                    limit.limit.clone(),
                    limit.time_share.to_string(),
                    cell(limit.worth_s),
                    limit.relaxed_by.to_string(),
                ])?;
            }
        }
    }
    finish(out)
}

fn claims(outcome: &Outcome) -> Result<Vec<u8>, csv::Error> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record([
        "process",
        "operation",
        "quantity",
        "like_for_like",
        "differs",
        "value",
        "low",
        "high",
        "confidence",
        "stepover_s",
        "feed_s",
        "links_s",
        "machine_s",
        "rests_on",
    ])?;
    for c in &outcome.claims {
        out.write_record([
            c.process.clone(),
            c.operation.clone().unwrap_or_default(),
            c.quantity.clone(),
            c.like_for_like.to_string(),
            c.differs.clone().unwrap_or_default(),
            c.value.to_string(),
            c.interval.low.to_string(),
            c.interval.high.to_string(),
            c.confidence.to_string(),
            cell(c.split.map(|s| s.stepover_s)),
            cell(c.split.map(|s| s.feed_s)),
            cell(c.split.map(|s| s.links_s)),
            cell(c.split.map(|s| s.machine_s)),
            c.rests_on.join("; "),
        ])?;
    }
    finish(out)
}
