//! The materials that come with the program, by their id.

use crate::read;
use crate::text::nearest;
use ::material::Material;
use std::sync::OnceLock;

mod packaged;

/// Every material that comes with the program, in the order of the ISO 513 groups.
pub fn materials() -> &'static [Material] {
    static READ: OnceLock<Vec<Material>> = OnceLock::new();
    READ.get_or_init(|| {
        let read =
            packaged::FILES.iter().map(|(name, text)| read::material_file(text.as_bytes(), name));
        // a file that does not read fails the tests; it never reaches a user
        read.filter_map(Result::ok).collect()
    })
}

/// Ids of all materials, in the same order.
pub fn ids() -> impl Iterator<Item = &'static str> {
    materials().iter().map(|m| m.id.as_str())
}

/// The material of an id or alias.
///
/// # Errors
/// The id that was probably meant, if one is like it.
pub fn find(name: &str) -> Result<&'static Material, Option<&'static str>> {
    let found = materials().iter().find(|m| m.is_called(name));
    found.ok_or_else(|| nearest_id(name))
}

/// The id most like a name: by the ids first, then by the aliases.
fn nearest_id(name: &str) -> Option<&'static str> {
    nearest(name, ids()).or_else(|| {
        let alias = nearest(name, materials().iter().flat_map(Material::names))?;
        materials().iter().find(|m| m.is_called(alias)).map(|m| m.id.as_str())
    })
}
