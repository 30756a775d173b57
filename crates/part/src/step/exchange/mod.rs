//! A second reader, in Rust alone: used where the kernel is not there, and as a check on it.
//!
//! | file | holds |
//! | --- | --- |
//! | `shape` | surfaces and curves of the file as exact ones |
//! | `product` | bodies with their placement and names |
//! | `number` | entity numbers of what the parser hands out |
//! | `edge` | edges as rows of points that both faces share |
//! | `locate` | parameters of a point of a surface, without a guess |
//! | `border` | borders in the parameters, over seams and through poles |
//! | `sheet` | borders laid out as plain polygons |
//! | `whole` | closed surfaces without a border cut open |
//! | `fill` | triangles, area and volume |
//! | `body` | all of it for one body |

mod body;
mod border;
mod edge;
mod fill;
mod locate;
mod number;
mod product;
mod shape;
mod sheet;
mod whole;

use super::model::{Remark, StepModel, StepReader, Tessellation};
use super::{Outline, choice};
use crate::build::LARGEST_MM;
use crate::error::{Blame, Place, ReadError};
use crate::read::ReadOptions;
use crate::unit::LengthUnit;
use edge::Fineness;
use number::Numbers;
use shape::Shapes;
use step_io::{DropKind, Report};

/// Chord height of edges and inner points over the deviation allowed: the rest is split later.
const ASKED_SHARE: f64 = 0.8;
/// Largest turn of a tangent over a piece of an edge, rad.
const TURN_RAD: f64 = 0.35;
/// What this reader does not do, for the notes.
const LIMITS: &str = "read without the CAD kernel: borders are not checked for crossing themselves \
    beyond what stops the mesh, one unit is taken for the whole file, and faces on trimmed \
    or composite surfaces or with composite borders are left out by name";

/// The reader in Rust.
pub(super) struct Exchange;

impl StepReader for Exchange {
    fn read(
        &self,
        bytes: &[u8],
        display_name: &str,
        options: &ReadOptions,
        outline: &Outline,
    ) -> Result<StepModel, ReadError> {
        let blame = Blame::new(display_name);
        let (model, report) = step_io::read(bytes)
            .map_err(|e| blame.at(Place::Whole, e.to_string(), "a sound exchange file"))?;
        let scene = model.scene();
        let units = scene.units();
        let shapes = Shapes {
            model: &model,
            unit_mm: units.length.as_ref().map_or(1.0, |u| u.to_si * 1000.0),
            unit_rad: units.angle.as_ref().map_or(1.0, |u| u.to_si),
        };
        let numbers = Numbers::new(outline, &model, &report);
        let mut remarks = vec![Remark {
            step_id: None,
            entity: String::new(),
            text: LIMITS.to_owned(),
            lost: false,
        }];
        remarks.extend(lost(&report, outline));
        let mut placed = product::bodies(&scene, &shapes, &numbers);
        let mut out = StepModel {
            unit: units.length.and_then(|u| unit_of(u.to_si * 1000.0)),
            bodies: placed.iter().map(|p| p.body.clone()).collect(),
            faces: Vec::new(),
            tessellation: None,
            remarks,
        };
        let chosen = match &options.solid {
            Some(wanted) => Some(choice::find(&out.bodies, wanted, display_name)?),
            None => None,
        };
        let mut mesh = Tessellation::default();
        let largest = options.deviation_mm;
        for (i, body) in placed.iter_mut().enumerate() {
            if chosen.is_some_and(|c| c != i) {
                continue;
            }
            let fine = Fineness { chord_mm: ASKED_SHARE * largest, turn_rad: TURN_RAD };
            body::add(body, i, shapes, fine, &numbers, &mut out, &mut mesh);
        }
        if out.faces.is_empty() {
            return Err(no_surface(display_name, &out, outline));
        }
        refuse_giants(display_name, &mesh)?;
        out.tessellation = Some(mesh);
        if let Some(chosen) = chosen {
            choice::keep_only(&mut out, chosen);
        }
        Ok(out)
    }
}

/// What was left out: causes first, then the faces and bodies that went with them.
fn lost(report: &Report, outline: &Outline) -> Vec<Remark> {
    let kind = |id: u64| outline.kind_of(id).unwrap_or_default();
    let told =
        |id: u64| matches!(kind(id), "ADVANCED_FACE" | "FACE_SURFACE" | "MANIFOLD_SOLID_BREP");
    let (effects, causes): (Vec<_>, Vec<_>) =
        report.dropped.iter().partition(|(_, r)| r.kind == DropKind::Cascade);
    let effects = effects.into_iter().filter(|(id, _)| told(*id));
    let all = causes.into_iter().chain(effects);
    all.map(|(id, reason)| Remark {
        step_id: Some(*id),
        entity: kind(*id).to_owned(),
        text: reason.to_string(),
        lost: true,
    })
    .collect()
}

fn unit_of(mm: f64) -> Option<LengthUnit> {
    use LengthUnit::{Cm, Foot, Inch, Metre, Micron, Mm};
    let all = [Micron, Mm, Cm, Metre, Inch, Foot];
    all.into_iter().find(|u| (u.mm() - mm).abs() <= 1e-6 * mm)
}

fn refuse_giants(display_name: &str, mesh: &Tessellation) -> Result<(), ReadError> {
    let too_far = |x: &f64| !(x.abs() <= LARGEST_MM);
    let coordinates = mesh.mesh.vertices.iter().flat_map(|v| v.to_array());
    coordinates.into_iter().find(too_far).map_or(Ok(()), |value_mm| {
        Err(ReadError::Coordinate {
            file: display_name.to_owned(),
            place: Place::Whole,
            value_mm,
            largest_mm: LARGEST_MM,
        })
    })
}

fn no_surface(file: &str, model: &StepModel, outline: &Outline) -> ReadError {
    let lost: Vec<String> = model
        .remarks
        .iter()
        .filter(|r| r.lost)
        .take(3)
        .map(|r| format!("{} {}", outline.place_of(r.step_id.unwrap_or(0)), r.entity))
        .collect();
    let mut what = format!("{} entities, none of them a face", outline.entities());
    if !lost.is_empty() {
        what.push_str(&format!("; not understood: {}", lost.join(", ")));
    }
    ReadError::NoSurface { file: file.to_owned(), what }
}
