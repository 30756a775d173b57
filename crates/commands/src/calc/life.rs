//! `calc life`: how long an edge lasts in a material, by the extended Taylor law.

use super::{Calculation, Entry, Value, flag, number, optional, sentence, words};
use crate::failure::Failure;
use crate::material::named;
use mechanics::life::{EdgeUse, Life, edge_life, effective_speed_m_min, iso_8688_2};
use units::RangeCheck;

/// A material and a cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Id of the material, or its file.
    pub material: String,
    /// Cutting speed where the edge touches, m/min.
    pub speed_m_min: f64,
    /// Feed per tooth, mm.
    pub feed_per_tooth_mm: f64,
    /// Width of cut, mm.
    pub width_mm: Option<f64>,
    /// Depth of cut, mm.
    pub depth_mm: Option<f64>,
    /// Cutting diameter, mm.
    pub diameter_mm: Option<f64>,
}

/// Runs the calculation. Without constants for the material the minutes are empty and the reason
/// is given.
///
/// # Errors
/// The material is not known, or a value cannot be.
pub fn run(request: &Request) -> Result<Calculation, Failure> {
    let material = named("--material", &request.material)?;
    let cut = cut(request)?;
    let results = match edge_life(&material, None, &cut) {
        Ok(life) => results(&life),
        Err(missing) => none(missing.reason),
    };
    let word = |key, label, text: &str| Entry {
        key,
        label,
        value: Value::Word(text.to_owned()),
        unit: "",
    };
    Ok(Calculation {
        inputs: vec![
            word("material", "material", &material.id),
            number("speed_m_min", "cutting speed", cut.speed_m_min, "m/min"),
            number("feed_per_tooth_mm", "feed per tooth", cut.feed_per_tooth_mm, "mm"),
            optional("width_mm", "width of cut", cut.width_mm, "mm"),
            optional("depth_mm", "depth of cut", cut.depth_mm, "mm"),
            optional("diameter_mm", "diameter", cut.diameter_mm, "mm"),
        ],
        results,
    })
}

fn cut(request: &Request) -> Result<EdgeUse, Failure> {
    if request.speed_m_min == 0.0
        && let Err(missing) = effective_speed_m_min(0.0, 1.0)
    {
        let expected = "the cutting speed where the edge touches, above 0";
        let remedy = "`trialcut calc contact` gives the diameter at which a tilted cutter touches";
        return Err(Failure::call(format!("--vc is 0: {missing}"), expected, remedy));
    }
    let positive = |value: Option<f64>, option| value.map(|v| v.positive(option)).transpose();
    let cut = EdgeUse {
        speed_m_min: request.speed_m_min.positive("--vc")?,
        feed_per_tooth_mm: request.feed_per_tooth_mm.positive("--feed-per-tooth")?,
        width_mm: positive(request.width_mm, "--ae")?,
        depth_mm: positive(request.depth_mm, "--ap")?,
        diameter_mm: positive(request.diameter_mm, "--diameter")?,
    };
    match (cut.width_mm, cut.diameter_mm) {
        (Some(width), Some(diameter)) if width > diameter => Err(Failure::call(
            format!("--ae is {width}, wider than the cutter of {diameter} mm"),
            "a width of cut up to the diameter",
            "correct --ae or --diameter",
        )),
        _ => Ok(cut),
    }
}

fn results(life: &Life) -> Vec<Entry> {
    let word = |key, label, text: String| Entry { key, label, value: Value::Word(text), unit: "" };
    vec![
        number("minutes", "cutting time of an edge", life.minutes, "min"),
        number("low", "lower end, 90 %", life.interval_min.low, "min"),
        number("high", "upper end, 90 %", life.interval_min.high, "min"),
        word("criterion", "until", life.criterion.clone()),
        flag("upper_bound", "an upper bound", life.upper_bound),
        word("edge", "edge of the test", life.edge.words().to_owned()),
        sentence("source", "constants", life.source.to_string()),
        sentence("standard", "for comparison", iso_8688_2::CRITERION),
        words("warnings", "note", life.warnings.clone()),
    ]
}

fn none(reason: String) -> Vec<Entry> {
    let empty = |key, label| Entry { key, label, value: Value::Number(None), unit: "" };
    vec![
        optional("minutes", "cutting time of an edge", None, "min"),
        optional("low", "lower end, 90 %", None, "min"),
        optional("high", "upper end, 90 %", None, "min"),
        empty("criterion", "until"),
        empty("upper_bound", "an upper bound"),
        sentence("reason", "no figure", reason),
        words("warnings", "note", Vec::new()),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// No material of the library panics or gives a figure that is not one; those without constants
    /// say why.
    #[test]
    fn every_material_gives_a_figure_or_a_reason() {
        let mut figures = 0;
        for material in study::materials() {
            let request = Request {
                material: material.id.clone(),
                speed_m_min: 120.0,
                feed_per_tooth_mm: 0.06,
                width_mm: Some(1.5),
                depth_mm: Some(10.0),
                diameter_mm: Some(12.0),
            };
            let found = run(&request).unwrap();
            let entry = |key| found.results.iter().find(|e| e.key == key).map(|e| &e.value);
            let number = |key| match entry(key) {
                Some(Value::Number(number)) => *number,
                _ => None,
            };
            match number("minutes") {
                Some(minutes) => {
                    let (low, high) = (number("low").unwrap(), number("high").unwrap());
                    assert!(0.0 < low && low < minutes && minutes < high, "{}", material.id);
                    assert!(high.is_finite());
                    figures += 1;
                }
                None => {
                    assert!(matches!(entry("reason"), Some(Value::Sentence(s)) if s.len() > 20))
                }
            }
        }
        assert!(figures >= 15, "{figures} materials have constants");
    }
}
