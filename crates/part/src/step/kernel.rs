//! The default reader: the geometry kernel's data turned into a [`StepModel`].

use super::model::{Body, Remark, StepFace, StepModel, StepReader, Tessellation, TrimLoop};
use super::{Outline, choice, refine};
use crate::build::LARGEST_MM;
use crate::error::{Place, ReadError};
use crate::format::Format;
use crate::read::ReadOptions;
use crate::unit::LengthUnit;
use geom::surface::{
    Curve, Extrusion, Frame, Knots, NurbsCurve, NurbsError, NurbsSurface, Revolution, Surface,
};
use geom::{TriMesh, Vec2, Vec3};

/// Chord height asked of the kernel over the deviation allowed: what is left is split here.
const ASKED_SHARE: f64 = 0.8;
/// Chord height asked for inside of faces over that along borders: the kernel takes long over fine
/// insides, and makes them finer than need be; splitting what is too far off costs less.
const INSIDE_FACTOR: f64 = 4.0;
/// Largest turn of the normal over a triangle edge, rad.
const TURN_RAD: f64 = 0.35;
/// After this long the kernel gives up, s.
const TIME_LIMIT_S: f64 = 300.0;
/// Processor time that the trial read may take, s, and for each megabyte of the file: about 25 times
/// what sound files were measured to take (2 to 3 s for one of 8 MB with 2 386 faces).
const TRIAL_CPU_S: [f64; 2] = [20.0, 10.0];
/// Number of no body: only the list is wanted.
const NO_BODY: i32 = i32::MAX;
/// Number of every body.
const EVERY_BODY: i32 = -1;

/// The reader over the geometry kernel.
pub(super) struct Kernel;

impl StepReader for Kernel {
    fn read(
        &self,
        bytes: &[u8],
        display_name: &str,
        options: &ReadOptions,
        outline: &Outline,
    ) -> Result<StepModel, ReadError> {
        let blame = |failure| blame(display_name, bytes.len(), failure);
        let chosen = match &options.solid {
            None => EVERY_BODY,
            Some(wanted) => {
                let list = occt::read(bytes, &request(bytes, options, NO_BODY)).map_err(blame)?;
                let bodies: Vec<Body> = list.bodies.into_iter().map(body).collect();
                choice::find(&bodies, wanted, display_name)? as i32
            }
        };
        let model = occt::read(bytes, &request(bytes, options, chosen)).map_err(blame)?;
        if model.faces.is_empty() {
            return Err(no_surface(display_name, &model, outline));
        }
        let mut model = convert(model);
        if chosen != EVERY_BODY {
            choice::keep_only(&mut model, chosen as usize);
        }
        Ok(model)
    }
}

fn trial_cpu_s(bytes: usize) -> f64 {
    TRIAL_CPU_S[0] + TRIAL_CPU_S[1] * bytes as f64 / 1e6
}

fn request(bytes: &[u8], options: &ReadOptions, only_body: i32) -> occt::Request {
    occt::Request {
        deflection_mm: ASKED_SHARE * options.deviation_mm,
        inside_factor: INSIDE_FACTOR,
        coarsest_share: refine::COARSEST_SHARE,
        angle_rad: TURN_RAD,
        time_limit_s: TIME_LIMIT_S,
        trial_cpu_s: trial_cpu_s(bytes.len()),
        largest_coordinate_mm: LARGEST_MM,
        only_body,
        mesh: only_body != NO_BODY,
    }
}

fn blame(file: &str, bytes: usize, failure: occt::Failure) -> ReadError {
    let file = file.to_owned();
    match failure {
        occt::Failure::NotBuilt => ReadError::Unsupported {
            file,
            format: Format::Step,
            why: "no STEP kernel was found when it was built".to_owned(),
            remedy: format!(
                "apt-get install --no-install-recommends {}, then build again; or export the part as STL",
                occt::PACKAGES
            ),
        },
        occt::Failure::TooLarge(value_mm) => {
            ReadError::Coordinate { file, place: Place::Whole, value_mm, largest_mm: LARGEST_MM }
        }
        occt::Failure::TrialOutOfTime => ReadError::Malformed {
            file,
            place: Place::Whole,
            found: format!("no end after {:.0} s of processor time", trial_cpu_s(bytes)),
            expected: "a part that can be read and meshed".to_owned(),
            remedy: "a face of it is probably damaged: check the part in the system it comes \
                     from and export it again, with fewer faces if it is very large"
                .to_owned(),
        },
        occt::Failure::OutOfTime(at) => ReadError::Malformed {
            file,
            place: Place::Whole,
            found: format!("no end after {TIME_LIMIT_S} s ({at})"),
            expected: "a part that can be meshed".to_owned(),
            remedy: "ask for a coarser deviation, or export fewer or simpler faces".to_owned(),
        },
        occt::Failure::Kernel(text) => ReadError::Malformed {
            file,
            place: Place::Whole,
            found: format!("geometry that cannot be built ({text})"),
            expected: "a sound boundary model".to_owned(),
            remedy: "check the part in the system it comes from and export it again".to_owned(),
        },
    }
}

fn no_surface(file: &str, model: &occt::Model, outline: &Outline) -> ReadError {
    let lost: Vec<String> = model
        .remarks
        .iter()
        .filter(|r| r.failed)
        .take(3)
        .map(|r| format!("{} {}", outline.place_of(r.step_id), r.entity))
        .collect();
    let mut what = format!("{} entities, none of them a face", outline.entities());
    if !lost.is_empty() {
        what.push_str(&format!("; not understood: {}", lost.join(", ")));
    }
    ReadError::NoSurface { file: file.to_owned(), what }
}

fn convert(model: occt::Model) -> StepModel {
    let unit = model.length_units.first().and_then(|name| unit_named(name));
    let mut remarks: Vec<Remark> = model.remarks.iter().map(remark).collect();
    let faces = model.faces.iter().map(|f| face(f, &model, &mut remarks)).collect();
    StepModel {
        unit,
        faces,
        tessellation: Some(tessellation(&model.mesh)),
        bodies: model.bodies.into_iter().map(body).collect(),
        remarks,
    }
}

/// Units as the kernel spells them.
fn unit_named(name: &str) -> Option<LengthUnit> {
    let name = name.trim().to_ascii_lowercase();
    match name.as_str() {
        "metre" | "meter" => Some(LengthUnit::Metre),
        "inch" | "inches" => Some(LengthUnit::Inch),
        _ => name.parse().ok(),
    }
}

fn step_id(id: u64) -> Option<u64> {
    (id != 0).then_some(id)
}

fn remark(r: &occt::Remark) -> Remark {
    Remark {
        step_id: step_id(r.step_id),
        entity: r.entity.clone(),
        text: r.text.clone(),
        lost: r.failed,
    }
}

fn body(b: occt::Body) -> Body {
    Body {
        step_id: step_id(b.step_id),
        name: b.name,
        path: b.path,
        solid: b.solid,
        volume_mm3: b.solid.then_some(b.volume_mm3),
        verdict: b.verdict,
    }
}

fn face(f: &occt::Face, model: &occt::Model, remarks: &mut Vec<Remark>) -> StepFace {
    let definition = &model.surfaces[f.surface as usize];
    let surface = surface(definition, model).map_err(|e| {
        remarks.push(Remark {
            step_id: step_id(f.step_id),
            entity: "ADVANCED_FACE".to_owned(),
            text: format!("its surface cannot be evaluated: {e}"),
            lost: true,
        });
    });
    StepFace {
        step_id: step_id(f.step_id),
        name: f.name.clone(),
        body: f.body as usize,
        surface: surface.ok(),
        approximated: definition.approximated,
        flip: f.reversed,
        area_mm2: Some(f.area_mm2),
        uv_box: Some([Vec2::from(f.uv_lo), Vec2::from(f.uv_hi)]),
        loops: f.loops.iter().map(trim_loop).collect(),
        meshed: f.meshed,
        verdict: f.verdict.clone(),
    }
}

fn trim_loop(l: &occt::Loop) -> TrimLoop {
    TrimLoop { outer: l.outer, points: l.uv.chunks_exact(2).map(Vec2::from_slice).collect() }
}

fn tessellation(mesh: &occt::Mesh) -> Tessellation {
    let pair = |c: &[f64]| Vec2::from_slice(c);
    Tessellation {
        mesh: TriMesh {
            vertices: points(&mesh.vertices),
            triangles: mesh.triangles.chunks_exact(3).map(|t| [t[0], t[1], t[2]]).collect(),
            face_of: mesh.face_of.clone(),
        },
        corner_uv: mesh
            .corner_uv
            .chunks_exact(6)
            .map(|c| [pair(&c[0..2]), pair(&c[2..4]), pair(&c[4..6])])
            .collect(),
    }
}

fn points(coordinates: &[f64]) -> Vec<Vec3> {
    coordinates.chunks_exact(3).map(Vec3::from_slice).collect()
}

fn frame(f: &occt::Frame) -> Frame {
    Frame {
        origin: Vec3::from(f.origin),
        x: Vec3::from(f.x),
        y: Vec3::from(f.y),
        z: Vec3::from(f.z),
    }
}

fn some_period(period: f64) -> Option<f64> {
    (period > 0.0).then_some(period)
}

fn some_weights(weights: &[f64]) -> Option<&[f64]> {
    (!weights.is_empty()).then_some(weights)
}

fn surface(s: &occt::Surface, model: &occt::Model) -> Result<Surface, NurbsError> {
    use occt::SurfaceKind as Kind;
    let place = frame(&s.frame);
    Ok(match s.kind {
        Kind::Cylinder => Surface::cylinder(place, s.a),
        Kind::Cone => Surface::cone(place, s.a, s.b),
        Kind::Sphere => Surface::sphere(place, s.a),
        Kind::Torus => Surface::torus(place, s.a, s.b),
        Kind::Spline => Surface::Nurbs(Box::new(spline(s)?)),
        Kind::Extrusion => Surface::Extrusion(Box::new(Extrusion {
            curve: curve(&model.curves[s.curve as usize])?,
            direction: place.z,
        })),
        Kind::Revolution => Surface::Revolution(Box::new(Revolution {
            curve: curve(&model.curves[s.curve as usize])?,
            origin: place.origin,
            axis: place.z,
        })),
        Kind::Offset => Surface::offset(surface(&model.surfaces[s.base as usize], model)?, s.a),
        _ => Surface::Plane(place),
    })
}

fn spline(s: &occt::Surface) -> Result<NurbsSurface, NurbsError> {
    let direction = |degree: u32, knots: &[f64], period: f64| Knots {
        degree: degree as usize,
        knots: knots.to_vec(),
        period: some_period(period),
    };
    NurbsSurface::new(
        direction(s.degree_u, &s.knots_u, s.period_u),
        direction(s.degree_v, &s.knots_v, s.period_v),
        &points(&s.poles),
        some_weights(&s.weights),
    )
}

fn curve(c: &occt::Curve) -> Result<Curve, NurbsError> {
    use occt::CurveKind as Kind;
    let frame = frame(&c.frame);
    Ok(match c.kind {
        Kind::Circle | Kind::Ellipse => Curve::Ellipse { frame, a_mm: c.a, b_mm: c.b },
        Kind::Hyperbola => Curve::Hyperbola { frame, a_mm: c.a, b_mm: c.b },
        Kind::Parabola => Curve::Parabola { frame, focal_mm: c.a },
        Kind::Spline => Curve::Nurbs(NurbsCurve::new(
            c.degree as usize,
            c.knots.clone(),
            &points(&c.poles),
            some_weights(&c.weights),
            some_period(c.period),
        )?),
        _ => Curve::Line { origin: frame.origin, direction: frame.x },
    })
}
