//! The chips of an operation.

use super::Engaged;
use super::engaged::HELIX_RAD;
use crate::job::Prepared;
use crate::scene::Scene;
use mechanics::swarf::{self, Room};
use study::OperationKind;
use study::outcome::Swarf;

/// How much metal is cut, and what room its chips have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bin {
    /// Metal removed, cm³.
    pub(crate) volume_cm3: f64,
    /// Room that chips can gather in, cm³; `None`: nothing closes them in.
    pub(crate) open_cm3: Option<f64>,
    /// Gap that a chip must pass, mm.
    pub(crate) gap_mm: Option<f64>,
}

/// An even layer on open faces.
pub(super) fn of_faces(scene: &Scene<'_>, prepared: &Prepared<'_>) -> Bin {
    let area_mm2: f64 = prepared.faces.iter().map(|f| scene.part.faces[*f].area_mm2).sum();
    let volume_cm3 = 1e-3 * area_mm2 * prepared.operation.allowance_mm;
    Bin { volume_cm3, open_cm3: None, gap_mm: None }
}

/// Size, volume and room; warnings are added to `warnings`.
pub(super) fn of(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    engaged: &Engaged,
    bin: &Bin,
    warnings: &mut Vec<String>,
) -> Swarf {
    let helix = prepared.cutter.spec.helix_rad.unwrap_or(HELIX_RAD);
    let breaker = prepared.cutter.chip_breaker_pitch_mm;
    let sizes = engaged.stations.iter().filter_map(|s| swarf::size(&s.slices, helix, breaker));
    let Some(chip) = sizes.max_by(|a, b| a.width_mm.total_cmp(&b.width_mm)) else {
        return Swarf::default();
    };
    let bulk = &scene.study.part.material.chip.bulk_ratio;
    let room = Room {
        volume_cm3: bin.volume_cm3,
        bulk_ratio: bulk.value,
        open_cm3: bin.open_cm3,
        gap_mm: bin.gap_mm,
    };
    let finishes = matches!(
        prepared.operation.kind,
        OperationKind::FinishFace | OperationKind::FinishWall | OperationKind::FinishFloor
    );
    if finishes && breaker.is_some() {
        warnings.push(
            "the chip breakers' grooves leave lines on a finished surface, and the tooth behind a \
             groove cuts a chip twice as thick"
                .to_owned(),
        );
    }
    let loose = room.bulk_cm3();
    Swarf {
        chip_width_mm: Some(chip.width_mm),
        chip_length_mm: Some(chip.length_mm),
        volume_cm3: Some(room.volume_cm3),
        bulk_volume_cm3: Some(loose.middle()),
        verdict: swarf::evacuation(chip, &room),
    }
}
