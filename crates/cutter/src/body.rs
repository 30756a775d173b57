//! A cutter that exists: its numbers checked, its profile built.

use crate::error::{CutterError, NoContact};
use crate::form;
use crate::profile::Profile;
use crate::spec::{CutterSpec, Form};
use units::RangeCheck;

/// Largest lengths that make sense on a machine tool, mm (common practice, no source).
const LARGEST_MM: [(&str, f64); 5] = [
    ("diameter_mm", 500.0),
    ("arc_radius_mm", 100_000.0),
    ("flute_length_mm", 1000.0),
    ("overall_length_mm", 2000.0),
    ("shank_diameter_mm", 200.0),
];

/// Contact angle of a ball that leans as good practice has it, away from its standing tip, rad.
const BALL_LEAN_DEG: f64 = 15.0;

/// A cutter whose numbers fit together.
#[derive(Debug, Clone, PartialEq)]
pub struct Cutter {
    spec: CutterSpec,
    profile: Profile,
    notes: Vec<String>,
}

impl Cutter {
    /// Checks the numbers and builds the profile.
    ///
    /// # Errors
    /// The reason why such a cutter cannot exist.
    pub fn new(spec: &CutterSpec) -> Result<Self, CutterError> {
        check_units(spec)?;
        check_details(spec)?;
        let chain = form::chain(spec)?;
        let profile = Profile::new(&chain.elements);
        check_lengths(spec, &profile)?;
        Ok(Self { spec: spec.clone(), profile, notes: chain.notes })
    }

    /// The numbers it was built from.
    pub fn spec(&self) -> &CutterSpec {
        &self.spec
    }

    /// Its form.
    pub fn form(&self) -> Form {
        self.spec.form
    }

    /// The cutting part.
    pub fn profile(&self) -> &Profile {
        &self.profile
    }

    /// What a person should know: an arc that is cut short, a length that was assumed.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// Contact angles that the form's main arc can take, rad; `None` without an arc.
    pub fn usable_kappa_rad(&self) -> Option<(f64, f64)> {
        self.profile.main_arc().map(|a| (a.kappa_lo_rad, a.kappa_hi_rad))
    }

    /// Contact angle where none is asked for, rad: the middle of the usable arc, 15° for a ball,
    /// and 0 for a cutter without an arc.
    pub fn default_kappa_rad(&self) -> f64 {
        match (self.spec.form, self.usable_kappa_rad()) {
            (Form::Ball | Form::TaperedBall, Some((lo, hi))) => {
                BALL_LEAN_DEG.to_radians().clamp(lo, hi)
            }
            (_, Some((lo, hi))) => 0.5 * (lo + hi),
            (_, None) => 0.0,
        }
    }

    /// Contact angles at which at least `side_mm` of the main arc is left on either side, rad.
    ///
    /// # Errors
    /// [`NoContact`] where the arc is too short for that, or missing.
    pub fn kappa_with_side_rad(&self, side_mm: f64) -> Result<(f64, f64), NoContact> {
        let arc = self.profile.main_arc().ok_or(NoContact::NoArc { kappa_rad: 0.0 })?;
        let margin = side_mm / arc.radius_mm;
        let (lo_rad, hi_rad) = (arc.kappa_lo_rad, arc.kappa_hi_rad);
        if hi_rad - lo_rad < 2.0 * margin {
            let kappa_rad = 0.5 * (lo_rad + hi_rad) + margin;
            return Err(NoContact::OffTheArc { kappa_rad, lo_rad, hi_rad });
        }
        Ok((lo_rad + margin, hi_rad - margin))
    }
}

fn check_units(spec: &CutterSpec) -> Result<(), CutterError> {
    let given = [
        Some(spec.diameter_mm),
        spec.arc_radius_mm,
        spec.flute_length_mm,
        spec.overall_length_mm,
        spec.shank_diameter_mm,
    ];
    for ((quantity, largest_mm), value) in LARGEST_MM.into_iter().zip(given) {
        if let Some(value_mm) = value.filter(|v| v.is_finite() && *v > largest_mm) {
            return Err(CutterError::UnitsMistaken { quantity, value_mm, largest_mm });
        }
    }
    Ok(())
}

fn check_details(spec: &CutterSpec) -> Result<(), CutterError> {
    let lengths = [
        (spec.overall_length_mm, "overall_length_mm"),
        (spec.shank_diameter_mm, "shank_diameter_mm"),
        (spec.neck_diameter_mm, "neck_diameter_mm"),
        (spec.usable_length_mm, "usable_length_mm"),
        (spec.stickout_mm, "stickout_mm"),
    ];
    for (value, name) in lengths {
        value.map(|v| v.positive(name)).transpose()?;
    }
    for segment in &spec.holder {
        segment.diameter_mm.positive("holder diameter_mm")?;
        segment.length_mm.positive("holder length_mm")?;
        segment.top_diameter_mm.map(|d| d.positive("holder top_diameter_mm")).transpose()?;
    }
    if let Some(helix) = spec.helix_rad {
        helix.to_degrees().within("helix_deg", -80.0, 80.0)?;
    }
    match spec.teeth {
        Some(teeth) if !(1..=100).contains(&teeth) => Err(CutterError::Teeth { teeth }),
        _ => Ok(()),
    }
}

fn check_lengths(spec: &CutterSpec, profile: &Profile) -> Result<(), CutterError> {
    let order = |shorter: (&'static str, Option<f64>), longer: (&'static str, Option<f64>), why| {
        let slack = geom::tolerance::COINCIDENT_MM;
        match (shorter.1, longer.1) {
            (Some(a), Some(b)) if a > b + slack => Err(CutterError::Order {
                shorter: shorter.0,
                shorter_mm: a,
                longer: longer.0,
                longer_mm: b,
                why,
            }),
            _ => Ok(()),
        }
    };
    let flutes = ("flute_length_mm", spec.flute_length_mm);
    let overall = ("overall_length_mm", spec.overall_length_mm);
    let stickout = ("stickout_mm", spec.stickout_mm);
    let usable = ("usable_length_mm", spec.usable_length_mm);
    order(flutes, overall, "the flutes are part of the cutter")?;
    order(usable, overall, "the neck is part of the cutter")?;
    order(stickout, overall, "the rest is clamped in the holder")?;
    order(flutes, stickout, "the holder cannot clamp the flutes")?;
    order(flutes, usable, "the neck begins where the flutes end")?;
    if spec.flute_length_mm.is_none() {
        order(
            ("the cutting part's length", Some(profile.top_mm())),
            overall,
            "it must hold the form",
        )?;
    }
    let neck = ("neck_diameter_mm", spec.neck_diameter_mm);
    order(neck, ("diameter_mm", Some(spec.diameter_mm)), "a neck wider than the flutes would rub")
}
