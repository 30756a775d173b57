//! `calc lobes`: the depth of cut up to which a cut stays free of chatter, over the spindle speed.

use super::{Calculation, Entry, Value, number, words};
use crate::failure::Failure;
use crate::files;
use stability::advice::MODELLED_WAVES;
use stability::cut::{Direction, Immersion};
use stability::limit::{Limit, LimitError, Method, limits};
use stability::{Axis, Cut, Mode, Structure, fit, frf};
use std::path::PathBuf;
use units::RangeCheck;

/// Depth beyond which a cut counts as free of chatter, mm.
const DEEPEST_MM: f64 = 500.0;
/// Most speeds of one call.
const MOST_SPEEDS: f64 = 20_000.0;

/// How an axis gives way.
#[derive(Debug, Clone, PartialEq)]
pub enum Give {
    /// Not at all.
    Rigid,
    /// One mode: frequency in Hz, damping ratio, stiffness in N/µm.
    Mode([f64; 3]),
    /// A measured response: rows of Hz, real and imaginary part in m/N.
    File(PathBuf),
}

/// A cut and what gives way.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Number of teeth.
    pub teeth: u32,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Width of cut across the axis, mm.
    pub ae_mm: f64,
    /// Up milling instead of down milling.
    pub up: bool,
    /// Tangential coefficient, N/mm².
    pub kt_n_mm2: f64,
    /// Radial over tangential force.
    pub kr: f64,
    /// Along the feed.
    pub x: Give,
    /// Across the feed.
    pub y: Give,
    /// Slowest and fastest speed, rev/min.
    pub speeds_rpm: [f64; 2],
    /// How many speeds.
    pub count: u32,
    /// How the limit is found: `zeroth-order` or `semi-discretisation`.
    pub method: String,
}

/// Words for the methods.
pub const METHODS: [&str; 2] = ["zeroth-order", "semi-discretisation"];

/// Runs the calculation.
///
/// # Errors
/// A value out of range; nothing gives way; a response that cannot be read.
pub fn run(request: &Request) -> Result<Calculation, Failure> {
    let direction = if request.up { Direction::Up } else { Direction::Down };
    let immersion = Immersion::of_width(request.diameter_mm, request.ae_mm, direction)?;
    let cut = Cut::new(request.teeth, request.kt_n_mm2, request.kr, immersion)?;
    let method = match request.method.as_str() {
        "zeroth-order" => Method::ZerothOrder,
        "semi-discretisation" => Method::SemiDiscretisation,
        other => {
            let message = format!("--method is \"{other}\"");
            return Err(Failure::call(message, study::listed(METHODS), "take one of these words"));
        }
    };
    let speeds = speeds(request)?;
    let structure = Structure { x: axis(&request.x, method)?, y: axis(&request.y, method)? };
    let found = limits(&structure, &cut, &speeds, method, DEEPEST_MM).map_err(refused)?;
    let points = speeds.iter().zip(&found).map(|(rpm, limit)| point(*rpm, *limit)).collect();
    let mut results =
        vec![Entry { key: "points", label: "limits", value: Value::List(points), unit: "" }];
    let mut notes = notes(&cut, method, &speeds, &found);
    for (axis, key, label) in [
        (&structure.x, "fitted_x", "modes fitted along the feed"),
        (&structure.y, "fitted_y", "modes fitted across the feed"),
    ] {
        if let Axis::Fitted(fit) = axis {
            results.push(Entry { key, label, value: Value::List(fitted(fit)), unit: "" });
            notes.push(format!(
                "{label} leave {:.1} % of the measured response unexplained",
                100.0 * fit.misfit()
            ));
        }
    }
    results.push(words("warnings", "note", notes));
    Ok(Calculation { inputs: inputs(request), results })
}

fn refused(error: LimitError) -> Failure {
    match error {
        LimitError::Range(range) => range.into(),
        LimitError::Rigid => Failure::call(
            "both axes are rigid, so that nothing can chatter",
            "at least one axis that gives way",
            "give --mode-x, --mode-y, --response-x or --response-y",
        ),
        LimitError::NeedsModes { axis } => Failure::call(
            format!("axis {axis} is a measured response, and semi-discretisation needs modes"),
            "modes, or the zeroth order",
            "give --mode-x and --mode-y, or --method zeroth-order",
        ),
    }
}

/// The axis as the method takes it: modes are fitted to a measured response where it needs them.
fn axis(give: &Give, method: Method) -> Result<Axis, Failure> {
    match give {
        Give::Rigid => Ok(Axis::Rigid),
        Give::Mode([frequency_hz, damping, stiffness_n_um]) => {
            Ok(Axis::mode(Mode::new(*frequency_hz, *damping, 1000.0 * stiffness_n_um)?))
        }
        Give::File(path) => {
            let bytes = files::read(path)?;
            let shown = path.display().to_string();
            let response = frf::read(&bytes, &shown).map_err(|e| {
                let place = format!("{}, line {}, column {}", e.file, e.line, e.column);
                Failure::call(format!("{place}: {}", e.found), e.expected, e.remedy)
            })?;
            if method == Method::ZerothOrder {
                return Ok(Axis::Measured(response));
            }
            let fitted = fit::modes(&response).map_err(|e| {
                let expected = "a response that modes stand for";
                let remedy = "or take --method zeroth-order, which needs no modes";
                Failure::call(format!("{shown}: {e}"), expected, remedy)
            })?;
            Ok(Axis::Fitted(fitted))
        }
    }
}

/// The modes of a fit, as a request would give them.
fn fitted(fit: &fit::Fit) -> Vec<Vec<Entry>> {
    let row = |mode: &Mode| {
        vec![
            number("frequency_hz", "frequency", mode.frequency_hz, "Hz"),
            number("damping", "damping", mode.damping, ""),
            number("stiffness_n_per_um", "stiffness", mode.stiffness_n_mm / 1000.0, "N/µm"),
        ]
    };
    fit.modes().iter().map(row).collect()
}

fn speeds(request: &Request) -> Result<Vec<f64>, Failure> {
    let [low, high] = request.speeds_rpm;
    let low = low.positive("the slowest speed of --rpm")?;
    let high = high.positive("the fastest speed of --rpm")?;
    let count =
        f64::from(request.count).within("the number of speeds of --rpm", 1.0, MOST_SPEEDS)?;
    if high < low {
        return Err(Failure::call(
            format!("--rpm runs from {low} down to {high}"),
            "the slower speed first",
            "swap the two",
        ));
    }
    let at = |i: u32| {
        if request.count == 1 { low } else { low + (high - low) * f64::from(i) / (count - 1.0) }
    };
    Ok((0..request.count).map(at).collect())
}

fn point(rpm: f64, limit: Option<Limit>) -> Vec<Entry> {
    let of = |key, label, value: Option<f64>, unit| Entry {
        key,
        label,
        value: Value::Number(value),
        unit,
    };
    vec![
        of("rpm", "speed", Some(rpm), "1/min"),
        of("ap_limit_mm", "stable to", limit.map(|l| l.depth_mm), "mm"),
        of("chatter_hz", "chatter", limit.map(|l| l.chatter_hz), "Hz"),
    ]
}

fn notes(cut: &Cut, method: Method, speeds: &[f64], found: &[Option<Limit>]) -> Vec<String> {
    let mut out = Vec::new();
    if method == Method::ZerothOrder && cut.mean_teeth() < 1.0 {
        out.push(
            "fewer than one tooth is in the cut on average: lobes of period doubling are missing \
             here; take --method semi-discretisation"
                .to_owned(),
        );
    }
    let slow = speeds.iter().zip(found).filter(|(rpm, limit)| {
        limit.is_some_and(|l| l.chatter_hz * cut.tooth_period_s(**rpm) > MODELLED_WAVES)
    });
    if slow.count() > 0 {
        out.push(format!(
            "more than {MODELLED_WAVES} waves between teeth at the slow end: rubbing of the flank damps \
             there and is not modelled"
        ));
    }
    if found.iter().any(Option::is_none) {
        out.push(format!("no number: no depth up to {DEEPEST_MM} mm chatters"));
    }
    out
}

fn inputs(request: &Request) -> Vec<Entry> {
    let word = |key, label, text: String| Entry { key, label, value: Value::Word(text), unit: "" };
    let give = |give: &Give| match give {
        Give::Rigid => "rigid".to_owned(),
        Give::Mode([f, zeta, k]) => format!("{f} Hz, {zeta}, {k} N/µm"),
        Give::File(path) => path.display().to_string(),
    };
    vec![
        number("teeth", "teeth", f64::from(request.teeth), ""),
        number("diameter_mm", "diameter", request.diameter_mm, "mm"),
        number("ae_mm", "width of cut", request.ae_mm, "mm"),
        word("milling", "milling", if request.up { "up" } else { "down" }.to_owned()),
        number("kt_n_mm2", "Kt", request.kt_n_mm2, "N/mm²"),
        number("kr", "Kr", request.kr, ""),
        word("x", "along the feed", give(&request.x)),
        word("y", "across the feed", give(&request.y)),
        word("method", "method", request.method.clone()),
    ]
}
