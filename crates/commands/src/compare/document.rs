//! The outcome of a comparison as a document.

use crate::document::Document;
use serde::Serialize;
use serde_json::{Map, Value, json};
use study::outcome::{Claim, LoadKind, OperationOutcome, Outcome, ProcessOutcome, Roughed};

/// What was compared, ready to be shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    outcome: Outcome,
}

impl Comparison {
    /// Wraps an outcome.
    pub fn new(outcome: Outcome) -> Self {
        Self { outcome }
    }

    /// The outcome itself.
    pub fn outcome(&self) -> &Outcome {
        &self.outcome
    }

    /// Predicted times of the processes, in words.
    pub(crate) fn times(&self) -> String {
        let of =
            |p: &study::outcome::ProcessOutcome| format!("{:.1} min {}", p.time_s / 60.0, p.name);
        self.outcome.processes.iter().map(of).collect::<Vec<_>>().join(", ")
    }
}

impl Document for Comparison {
    fn text(&self) -> String {
        super::text::render(&self.outcome)
    }

    fn limits_broken(&self) -> bool {
        let operations = self.outcome.processes.iter().flat_map(|p| &p.operations);
        operations.into_iter().any(|o| !o.broken.is_empty() || !o.unknown_limits.is_empty())
    }
}

impl Serialize for Comparison {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        value(&self.outcome).serialize(serializer)
    }
}

fn value(outcome: &Outcome) -> Value {
    let assumptions = outcome.assumptions.iter().map(|a| {
        json!({ "key": a.key, "value": a.value, "low": a.range.low, "high": a.range.high,
                "because": a.because })
    });
    json!({
        "study": outcome.study,
        "part": outcome.part,
        "material": outcome.material,
        "machine": outcome.machine,
        "currency": outcome.currency,
        "processes": outcome.processes.iter().map(process).collect::<Vec<_>>(),
        "claims": outcome.claims.iter().map(claim).collect::<Vec<_>>(),
        "assumptions": assumptions.collect::<Vec<_>>(),
        "warnings": outcome.warnings,
    })
}

fn process(process: &ProcessOutcome) -> Value {
    let lines = process.cost.iter().map(
        |line| json!({ "what": line.what, "per_part": line.per_part, "rests_on": line.rests_on }),
    );
    json!({
        "name": process.name,
        "time_s": process.time_s,
        "tool_change_s": process.tool_change_s,
        "cost_per_part": process.cost_per_part(),
        "cost": lines.collect::<Vec<_>>(),
        "cutters": process.cutters,
        "operations": process.operations.iter().map(operation).collect::<Vec<_>>(),
    })
}

fn operation(o: &OperationOutcome) -> Value {
    let mut map = head(o);
    let stepover = o.stepover_mm;
    let more = json!({
        "stepover_mm": {
            "min": stepover.map(|s| s.min),
            "mean": stepover.map(|s| s.mean),
            "max": stepover.map(|s| s.max),
        },
        "cusp_um": {
            "predicted_max": o.cusp.predicted_max_um,
            "cut_max": o.cusp.cut_max_um,
            "cut_max_place_mm": o.cusp.cut_max_place_mm,
            "cut_mean": o.cusp.cut_mean_um,
            "interior_max": o.cusp.interior_max_um,
            "border_max": o.cusp.border_max_um,
            "limit": o.cusp.limit_um,
            "good_to": o.cusp.good_to_um,
        },
        "gouge_um": o.gouge.map(|g| g.depth_um),
        "gouge_place_mm": o.gouge.map(|g| g.place_mm),
        "gouge_by": o.gouge.map(|g| g.by),
        "roughness": roughness(o),
        "load": load(o),
        "form_error_um": form_error(o),
        "swarf": { "chip_width_mm": o.swarf.chip_width_mm, "chip_length_mm": o.swarf.chip_length_mm,
                   "volume_cm3": o.swarf.volume_cm3, "bulk_volume_cm3": o.swarf.bulk_volume_cm3,
                   "verdict": o.swarf.verdict },
        "chatter": { "ap_limit_mm": o.chatter.ap_limit_mm, "margin": o.chatter.margin,
                     "ap_mm": o.chatter.ap_mm, "better_rpm": o.chatter.better.map(|b| b.0),
                     "better_ap_limit_mm": o.chatter.better.map(|b| b.1),
                     "modelled_from_rpm": o.chatter.modelled_from_rpm,
                     "lobes": lobes(o),
                     "rests_on": o.chatter.rests_on },
        "roughing": o.roughed.as_ref().map(roughing),
        "headroom": { "feed_factor": o.headroom.feed_factor, "next_limit": o.headroom.next_limit,
                      "binds": o.headroom.binds.as_ref().map(|b| b.0.clone()),
                      "used": o.headroom.binds.as_ref().map(|b| b.1) },
        "tool_life_min": o.life.minutes,
        "tool_life": { "low_min": o.life.range_min.map(|r| r.low),
                       "high_min": o.life.range_min.map(|r| r.high),
                       "criterion": o.life.criterion, "upper_bound": o.life.upper_bound,
                       "missing": o.life.missing },
        "cutters_per_part": o.life.cutters_per_part,
        "closest_approach": o.closest_approach.as_ref().map(|a| {
            json!({ "body": a.body, "distance_mm": a.distance_mm, "place_mm": a.place_mm,
                    "good_to_mm": a.good_to_mm })
        }),
        "limits": o.limits.iter().map(|l| {
            json!({ "limit": l.limit, "time_share": l.time_share, "worth_s": l.worth_s,
                    "relaxed_by": l.relaxed_by })
        }).collect::<Vec<_>>(),
        "broken": o.broken,
        "unknown_limits": o.unknown_limits,
        "warnings": o.warnings,
    });
    if let Value::Object(more) = more {
        map.extend(more);
    }
    Value::Object(map)
}

fn roughing(r: &Roughed) -> Value {
    json!({
        "levels": r.levels,
        "depth_mm": r.depth_mm,
        "least_depth_mm": r.least_depth_mm,
        "width_mm": r.width_mm,
        "arc_of_contact_deg": { "target": r.arc_target_deg, "peak": r.arc_peak_deg,
                                "held_share": r.arc_held_share },
        "slot_mm": r.slot_mm,
        "lifts": r.lifts,
        "links": r.links,
        "stock_cm3": r.stock_cm3,
        "rest_cm3": r.rest_cm3,
        "rest_mm2": r.rest_mm2,
        "rate_cm3_min": r.rate_cm3_min,
        "stock_left_mm": r.left.map(|l| json!({ "least": l.least_mm, "mean": l.mean_mm,
            "most": l.most_mm, "cell_mm": l.cell_mm, "removed_cm3": l.removed_cm3 })),
        "scheduled_feed": r.feed_gain.map(|g| json!({ "constant_s": g.constant_s,
            "scheduled_s": g.scheduled_s, "factor_least": g.least, "factor_most": g.most })),
    })
}

fn head(o: &OperationOutcome) -> Map<String, Value> {
    let head = json!({
        "name": o.name,
        "feature": o.feature,
        "kind": o.kind,
        "cutter": o.cutter,
        "pattern": o.pattern,
        "time_s": {
            "total": o.time.total_s,
            "cutting": o.time.cutting_s,
            "linking": o.time.linking_s,
            "programmed": o.time.programmed_s,
            "measured": o.measured_time_s,
        },
        "feed_attainment": o.feed_attainment,
        "cutting_data": {
            "rpm": o.data.rpm,
            "feed_per_tooth_mm": o.data.feed_per_tooth_mm,
            "feed_mm_min": o.data.contact_feed_mm_min,
            "tip_feed_mm_min": {
                "low": o.data.tip_feed_mm_min.low, "high": o.data.tip_feed_mm_min.high },
            "contact_speed_m_min": o.data.contact_speed_m_min,
            "kappa_deg": { "low": o.data.kappa_deg.low, "high": o.data.kappa_deg.high },
        },
        "path_mm": o.path_mm,
        "tip_path_mm": o.tip_path_mm,
        "link_mm": o.link_mm,
        "passes": o.passes,
        "path_bound_mm": o.path_bound_mm,
        "uncut_mm2": o.uncut_mm2,
    });
    match head {
        Value::Object(map) => map,
        _ => Map::new(),
    }
}

fn roughness(o: &OperationOutcome) -> Vec<Value> {
    let entries = o.roughness.iter().map(|r| {
        json!({ "parameter": r.parameter, "direction": r.direction,
                "um": { "low": r.um.low, "high": r.um.high }, "cutoff_mm": r.cutoff_mm,
                "note": r.note })
    });
    entries.collect()
}

/// Stable depth over speed: best estimate, and the band of the mean matrix at the study's confidence.
fn lobes(o: &OperationOutcome) -> Vec<Value> {
    let band = |i: usize, end: usize| o.chatter.lobes_band.get(i).map(|b| b[end]);
    let point = |(i, p): (usize, &[f64; 2])| json!({ "rpm": p[0], "ap_limit_mm": p[1], "low_mm": band(i, 1), "high_mm": band(i, 2) });
    o.chatter.lobes.iter().enumerate().map(point).collect()
}

/// `null` where no wall is made, or it was not computed.
fn form_error(o: &OperationOutcome) -> Value {
    let Some(e) = &o.form_error else { return Value::Null };
    let height = |[z_mm, left_um]: &[f64; 2]| json!({ "z_mm": z_mm, "left_um": left_um });
    json!({
        "low": e.left_um.low,
        "high": e.left_um.high,
        "range_low": e.range_um.low,
        "range_high": e.range_um.high,
        "limit": e.limit_um,
        "by_height": e.by_height.iter().map(height).collect::<Vec<_>>(),
        "rests_on": e.rests_on,
    })
}

fn load(o: &OperationOutcome) -> Value {
    let mut map = Map::new();
    for kind in LoadKind::ALL {
        let entry = match o.loads.iter().find(|l| l.kind == kind) {
            None => json!({ "mean": null, "peak": null, "limit": null }),
            Some(l) => json!({ "mean": l.mean, "peak": l.peak, "limit": l.limit,
                "peak_low": l.peak_range.map(|r| r.low), "peak_high": l.peak_range.map(|r| r.high),
                "rms": l.rms, "rms_limit": l.rms_limit,
                "surface_low": l.surface.map(|r| r.low), "surface_high": l.surface.map(|r| r.high),
                "limit_from": l.limit_from, "missing": l.missing }),
        };
        map.insert(kind.key().to_owned(), entry);
    }
    Value::Object(map)
}

fn claim(c: &Claim) -> Value {
    json!({
        "process": c.process,
        "operation": c.operation,
        "quantity": c.quantity,
        "like_for_like": c.like_for_like,
        "differs": c.differs,
        "value": c.value,
        "low": c.interval.low,
        "high": c.interval.high,
        "confidence": c.confidence,
        "rests_on": c.rests_on,
        "split": c.split.map(|s| json!({ "stepover": s.stepover_s, "feed": s.feed_s,
                                         "links": s.links_s, "machine": s.machine_s })),
        "settled_by": c.settled_by,
    })
}
