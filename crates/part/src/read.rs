//! Bytes in, part out.

use crate::build::{self, Soup};
use crate::error::ReadError;
use crate::format::{Format, without_mark};
use crate::model::Part;
use crate::unit::LengthUnit;
use crate::{obj, ply, step, stl, threemf};
use geom::tolerance;

/// How a part is to be read.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadOptions {
    /// Unit of the file's numbers where the file does not say, or to be taken instead of what it
    /// says. Left out: what the file says, else mm.
    pub unit: Option<LengthUnit>,
    /// Only this solid: its name, or `#id`.
    pub solid: Option<String>,
    /// Exact files: largest deviation of the mesh from the exact faces, mm.
    pub deviation_mm: f64,
    /// Mesh files: an edge that turns more than this separates two faces, deg.
    pub sharp_edge_deg: f64,
}

impl Default for ReadOptions {
    fn default() -> Self {
        Self {
            unit: None,
            solid: None,
            deviation_mm: tolerance::TESSELLATION_MM,
            sharp_edge_deg: 25.0,
        }
    }
}

/// Reads a part of any format known from the bytes of its file. `display_name` stands in messages
/// and gives the format where the content is silent.
pub fn read(bytes: &[u8], display_name: &str, options: &ReadOptions) -> Result<Part, ReadError> {
    let file = display_name.to_owned();
    if without_mark(bytes).trim_ascii().is_empty() {
        return Err(ReadError::Empty { file });
    }
    let Some(format) = Format::of(bytes, display_name) else {
        return Err(ReadError::UnknownFormat { file });
    };
    if let Some(named) = format.contradicted_by(display_name) {
        return Err(ReadError::WrongEnding { file, content: format, named });
    }
    match soup(bytes, display_name, format)? {
        Some(soup) => build::from_soup(soup, display_name, options),
        None => step::read(bytes, display_name, options),
    }
}

/// The triangles of a mesh file; `None` for an exact file.
fn soup(bytes: &[u8], display_name: &str, format: Format) -> Result<Option<Soup>, ReadError> {
    Ok(Some(match format {
        Format::StlAscii => stl::ascii(bytes, display_name)?,
        Format::StlBinary => stl::binary(bytes, display_name)?,
        Format::Obj => obj::read(bytes, display_name)?,
        Format::Ply => ply::read(bytes, display_name)?,
        Format::ThreeMf => threemf::read(bytes, display_name)?,
        Format::Step => return Ok(None),
    }))
}

/// Name for a part from the name of its file: no folders, no ending.
pub(crate) fn stem(display_name: &str) -> String {
    let base = display_name.rsplit(['/', '\\']).next().unwrap_or(display_name);
    base.rsplit_once('.').map_or(base, |(s, _)| s).to_owned()
}

/// The unit of a mesh file, and the note that goes with it: the option first, then what the file
/// says, else mm.
pub(crate) fn unit_of(soup: &Soup, options: &ReadOptions) -> (LengthUnit, Option<String>) {
    match (options.unit, soup.unit) {
        (Some(asked), Some(said)) if asked != said => {
            (asked, Some(format!("the file says {said}; taken as {asked}, as asked")))
        }
        (Some(asked), _) => (asked, None),
        (None, Some(said)) => (said, None),
        (None, None) => (
            LengthUnit::Mm,
            Some("the file names no unit: taken as mm; give the unit if it is inch".to_owned()),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TETRA: &str = "solid t\nfacet normal 0 0 0 outer loop vertex 0 0 0 vertex 0 1 0 vertex 1 0 0 endloop endfacet
facet normal 0 0 0 outer loop vertex 0 0 0 vertex 1 0 0 vertex 0 0 1 endloop endfacet
facet normal 0 0 0 outer loop vertex 0 0 0 vertex 0 0 1 vertex 0 1 0 endloop endfacet
facet normal 0 0 0 outer loop vertex 1 0 0 vertex 0 1 0 vertex 0 0 1 endloop endfacet
endsolid t\n";

    #[test]
    fn a_tetrahedron_has_four_faces_and_one_solid() {
        let part = read(TETRA.as_bytes(), "t.stl", &ReadOptions::default()).expect("reads");
        assert_eq!((part.faces.len(), part.solids.len(), part.mesh.vertices.len()), (4, 1, 4));
        assert!((part.mesh.volume_mm3() - 1.0 / 6.0).abs() < 1e-15);
    }

    #[test]
    fn inches_become_millimetres() {
        let options = ReadOptions { unit: Some(LengthUnit::Inch), ..ReadOptions::default() };
        let part = read(TETRA.as_bytes(), "t.stl", &options).expect("reads");
        assert!((part.mesh.volume_mm3() - 25.4_f64.powi(3) / 6.0).abs() < 1e-9);
    }

    #[test]
    fn a_text_that_ends_early_says_where() {
        let cut = &TETRA[..TETRA.rfind("endloop").expect("is there")];
        let error = read(cut.as_bytes(), "t.stl", &ReadOptions::default()).expect_err("cut short");
        assert!(error.to_string().contains(", line 5: the file ends"), "{error}");
    }
}
