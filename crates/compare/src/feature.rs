//! Which faces of the part a feature of the study means.

use part::Part;
use study::{Diagnostic, Feature, Select, Study};

/// How far a face may lie from the point that selects it before the selection is called a miss, as
/// a share of the part's largest extent. A wide net: the nearest face is meant.
const REACH: f64 = 0.1;

/// Faces of a feature, by index, in order.
pub(crate) fn faces(
    study: &Study,
    part: &Part,
    feature: &Feature,
) -> Result<Vec<usize>, Diagnostic> {
    match &feature.select {
        Select::Faces(indices) => indexed(study, part, feature, indices),
        Select::Near { point_mm } => {
            let (low, high) = part.mesh.bounds().unwrap_or_default();
            let reach_mm = REACH * (high - low).max_element();
            let nearest = part.bvh.closest(&part.mesh, *point_mm, f64::INFINITY);
            match nearest {
                Some(hit) if hit.distance_mm <= reach_mm => {
                    Ok(vec![part.mesh.face_of[hit.triangle as usize] as usize])
                }
                other => Err(missed(study, feature, *point_mm, other.map(|h| h.distance_mm))),
            }
        }
        Select::All => Ok((0..part.faces.len()).collect()),
    }
}

fn indexed(
    study: &Study,
    part: &Part,
    feature: &Feature,
    indices: &[usize],
) -> Result<Vec<usize>, Diagnostic> {
    match indices.iter().find(|i| **i >= part.faces.len()) {
        None => Ok(indices.to_vec()),
        Some(index) => Err(study.fault(
            feature.select_place,
            format!(
                "feature \"{}\" names face {index}, which the part does not have",
                feature.name
            ),
            format!("a number from 0 to {}", part.faces.len().saturating_sub(1)),
            "`trialcut inspect` numbers the faces of the part",
        )),
    }
}

fn missed(
    study: &Study,
    feature: &Feature,
    point_mm: geom::Vec3,
    distance_mm: Option<f64>,
) -> Diagnostic {
    let how_far = distance_mm.map_or_else(
        || "the part has no face".to_owned(),
        |d| format!("the nearest face is {d:.2} mm away"),
    );
    study.fault(
        feature.select_place,
        format!("feature \"{}\" selects nothing: {how_far} from {point_mm:.3}", feature.name),
        "a point on or close to a face, in the part's own frame and in mm",
        "`trialcut inspect` lists the faces and the size of the part",
    )
}

/// Refuses a feature whose faces are touched by a defect of the part.
pub(crate) fn sound(
    study: &Study,
    part: &Part,
    feature: &Feature,
    faces: &[usize],
) -> Result<(), Diagnostic> {
    let defects = part.defects_touching(faces);
    let Some(first) = defects.first() else { return Ok(()) };
    Err(study.fault(
        feature.select_place,
        format!("feature \"{}\" lies on a face that is not sound: {first}", feature.name),
        "a closed surface round the feature",
        "repair the part, or export it again with a finer or healed surface",
    ))
}
