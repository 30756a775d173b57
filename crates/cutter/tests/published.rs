//! Binds the published checks of forms, contacts and relative curvature to their functions.

use cutter::relative::lever_mm;
use cutter::{Contact, Cutter, CutterSpec, Form, Relative, Touch};
use geom::{Site, Sym2, TangentTensor, Vec3};
use published::{Bindings, Fault, Inputs};

fn fault(error: impl std::fmt::Display) -> Fault {
    Fault::new("cutter", error)
}

fn cutter(form: Form, inputs: &Inputs) -> Result<Cutter, Fault> {
    let some = |name: &str| -> Result<Option<f64>, Fault> {
        let value = inputs.real_or(name, f64::NAN)?;
        Ok((!value.is_nan()).then_some(value))
    };
    Cutter::new(&CutterSpec {
        arc_radius_mm: some("arc_radius_mm")?,
        corner_radius_mm: some("corner_radius_mm")?,
        corner_offset_mm: some("corner_offset_mm")?,
        taper_rad: some("taper_deg")?.map(f64::to_radians),
        ..CutterSpec::new(form, inputs.real("diameter_mm")?)
    })
    .map_err(fault)
}

fn contact(form: Form, inputs: &Inputs) -> Result<Contact, Fault> {
    let kappa_rad = inputs.real("kappa_deg")?.to_radians();
    cutter(form, inputs)?.profile().arc_contact(kappa_rad).map_err(fault)
}

fn layer_diameter_mm(form: Form, inputs: &Inputs) -> Result<f64, Fault> {
    let kappa_rad = inputs.real_or("tilt_deg", 0.0)?.to_radians();
    let layer_mm = inputs.real("layer_mm")?;
    Ok(2.0 * cutter(form, inputs)?.profile().layer_radius_mm(kappa_rad, layer_mm))
}

/// A tool of two radii on a surface of two radii (positive convex), the surface's first direction
/// turned from the profile's.
fn relative(inputs: &Inputs) -> Result<Relative, Fault> {
    let rises =
        |name: &str| -> Result<f64, Fault> { Ok(-1.0 / inputs.real_or(name, f64::INFINITY)?) };
    let (first, second) = (rises("surface_first_radius_mm")?, rises("surface_second_radius_mm")?);
    let turned_rad = inputs.real_or("surface_turned_deg", 0.0)?.to_radians();
    let across = rises("surface_across_radius_mm")?;
    let surface = Sym2::diagonal(first, second).turned(turned_rad) + Sym2::diagonal(across, 0.0);
    let (profile_mm, around_mm) =
        (inputs.real("profile_radius_mm")?, inputs.real_or("around_radius_mm", 5.0)?);
    // axis along x, normal along z: the profile runs along x, around it along y
    let curvature = TangentTensor { e1: Vec3::X, e2: Vec3::Y, entries: surface };
    let site = Site { point: Vec3::ZERO, normal: Vec3::Z, curvature };
    let contact = Contact {
        kappa_rad: std::f64::consts::FRAC_PI_2,
        r_mm: around_mm,
        z_mm: 0.0,
        profile_radius_mm: profile_mm,
        around_radius_mm: around_mm,
        arc_below_mm: f64::INFINITY,
        arc_above_mm: f64::INFINITY,
        centre_mm: (0.0, 0.0),
        touch: Touch::Arc,
    };
    Relative::at(&site, Vec3::X, &contact).ok_or_else(|| fault("no relative curvature"))
}

fn feed(relative: &Relative, from_profile_rad: f64) -> Vec3 {
    let (s, c) = from_profile_rad.sin_cos();
    relative.along_profile * c + relative.around * s
}

fn left_per_mm(inputs: &Inputs) -> Result<f64, Fault> {
    let r = relative(inputs)?;
    let along = feed(&r, inputs.real("feed_deg")?.to_radians());
    r.residual(along).ok_or_else(|| fault("gouges"))
}

/// Feed along the plane of lead: the radius that a leaning corner-radius cutter shows across it.
fn leaning_radius_mm(inputs: &Inputs) -> Result<f64, Fault> {
    let c = cutter(Form::CornerRadius, inputs)?;
    let lead_rad = inputs.real("lead_deg")?.to_radians();
    let contact = c.profile().arc_contact(lead_rad).map_err(fault)?;
    let curvature = TangentTensor { e1: Vec3::X, e2: Vec3::Y, entries: Sym2::diagonal(0.0, 0.0) };
    let site = Site { point: Vec3::ZERO, normal: Vec3::Z, curvature };
    let axis = Vec3::new(lead_rad.sin(), 0.0, lead_rad.cos());
    let r = Relative::at(&site, axis, &contact).ok_or_else(|| fault("no relative curvature"))?;
    r.residual(Vec3::X).map(|k| 1.0 / k).ok_or_else(|| fault("gouges"))
}

fn share_of_best(inputs: &Inputs) -> Result<f64, Fault> {
    let r = relative(inputs)?;
    let off_rad = inputs.real("off_deg")?.to_radians();
    let best = r.best_feed();
    let beside = Vec3::Z.cross(best);
    r.share_of_best(best * off_rad.cos() + beside * off_rad.sin()).ok_or_else(|| fault("gouges"))
}

/// The error turns the axis about the feed, which runs around the cutter.
fn migration_um(inputs: &Inputs) -> Result<f64, Fault> {
    let r = relative(inputs)?;
    let error_rad = inputs.real("error_deg")?.to_radians();
    let moved_mm = r.migration_mm(r.around, error_rad).ok_or_else(|| fault("gouges"))?;
    Ok(1e3 * moved_mm)
}

fn tooth_mark_um(inputs: &Inputs) -> Result<f64, Fault> {
    let along_mm = inputs.real("along_radius_mm")?;
    let mut shape = relative_of(f64::INFINITY, along_mm)?;
    shape.side_mm = f64::INFINITY;
    let mark_mm = shape.tooth_mark_mm(shape.around, inputs.real("feed_per_tooth_mm")?);
    Ok(1e3 * mark_mm.map_err(fault)?)
}

/// A cutter of two radii on a plane.
fn relative_of(profile_mm: f64, around_mm: f64) -> Result<Relative, Fault> {
    let curvature = TangentTensor { e1: Vec3::X, e2: Vec3::Y, entries: Sym2::diagonal(0.0, 0.0) };
    let site = Site { point: Vec3::ZERO, normal: Vec3::Z, curvature };
    let contact = Contact {
        kappa_rad: std::f64::consts::FRAC_PI_2,
        r_mm: around_mm,
        z_mm: 0.0,
        profile_radius_mm: profile_mm,
        around_radius_mm: around_mm,
        arc_below_mm: f64::INFINITY,
        arc_above_mm: f64::INFINITY,
        centre_mm: (0.0, 0.0),
        touch: Touch::Arc,
    };
    Relative::at(&site, Vec3::X, &contact).ok_or_else(|| fault("no relative curvature"))
}

fn lever_um(inputs: &Inputs) -> Result<f64, Fault> {
    let at = Vec3::new(inputs.real("distance_mm")?, 0.0, 3.0);
    Ok(1e3 * lever_mm(Vec3::ZERO, at, Vec3::Z, inputs.real("error_deg")?.to_radians()))
}

fn arc_of(form: Form, inputs: &Inputs) -> Result<cutter::Arc, Fault> {
    cutter(form, inputs)?.profile().main_arc().ok_or_else(|| fault("no arc"))
}

#[test]
fn published_checks_hold() {
    let effective = |form| move |i: &Inputs| Ok(contact(form, i)?.effective_diameter_mm());
    let around = |form| move |i: &Inputs| Ok(contact(form, i)?.around_radius_mm);
    let mut bindings = Bindings::new(env!("CARGO_MANIFEST_DIR"));
    bindings
        .bind(&["ball-layer-diameter"], |i| layer_diameter_mm(Form::Ball, i))
        .bind(&["corner-layer-diameter"], |i| layer_diameter_mm(Form::CornerRadius, i))
        .bind(&["ball-contact-diameter"], effective(Form::Ball))
        .bind(&["lens-contact-diameter"], effective(Form::Lens))
        .bind(&["barrel-contact-diameter"], effective(Form::Barrel))
        .bind(&["tangent-barrel-radius-around"], around(Form::TangentBarrel))
        .bind(&["torus-radius-around"], around(Form::CornerRadius))
        .bind(&["tangent-barrel-junction"], |i| {
            let arc = arc_of(Form::TangentBarrel, i)?;
            Ok(arc.point(arc.kappa_lo_rad).1)
        })
        .bind(&["tangent-barrel-band"], |i| Ok(arc_of(Form::TangentBarrel, i)?.length_mm()))
        .bind(&["taper-barrel-contact-radius"], |i| Ok(contact(Form::TaperBarrel, i)?.r_mm))
        .bind(&["left-curvature-oblique", "left-curvature-saddle"], left_per_mm)
        .bind(&["leaning-torus-radius"], leaning_radius_mm)
        .bind(&["share-of-the-best-feed"], share_of_best)
        .bind(&["contact-migration"], migration_um)
        .bind(&["rotary-lever"], lever_um)
        .bind(&["tooth-mark"], tooth_mark_um)
        .run();
}
