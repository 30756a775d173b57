//! `calc contact`: where a cutter touches at a given angle, and its shape there.

use super::{Calculation, Entry, Value, number, optional};
use crate::failure::Failure;
use cutter::{Cutter, CutterSpec, Form};

/// A cutter and an angle.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Form as files name it: `ball`, `tangent-barrel` …
    pub form: String,
    /// Largest cutting diameter, mm.
    pub diameter_mm: f64,
    /// Radius of the large arc, mm.
    pub arc_radius_mm: Option<f64>,
    /// Radius of the corner or tip, mm.
    pub corner_radius_mm: Option<f64>,
    /// Distance of the tip arc's centre from the axis, mm.
    pub corner_offset_mm: Option<f64>,
    /// Taper per side, degrees.
    pub taper_deg: Option<f64>,
    /// Length of the flutes, mm; left out: the whole arc counts.
    pub flute_length_mm: Option<f64>,
    /// Angle between the surface normal and the axis, degrees.
    pub kappa_deg: f64,
}

/// The words for the forms, in the order in which they are listed.
pub fn forms() -> Vec<&'static str> {
    Form::ALL.iter().map(|form| form.name()).collect()
}

/// Runs the calculation.
///
/// # Errors
/// The cutter cannot be, or its arc does not reach the angle.
pub fn run(request: &Request) -> Result<Calculation, Failure> {
    let cutter = Cutter::new(&spec(request)?).map_err(|error| {
        let expected = "a cutter whose arcs meet";
        Failure::call(format!("this cutter cannot be: {error}"), expected, "correct its lengths")
    })?;
    let kappa_rad = request.kappa_deg.to_radians();
    let contact = cutter.profile().arc_contact(kappa_rad).map_err(|error| {
        let expected = "an angle that the arc reaches";
        Failure::call(format!("no contact: {error}"), expected, "change --kappa-deg or the form")
    })?;
    let effective = contact.effective_diameter_mm();
    Ok(Calculation {
        inputs: inputs(request),
        results: vec![
            number("contact_radius_mm", "contact from the axis", contact.r_mm, "mm"),
            number("contact_z_mm", "contact above the tip", contact.z_mm, "mm"),
            number("effective_diameter_mm", "effective diameter", effective, "mm"),
            number("profile_radius_mm", "radius across the feed", contact.profile_radius_mm, "mm"),
            number(
                "feed_direction_radius_mm",
                "radius along the feed",
                contact.around_radius_mm,
                "mm",
            ),
            number("arc_below_mm", "arc below the contact", contact.arc_below_mm, "mm"),
            number("arc_above_mm", "arc above the contact", contact.arc_above_mm, "mm"),
        ],
    })
}

fn spec(request: &Request) -> Result<CutterSpec, Failure> {
    let Some(form) = Form::from_name(&request.form) else {
        let message = format!("--form is \"{}\"", request.form);
        let remedy = match study::nearest(&request.form, forms()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => "take one of these words".to_owned(),
        };
        return Err(Failure::call(message, study::listed(forms()), remedy));
    };
    Ok(CutterSpec {
        arc_radius_mm: request.arc_radius_mm,
        corner_radius_mm: request.corner_radius_mm,
        corner_offset_mm: request.corner_offset_mm,
        taper_rad: request.taper_deg.map(f64::to_radians),
        flute_length_mm: request.flute_length_mm,
        ..CutterSpec::new(form, request.diameter_mm)
    })
}

fn inputs(request: &Request) -> Vec<Entry> {
    let form = Value::Word(request.form.clone());
    vec![
        Entry { key: "form", label: "form", value: form, unit: "" },
        number("diameter_mm", "diameter", request.diameter_mm, "mm"),
        optional("arc_radius_mm", "radius of the arc", request.arc_radius_mm, "mm"),
        optional("corner_radius_mm", "corner radius", request.corner_radius_mm, "mm"),
        optional("corner_offset_mm", "corner offset", request.corner_offset_mm, "mm"),
        optional("taper_deg", "taper", request.taper_deg, "°"),
        optional("flute_length_mm", "flute length", request.flute_length_mm, "mm"),
        number("kappa_deg", "contact angle", request.kappa_deg, "°"),
    ]
}
