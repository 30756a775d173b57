//! 3MF: the objects of the build, placed, in the unit that the model names.
//!
//! A package is a ZIP file; its root model lists objects (a mesh, or components that place other
//! objects) and the items to be built. Each mesh placed becomes one solid. Parts of the format
//! that are no surface (colours, slices, lattices, sets) are passed over.

mod model;
mod package;

use crate::build::{NO_GROUP, Soup};
use crate::error::{Blame, Place, ReadError};
use geom::Affine3;
use model::{Body, Models, Object};

/// Most meshes that components may place in all; a package of a few bytes can ask for billions.
const MOST_PLACED: usize = 100_000;
/// Most triangles of all placed meshes together.
const MOST_TRIANGLES: usize = 50_000_000;
/// Components within components at most.
const DEEPEST: usize = 32;

/// Reads a 3MF package.
pub(crate) fn read(bytes: &[u8], file: &str) -> Result<Soup, ReadError> {
    let blame = Blame::new(file);
    let mut package = package::Package::open(bytes, blame)?;
    let root = package.root()?;
    let models = Models::read(&mut package, &root, blame)?;
    let soup = Soup {
        unit: Some(models.unit),
        name: models.title.clone(),
        bodies_are_solids: true,
        ..Soup::default()
    };
    let mut placer = Placer { models: &models, soup, blame, visited: 0, left_out: 0 };
    for item in &models.items {
        placer.place(&item.path, item.object, item.transform, &item.name, 0)?;
    }
    let mut soup = placer.soup;
    if placer.left_out > 0 {
        let n = placer.left_out;
        soup.notes.push(format!(
            "{n} objects of the file are supports or have no mesh and were left out"
        ));
    }
    if models.lattices > 0 {
        soup.notes.push(format!("{} lattices of the file were left out", models.lattices));
    }
    Ok(soup)
}

struct Placer<'a> {
    models: &'a Models,
    soup: Soup,
    blame: Blame<'a>,
    visited: usize,
    left_out: usize,
}

impl Placer<'_> {
    fn place(
        &mut self,
        path: &str,
        id: u32,
        transform: Affine3,
        name: &str,
        depth: usize,
    ) -> Result<(), ReadError> {
        let place = || Place::Inside(path.to_owned());
        let Some(object) = self.models.objects.get(&(path.to_owned(), id)) else {
            let found = format!("object {id} is placed but not there");
            return Err(self.blame.at(place(), found, "an object of that number"));
        };
        self.visited += 1;
        if depth > DEEPEST || self.visited > MOST_PLACED {
            let found = format!("object {id} is placed inside itself or far too often");
            let expected = format!("at most {MOST_PLACED} placements, {DEEPEST} deep");
            return Err(self.blame.at(place(), found, expected));
        }
        let name = if object.name.is_empty() { name } else { &object.name };
        match &object.body {
            Body::None => self.left_out += 1,
            Body::Mesh { .. } => self.add(object, transform, name, path)?,
            Body::Components(parts) => {
                for part in parts {
                    let to = transform * part.transform;
                    self.place(&part.path, part.object, to, name, depth + 1)?;
                }
            }
        }
        Ok(())
    }

    fn add(
        &mut self,
        object: &Object,
        transform: Affine3,
        name: &str,
        path: &str,
    ) -> Result<(), ReadError> {
        let Body::Mesh { vertices, triangles } = &object.body else { return Ok(()) };
        let number = self.soup.triangles.len() + triangles.len();
        if number > MOST_TRIANGLES {
            return Err(ReadError::TooLarge {
                file: self.blame.file.to_owned(),
                what: "the number of triangles of all placed objects".to_owned(),
                number: number as u64,
                most: MOST_TRIANGLES as u64,
            });
        }
        let piece = self.soup.piece(name.to_owned());
        let base = self.soup.vertices.len() as u32;
        for v in vertices {
            let p = transform.transform_point3(*v);
            self.soup.vertex(p, || Place::Inside(path.to_owned()));
        }
        let mirrored = transform.matrix3.determinant() < 0.0;
        for t in triangles {
            let [a, b, c] = t.map(|v| v + base);
            self.soup.index_triangle(if mirrored { [a, c, b] } else { [a, b, c] }, piece, NO_GROUP);
        }
        Ok(())
    }
}
