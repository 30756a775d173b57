//! Bodies of the file with their placement and the names above them.

use super::super::model::Body;
use super::number::Numbers;
use super::shape::Shapes;
use geom::{Affine3, Vec3};
use std::collections::BTreeMap;
use step_io::Orientation;
use step_io::scene::{Occurrence, ProductDef, Scene, Shell, Solid, SurfaceModel};

/// Deepest nesting of an assembly that is followed.
const NESTING_MAX: usize = 64;
/// Products visited at most: a small file can name very many placements.
const VISITS_MAX: usize = 100_000;

/// A body with where it stands.
pub(super) struct Placed<'m> {
    pub(super) body: Body,
    pub(super) place: Affine3,
    /// Shells with the way the body uses them.
    pub(super) shells: Vec<(Shell<'m>, Orientation)>,
}

struct Walk<'a, 'm> {
    shapes: &'a Shapes<'m>,
    numbers: &'a Numbers,
    out: Vec<Placed<'m>>,
    visits: usize,
}

/// All placed bodies, in the order of the assembly; without products, as the file lists them.
pub(super) fn bodies<'m>(
    scene: &'m Scene<'m>,
    shapes: &Shapes<'m>,
    numbers: &Numbers,
) -> Vec<Placed<'m>> {
    let mut walk = Walk { shapes, numbers, out: Vec::new(), visits: 0 };
    for root in scene.root_definitions() {
        let name = name_of(&root);
        walk.definition(&root, &name, &name, Affine3::IDENTITY, 0);
    }
    if walk.out.is_empty() {
        for solid in scene.all_solids() {
            walk.solid(&solid, "", "", Affine3::IDENTITY);
        }
        for model in scene.all_surface_models() {
            walk.open(&model, "", "", Affine3::IDENTITY);
        }
    }
    walk.out
}

fn name_of(definition: &ProductDef<'_>) -> String {
    definition.product().map(|p| p.name().to_owned()).unwrap_or_default()
}

impl<'m> Walk<'_, 'm> {
    fn definition(
        &mut self,
        d: &ProductDef<'m>,
        name: &str,
        path: &str,
        place: Affine3,
        depth: usize,
    ) {
        self.visits += 1;
        if depth > NESTING_MAX || self.visits > VISITS_MAX {
            return;
        }
        for solid in d.solids() {
            self.solid(&solid, name, path, place);
        }
        for model in d.surface_models() {
            self.open(&model, name, path, place);
        }
        let mut seen: BTreeMap<String, usize> = BTreeMap::new();
        for occurrence in d.occurrences() {
            let Some(child) = occurrence.definition() else { continue };
            let child_name = name_of(&child);
            let count = seen.entry(child_name.clone()).or_default();
            *count += 1;
            let step = format!("{path}/{child_name}:{count}");
            let below = place * self.transform(&occurrence);
            self.definition(&child, &child_name, &step, below, depth + 1);
        }
    }

    fn transform(&self, occurrence: &Occurrence<'_>) -> Affine3 {
        let Some(m) = occurrence.transform().and_then(|t| t.matrix()) else {
            return Affine3::IDENTITY;
        };
        let column = |k: usize| Vec3::new(m[0][k], m[1][k], m[2][k]);
        let turn = geom::Mat3::from_cols(column(0), column(1), column(2));
        Affine3::from_mat3_translation(turn, column(3) * self.shapes.unit_mm)
    }

    fn solid(&mut self, solid: &Solid<'m>, product: &str, path: &str, place: Affine3) {
        let shells = solid.outer().into_iter().chain(solid.voids()).collect();
        let id = self.numbers.of(solid.key());
        self.add(id, solid.name(), product, path, place, shells, true);
    }

    fn open(&mut self, model: &SurfaceModel<'m>, product: &str, path: &str, place: Affine3) {
        let single = model.shells().count() == 1;
        for (shell, orientation) in model.shells() {
            let id = self.numbers.of(if single { model.key() } else { shell.key() });
            let shells = vec![(shell, orientation)];
            self.add(id, shell.name(), product, path, place, shells, false);
        }
    }

    #[allow(clippy::too_many_arguments, reason = "what a body is made of, in one place")]
    fn add(
        &mut self,
        step_id: Option<u64>,
        name: &str,
        product: &str,
        path: &str,
        place: Affine3,
        shells: Vec<(Shell<'m>, Orientation)>,
        solid: bool,
    ) {
        let name = if name.is_empty() { product } else { name }.to_owned();
        let (path, verdict) = (path.to_owned(), String::new());
        let body = Body { step_id, name, path, solid, volume_mm3: None, verdict };
        self.out.push(Placed { body, place, shells });
    }
}
