//! One body: its faces with surface, borders and triangles, placed.

use super::super::model::{Remark, StepFace, StepModel, Tessellation, TrimLoop};
use super::border::{self, Wire};
use super::edge::{Edges, Fineness};
use super::fill::{self, Filled, Vertex};
use super::number::Numbers;
use super::product::Placed;
use super::shape::{Reason, Shapes};
use super::sheet::{self, Polygon, Trouble};
use geom::surface::Surface;
use geom::{Affine3, Vec2, Vec3};
use rayon::prelude::*;
use step_io::Orientation;
use step_io::scene;

/// A face before its borders are projected.
struct Raw {
    step_id: Option<u64>,
    name: String,
    flip: bool,
    surface: Result<Surface, Reason>,
    wires: Result<Vec<Wire>, Reason>,
}

/// A face with what could be made of it.
struct Made {
    sheet: Vec<Polygon>,
    filled: Filled,
}

/// Adds a body's faces and triangles.
pub(super) fn add(
    placed: &Placed<'_>,
    number: usize,
    shapes: Shapes<'_>,
    fineness: Fineness,
    numbers: &Numbers,
    out: &mut StepModel,
    mesh: &mut Tessellation,
) {
    let mut edges = Edges::new(shapes, fineness);
    let mut raw: Vec<Raw> = Vec::new();
    for (shell, orientation) in &placed.shells {
        for face in shell.faces() {
            raw.push(raw_face(&face, *orientation, &shapes, &mut edges, numbers));
        }
    }
    raw.sort_by_key(|f| f.step_id);
    let size_mm = size(&edges.vertices);
    let made: Vec<Result<Made, Reason>> =
        raw.par_iter().map(|f| make(f, &edges.vertices, size_mm, fineness)).collect();
    let first = mesh.mesh.vertices.len() as u32;
    mesh.mesh.vertices.extend(edges.vertices.iter().map(|v| placed.place.transform_point3(*v)));
    let mut volume = Some(0.0);
    for (face, made) in raw.into_iter().zip(made) {
        let index = out.faces.len() as u32;
        match &made {
            Ok(m) => {
                let side = if face.flip { -1.0 } else { 1.0 };
                volume = volume.map(|v| v + side * m.filled.flux_mm3);
                lay(m, index, face.flip, first, &placed.place, mesh);
            }
            Err(reason) => {
                volume = None;
                out.remarks.push(Remark {
                    step_id: face.step_id,
                    entity: "ADVANCED_FACE".to_owned(),
                    text: reason.clone(),
                    lost: true,
                });
            }
        }
        out.faces.push(step_face(face, made.ok(), number, &placed.place));
    }
    out.bodies[number].volume_mm3 = volume.filter(|_| placed.body.solid);
}

fn size(vertices: &[Vec3]) -> f64 {
    let start = (Vec3::INFINITY, Vec3::NEG_INFINITY);
    let (lo, hi) = vertices.iter().fold(start, |(lo, hi), v| (lo.min(*v), hi.max(*v)));
    let size = lo.distance(hi);
    if size.is_finite() && size > 0.0 { size } else { 1.0 }
}

fn raw_face(
    face: &scene::Face<'_>,
    shell: Orientation,
    shapes: &Shapes<'_>,
    edges: &mut Edges<'_>,
    numbers: &Numbers,
) -> Raw {
    let mut wires = Ok(Vec::new());
    for bound in face.bounds() {
        let wire = border::wire(&bound, face.orientation(), edges);
        wires = match (wires, wire) {
            // the vertex of a pole bounds nothing
            (Ok(list), Ok(wire)) if wire.is_empty() => Ok(list),
            (Ok(mut list), Ok(wire)) => {
                list.push(wire);
                Ok(list)
            }
            (Err(reason), _) | (_, Err(reason)) => Err(reason),
        };
    }
    Raw {
        step_id: numbers.of(face.key()),
        name: face.name().to_owned(),
        flip: (face.orientation() == Orientation::Reversed) != (shell == Orientation::Reversed),
        surface: shapes.surface(&face.surface()),
        wires,
    }
}

fn make(face: &Raw, vertices: &[Vec3], size_mm: f64, fine: Fineness) -> Result<Made, Reason> {
    let surface = face.surface.as_ref().map_err(Clone::clone)?;
    let wires = face.wires.as_ref().map_err(Clone::clone)?;
    let sheet = match sheet_of(wires, surface, vertices, size_mm) {
        // exporters get the sense of a border wrong; it bounds something only the other way round
        Err(Trouble::Turned) => {
            let turned: Vec<Wire> = wires.iter().map(Wire::turned).collect();
            sheet_of(&turned, surface, vertices, size_mm)
        }
        other => other,
    };
    let sheet = sheet.map_err(|trouble| match trouble {
        Trouble::Turned => "borders that bound nothing".to_owned(),
        Trouble::Reason(reason) => reason,
    })?;
    let filled = fill::fill(surface, &sheet, fine.chord_mm)?;
    Ok(Made { sheet, filled })
}

fn sheet_of(
    wires: &[Wire],
    surface: &Surface,
    vertices: &[Vec3],
    size_mm: f64,
) -> Result<Vec<Polygon>, Trouble> {
    let project = |w| border::project(w, surface, vertices, size_mm);
    let borders = wires.iter().map(project).collect::<Result<Vec<_>, Reason>>()?;
    sheet::lay_out(borders, surface, size_mm)
}

/// Adds a face's triangles, placed, their corners counter-clockwise seen from outside.
fn lay(made: &Made, face: u32, flip: bool, first: u32, place: &Affine3, mesh: &mut Tessellation) {
    let own = mesh.mesh.vertices.len() as u32;
    mesh.mesh.vertices.extend(made.filled.own.iter().map(|v| place.transform_point3(*v)));
    let number = |v: Vertex| match v {
        Vertex::Shared(id) => first + id,
        Vertex::Own(id) => own + id,
    };
    for triangle in &made.filled.triangles {
        let mut corners = *triangle;
        if flip {
            corners.swap(0, 1);
        }
        mesh.mesh.triangles.push(corners.map(|c| number(c.0)));
        mesh.mesh.face_of.push(face);
        mesh.corner_uv.push(corners.map(|c| c.1));
    }
}

fn step_face(face: Raw, made: Option<Made>, body: usize, place: &Affine3) -> StepFace {
    let loops: Vec<TrimLoop> = made.iter().flat_map(|m| &m.sheet).enumerate().map(trim).collect();
    let all = || loops.iter().flat_map(|l| &l.points);
    let lo = all().fold(Vec2::INFINITY, |a, b| a.min(*b));
    let hi = all().fold(Vec2::NEG_INFINITY, |a, b| a.max(*b));
    StepFace {
        step_id: face.step_id,
        name: face.name,
        body,
        surface: face.surface.ok().map(|s| s.moved(place)),
        approximated: false,
        flip: face.flip,
        area_mm2: made.as_ref().map(|m| m.filled.area_mm2),
        uv_box: made.is_some().then_some([lo, hi]),
        meshed: made.is_some(),
        loops,
        verdict: String::new(),
    }
}

fn trim((place, polygon): (usize, &Polygon)) -> TrimLoop {
    let corner = polygon.iter();
    let points =
        corner.flat_map(|c| std::iter::once(c.uv).chain(c.after.iter().copied())).collect();
    TrimLoop { outer: place == 0, points }
}
