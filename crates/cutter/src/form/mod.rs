//! The eight forms: from the numbers of a cutter to the chain of its profile.

mod ball;
mod barrel;
mod corner_radius;
mod flat;
mod lens;
mod tangent_barrel;
mod taper_barrel;
mod tapered_ball;
mod tip_arc;

use crate::error::CutterError;
use crate::profile::{Arc, Element, Line};
use crate::spec::{CutterSpec, Form};
use std::f64::consts::FRAC_PI_2;
use units::RangeCheck;

/// The profile's chain with the length of the flutes.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Chain {
    /// Elements from the tip to the end of the flutes.
    pub(crate) elements: Vec<Element>,
    /// What a person should know about it.
    pub(crate) notes: Vec<String>,
}

/// Chain of the cutting part.
pub(crate) fn chain(spec: &CutterSpec) -> Result<Chain, CutterError> {
    let dims = Dims::of(spec)?;
    let whole = match spec.form {
        Form::Flat => flat::chain(&dims),
        Form::CornerRadius => corner_radius::chain(&dims),
        Form::Ball => ball::chain(&dims),
        Form::TaperedBall => tapered_ball::chain(&dims),
        Form::Barrel => barrel::chain(&dims),
        Form::TangentBarrel => tangent_barrel::chain(&dims),
        Form::TaperBarrel => taper_barrel::chain(&dims),
        Form::Lens => lens::chain(&dims),
    }?;
    to_flutes(whole, &dims)
}

/// The numbers that a form draws on, each checked for its range.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Dims {
    form: Form,
    radius: f64,
    arc: Option<f64>,
    corner: Option<f64>,
    offset: Option<f64>,
    taper: Option<f64>,
    flutes: Option<f64>,
}

impl Dims {
    fn of(spec: &CutterSpec) -> Result<Self, CutterError> {
        let positive = |v: Option<f64>, name| v.map(|x| x.positive(name)).transpose();
        let not_negative = |v: Option<f64>, name| v.map(|x| x.not_negative(name)).transpose();
        let taper_deg = spec.taper_rad.map(f64::to_degrees);
        if let Some(t) = taper_deg {
            t.within("taper_deg", 0.0, 80.0)?;
        }
        Ok(Self {
            form: spec.form,
            radius: 0.5 * spec.diameter_mm.positive("diameter_mm")?,
            arc: positive(spec.arc_radius_mm, "arc_radius_mm")?,
            corner: not_negative(spec.corner_radius_mm, "corner_radius_mm")?,
            offset: not_negative(spec.corner_offset_mm, "corner_offset_mm")?,
            taper: spec.taper_rad,
            flutes: positive(spec.flute_length_mm, "flute_length_mm")?,
        })
    }

    fn need(&self, value: Option<f64>, quantity: &'static str) -> Result<f64, CutterError> {
        value.ok_or(CutterError::Missing { form: self.form.name(), quantity })
    }

    /// Refuses numbers that the form has no use for.
    fn unused(&self, list: &[(Option<f64>, &'static str)]) -> Result<(), CutterError> {
        match list.iter().find(|(value, _)| value.is_some_and(|v| v != 0.0)) {
            Some(&(_, quantity)) => Err(CutterError::Unused { form: self.form.name(), quantity }),
            None => Ok(()),
        }
    }

    fn no_barrel_numbers(&self) -> Result<(), CutterError> {
        self.unused(&[(self.arc, "arc_radius_mm"), (self.offset, "corner_offset_mm")])
    }
}

fn line(from_mm: (f64, f64), to_mm: (f64, f64)) -> Option<Element> {
    let (dr, dz) = (to_mm.0 - from_mm.0, to_mm.1 - from_mm.1);
    let long = dr.hypot(dz) > geom::tolerance::COINCIDENT_MM;
    long.then(|| Element::Line(Line { from_mm, to_mm, kappa_rad: dz.atan2(dr) }))
}

fn arc(centre: (f64, f64), radius_mm: f64, lo_rad: f64, hi_rad: f64) -> Option<Element> {
    let real = radius_mm > 0.0 && hi_rad - lo_rad > geom::tolerance::PARALLEL_RAD;
    real.then_some(Element::Arc(Arc {
        r0_mm: centre.0,
        z0_mm: centre.1,
        radius_mm,
        kappa_lo_rad: lo_rad,
        kappa_hi_rad: hi_rad,
    }))
}

/// Runs the chain on as a cylinder to the end of the flutes, or cuts it off there.
fn to_flutes(elements: Vec<Element>, dims: &Dims) -> Result<Chain, CutterError> {
    let mut notes = Vec::new();
    let top = elements.last().map_or((dims.radius, 0.0), Element::end);
    let Some(flutes) = dims.flutes else {
        let mut elements = elements;
        // the cylinder's length is not known: one diameter of it, so that the flank exists
        let runs_on = !matches!(dims.form, Form::Barrel | Form::TaperBarrel | Form::TaperedBall);
        if runs_on {
            elements.extend(line(top, (top.0, top.1 + 2.0 * dims.radius)));
        }
        notes.push("the flute length is not given: the whole arc counts".to_owned());
        return Ok(Chain { elements, notes });
    };
    let mut kept = Vec::with_capacity(elements.len() + 1);
    for e in &elements {
        kept.extend(below(e, flutes));
    }
    if flutes > top.1 {
        kept.extend(line(top, (top.0, flutes)));
    }
    let reached = kept.iter().fold(0.0_f64, |r, e| {
        let belly = e.kappa_range().0 <= FRAC_PI_2 && e.kappa_range().1 >= FRAC_PI_2;
        let widest = match e {
            Element::Arc(a) if belly => a.r0_mm + a.radius_mm,
            _ => e.start().0.max(e.end().0),
        };
        r.max(widest)
    });
    if reached < dims.radius - geom::tolerance::COINCIDENT_MM {
        notes.push(format!(
            "the flutes end {flutes} mm above the tip, where the cutter is {:.4} mm wide: it does not reach its diameter of {} mm",
            2.0 * reached,
            2.0 * dims.radius
        ));
    }
    if largest_arc(&elements) > largest_arc(&kept) {
        return Err(CutterError::FlutesTooShort {
            flute_length_mm: flutes,
            needed_mm: main_arc_start(&elements),
            why: "they end below the form's arc",
        });
    }
    Ok(Chain { elements: kept, notes })
}

fn largest_arc(elements: &[Element]) -> f64 {
    elements.iter().fold(0.0, |r, e| match e {
        Element::Arc(a) => a.radius_mm.max(r),
        Element::Line(_) => r,
    })
}

fn main_arc_start(elements: &[Element]) -> f64 {
    let largest = largest_arc(elements);
    elements
        .iter()
        .find(|e| matches!(e, Element::Arc(a) if a.radius_mm == largest))
        .map_or(0.0, |e| e.start().1)
}

/// The part of an element below height `z`, if any.
fn below(e: &Element, z: f64) -> Option<Element> {
    if e.end().1 <= z {
        return Some(*e);
    }
    if e.start().1 >= z {
        return None;
    }
    match *e {
        Element::Line(l) => {
            let t = (z - l.from_mm.1) / (l.to_mm.1 - l.from_mm.1);
            line(l.from_mm, (l.from_mm.0 + t * (l.to_mm.0 - l.from_mm.0), z))
        }
        Element::Arc(a) => {
            let hi = ((a.z0_mm - z) / a.radius_mm).clamp(-1.0, 1.0).acos();
            arc((a.r0_mm, a.z0_mm), a.radius_mm, a.kappa_lo_rad, hi.min(a.kappa_hi_rad))
        }
    }
}
