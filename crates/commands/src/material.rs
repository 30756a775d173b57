//! The material that an option names: by its id, by an alias, or as a file of its own.

use crate::failure::Failure;
use crate::files;
use ::material::Material;
use std::path::Path;
use study::{listed, material};

/// The material of that name; a name that ends in `.toml` is a file.
///
/// # Errors
/// The name is not known, or the file cannot be read as a material.
pub fn named(option: &str, name: &str) -> Result<Material, Failure> {
    if name.ends_with(".toml") {
        let bytes = files::read(Path::new(name))?;
        return Ok(study::read::material_file(&bytes, name)?);
    }
    known(option, name).cloned()
}

/// The material of the library of that id or alias.
///
/// # Errors
/// The name is not known.
pub fn known(option: &str, name: &str) -> Result<&'static Material, Failure> {
    material::find(name).map_err(|near| {
        let remedy = match near {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => "take one of them".to_owned(),
        };
        let message = format!("{option} is \"{name}\", which is not known");
        Failure::call(message, listed(material::ids()), remedy)
    })
}
