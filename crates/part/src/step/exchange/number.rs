//! Entity numbers: the parser hands out places in its lists, people know the numbers of the file.

use super::super::Outline;
use std::collections::BTreeSet;
use step_io::Report;
use step_io::model::{
    AdvancedFace, BrepWithVoids, ClosedShell, EntityKey, FaceSurface, ManifoldSolidBrep, OpenShell,
    ShellBasedSurfaceModel, StepModel,
};

/// Numbers of the kinds that are asked for, in the order of the parser's lists.
pub(super) struct Numbers {
    advanced: Vec<u64>,
    surface: Vec<u64>,
    solid: Vec<u64>,
    voids: Vec<u64>,
    closed: Vec<u64>,
    open: Vec<u64>,
    shells: Vec<u64>,
}

impl Numbers {
    pub(super) fn new(outline: &Outline, model: &StepModel, report: &Report) -> Self {
        let dropped: BTreeSet<u64> = report.dropped.iter().map(|d| d.0).collect();
        // the parser keeps the order of the file; a count that differs means it made entities up
        let of = |kind: &str, kept: usize| -> Vec<u64> {
            let mut all: Vec<u64> =
                outline.of_kind(kind).filter(|id| !dropped.contains(id)).collect();
            all.sort_by_key(|id| (outline.line_of(*id), *id));
            if all.len() == kept { all } else { Vec::new() }
        };
        Self {
            advanced: of("ADVANCED_FACE", model.all::<AdvancedFace>().len()),
            surface: of("FACE_SURFACE", model.all::<FaceSurface>().len()),
            solid: of("MANIFOLD_SOLID_BREP", model.all::<ManifoldSolidBrep>().len()),
            voids: of("BREP_WITH_VOIDS", model.all::<BrepWithVoids>().len()),
            closed: of("CLOSED_SHELL", model.all::<ClosedShell>().len()),
            open: of("OPEN_SHELL", model.all::<OpenShell>().len()),
            shells: of("SHELL_BASED_SURFACE_MODEL", model.all::<ShellBasedSurfaceModel>().len()),
        }
    }

    /// Number of an entity, where it is known.
    pub(super) fn of(&self, key: EntityKey) -> Option<u64> {
        let (list, place) = match key {
            EntityKey::AdvancedFace(i) => (&self.advanced, i.0),
            EntityKey::FaceSurface(i) => (&self.surface, i.0),
            EntityKey::ManifoldSolidBrep(i) => (&self.solid, i.0),
            EntityKey::BrepWithVoids(i) => (&self.voids, i.0),
            EntityKey::ClosedShell(i) => (&self.closed, i.0),
            EntityKey::OpenShell(i) => (&self.open, i.0),
            EntityKey::ShellBasedSurfaceModel(i) => (&self.shells, i.0),
            _ => return None,
        };
        list.get(place as usize).copied()
    }
}
