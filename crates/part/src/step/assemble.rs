//! From a reader's model to a part: mesh measured and split, identities, defects, notes.

use super::model::{StepFace, StepModel, Tessellation};
use super::{Outline, choice, refine};
use crate::error::ReadError;
use crate::health::{Defect, DefectKind};
use crate::model::{Face, FaceKind, Part, Solid};
use crate::read::{ReadOptions, stem};
use crate::trim::Trim;
use crate::unit::LengthUnit;
use geom::surface::Surface;
use geom::{Bvh, MeshEdges, TriMesh, Vec2};

/// Remarks of the same kind of which each is told; the rest is counted.
const REMARKS_EACH: usize = 5;

pub(super) fn part(
    mut model: StepModel,
    outline: &Outline,
    display_name: &str,
    options: &ReadOptions,
) -> Result<Part, ReadError> {
    let mut notes = notes(&model, outline, options);
    let Some(mut tessellation) = model.tessellation.take() else {
        let what = "the reader made no mesh of it".to_owned();
        return Err(ReadError::NoSurface { file: display_name.to_owned(), what });
    };
    let refined = refine::refine(&mut tessellation, &model.faces, options.deviation_mm);
    let deviation_mm = refined.worst_mm;
    if deviation_mm > options.deviation_mm {
        notes.push(format!(
            "the mesh is up to {deviation_mm:.4} mm off the exact faces; {} mm was asked for",
            options.deviation_mm
        ));
    }
    let Tessellation { mesh, corner_uv } = tessellation;
    let mut defects = defects(&model, &mesh, outline);
    defects.extend(
        refined.stuck.iter().map(|(face, off_mm)| off_surface(&model, outline, *face, *off_mm)),
    );
    let faces: Vec<Face> =
        model.faces.into_iter().enumerate().map(|(i, f)| face(i, f, &mesh)).collect();
    let names = choice::unique_names(&model.bodies);
    let solids = model.bodies.iter().zip(names).enumerate().map(|(i, (b, name))| Solid {
        step_id: b.step_id,
        name,
        volume_mm3: b.volume_mm3,
        area_mm2: faces.iter().filter(|f| f.solid == i).map(|f| f.area_mm2).sum(),
    });
    let name = model.bodies.first().and_then(|b| b.path.split('/').next()).unwrap_or_default();
    Ok(Part {
        name: if name.is_empty() { stem(display_name) } else { name.to_owned() },
        unit: model.unit.unwrap_or(LengthUnit::Mm),
        solids: solids.collect(),
        bvh: Bvh::new(&mesh),
        faces,
        mesh,
        corner_uv,
        estimates: None,
        deviation_mm,
        defects,
        notes,
    })
}

fn face(index: usize, f: StepFace, mesh: &TriMesh) -> Face {
    let of_mesh = || {
        let own = (0..mesh.triangles.len()).filter(|t| mesh.face_of[*t] as usize == index);
        own.map(|t| mesh.triangle_area_mm2(t)).sum()
    };
    Face {
        index,
        step_id: f.step_id,
        name: f.name,
        solid: f.body,
        kind: f.surface.as_ref().map_or(FaceKind::Freeform, kind_of),
        flip: f.flip,
        area_mm2: f.area_mm2.unwrap_or_else(of_mesh),
        trim: f.uv_box.map(|[uv_lo, uv_hi]| Trim { uv_lo, uv_hi, loops: borders(f.loops) }),
        surface: f.surface,
        fit_residual_mm: None,
    }
}

/// The outer border first.
fn borders(mut loops: Vec<super::TrimLoop>) -> Vec<Vec<Vec2>> {
    loops.sort_by_key(|l| !l.outer);
    loops.into_iter().map(|l| l.points).collect()
}

fn kind_of(surface: &Surface) -> FaceKind {
    match surface {
        Surface::Plane(_) => FaceKind::Plane,
        Surface::Cylinder(_) => FaceKind::Cylinder,
        Surface::Cone(_) => FaceKind::Cone,
        Surface::Sphere(_) => FaceKind::Sphere,
        Surface::Torus(_) => FaceKind::Torus,
        Surface::Nurbs(_) => FaceKind::Spline,
        Surface::Extrusion(_) => FaceKind::Extrusion,
        Surface::Revolution(_) => FaceKind::Revolution,
        Surface::Offset(_) => FaceKind::Offset,
    }
}

fn defects(model: &StepModel, mesh: &TriMesh, outline: &Outline) -> Vec<Defect> {
    let mut out = Vec::new();
    for (index, f) in model.faces.iter().enumerate() {
        let place = outline.place_of(f.step_id.unwrap_or(0));
        let mut tell = |kind, detail: String| {
            out.push(Defect { kind, faces: vec![index], count: 1, place: None, detail });
        };
        if !f.meshed {
            tell(DefectKind::Unmeshed, format!("{place} could not be meshed"));
        }
        if !f.verdict.is_empty() {
            tell(DefectKind::Invalid, format!("{place}: {}", f.verdict));
        }
        if f.surface.is_none() {
            tell(DefectKind::Unmeshed, format!("the surface of {place} cannot be evaluated"));
        }
    }
    for (i, b) in model.bodies.iter().enumerate().filter(|(_, b)| !b.verdict.is_empty()) {
        let faces: Vec<usize> =
            (0..model.faces.len()).filter(|f| model.faces[*f].body == i).collect();
        if faces.iter().all(|f| model.faces[*f].verdict.is_empty()) {
            let detail = format!("{}: {}", outline.place_of(b.step_id.unwrap_or(0)), b.verdict);
            out.push(Defect { kind: DefectKind::Invalid, faces, count: 1, place: None, detail });
        }
    }
    out.extend(open_edges(mesh));
    out
}

/// A face whose mesh cannot be brought onto its surface.
fn off_surface(model: &StepModel, outline: &Outline, face: usize, off_mm: f64) -> Defect {
    let place = outline.place_of(model.faces[face].step_id.unwrap_or(0));
    Defect {
        kind: DefectKind::Invalid,
        faces: vec![face],
        count: 1,
        place: None,
        detail: format!("{place}: its borders are up to {off_mm:.3} mm off its surface"),
    }
}

fn open_edges(mesh: &TriMesh) -> Option<Defect> {
    let edges = MeshEdges::new(mesh);
    let open: Vec<usize> = (0..edges.len()).filter(|e| edges.sides(*e).len() == 1).collect();
    let first = edges.ends(*open.first()?).map(|v| mesh.vertices[v as usize]);
    let mut faces: Vec<usize> =
        open.iter().map(|e| mesh.face_of[edges.sides(*e)[0].triangle as usize] as usize).collect();
    faces.sort_unstable();
    faces.dedup();
    Some(Defect {
        kind: DefectKind::Open,
        faces,
        count: open.len(),
        place: Some(0.5 * (first[0] + first[1])),
        detail: String::new(),
    })
}

fn notes(model: &StepModel, outline: &Outline, options: &ReadOptions) -> Vec<String> {
    let mut notes = vec![format!("{} file", outline.schema)];
    match (model.unit, options.unit) {
        (None, _) => {
            notes.push("the file names no length unit that is known: taken as mm".to_owned())
        }
        (Some(said), Some(asked)) if said != asked => {
            notes.push(format!("the file says {said}; {asked} was asked for and not used, because a STEP file's unit is part of it"));
        }
        _ => {}
    }
    if model.bodies.iter().all(|b| !b.solid) {
        notes.push("the file holds no solid, only open faces".to_owned());
    }
    for f in model.faces.iter().filter(|f| f.approximated) {
        let place = outline.place_of(f.step_id.unwrap_or(0));
        notes.push(format!(
            "the surface of {place} is of a kind that is approximated by a B-spline"
        ));
    }
    let told: Vec<String> = model
        .remarks
        .iter()
        .map(|r| {
            let fate = if r.lost { "left out" } else { "noted" };
            format!("{fate}: {} {}: {}", outline.place_of(r.step_id.unwrap_or(0)), r.entity, r.text)
        })
        .collect();
    notes.extend(told.iter().take(REMARKS_EACH).cloned());
    if told.len() > REMARKS_EACH {
        notes.push(format!("{} more remarks of the reader", told.len() - REMARKS_EACH));
    }
    notes
}
