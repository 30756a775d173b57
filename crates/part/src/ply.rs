//! PLY: text, little-endian and big-endian.
//!
//! Any elements and properties may stand in the file; of those, `vertex` (x, y, z) and `face`
//! (`vertex_indices` or `vertex_index`) are used and the others passed over. Triangle strips are
//! not faces and are refused by name.

mod header;
mod values;

use crate::build::{NO_GROUP, Soup};
use crate::error::{Blame, ReadError};
use crate::polygon::triangulate;
use geom::Vec3;
use header::{Element, Header, Property};
use values::Values;

/// Most corners that one polygon may have.
const MOST_CORNERS: usize = 100_000;

/// Reads a PLY file of any of its three encodings.
pub(crate) fn read(bytes: &[u8], file: &str) -> Result<Soup, ReadError> {
    let blame = Blame::new(file);
    let header = Header::read(bytes, blame)?;
    let mut values = Values::new(bytes, &header, blame);
    let mut soup = Soup::default();
    let piece = soup.piece(String::new());
    for element in &header.elements {
        match element.name.as_str() {
            "vertex" => vertices(element, &mut values, &mut soup)?,
            "face" => faces(element, &mut values, &mut soup, piece)?,
            _ => skip(element, &mut values)?,
        }
    }
    Ok(soup)
}

fn vertices(element: &Element, values: &mut Values<'_>, soup: &mut Soup) -> Result<(), ReadError> {
    let axis_of: Vec<Option<usize>> = element
        .properties
        .iter()
        .map(|p| ["x", "y", "z"].iter().position(|a| *a == p.name && p.list.is_none()))
        .collect();
    if (0..3).any(|axis| !axis_of.contains(&Some(axis))) {
        return Err(values.blame.at(
            header::place(element.line),
            "vertices without x, y and z",
            "properties x, y and z of the element vertex",
        ));
    }
    for _ in 0..element.count {
        let place = values.place();
        let mut p = [0.0; 3];
        for (property, axis) in element.properties.iter().zip(&axis_of) {
            match axis {
                Some(axis) => p[*axis] = values.scalar(property.scalar)?,
                None => skip_property(property, values)?,
            }
        }
        soup.vertex(Vec3::from_array(p), || place);
    }
    Ok(())
}

fn faces(
    element: &Element,
    values: &mut Values<'_>,
    soup: &mut Soup,
    piece: u32,
) -> Result<(), ReadError> {
    let corners_at = element.properties.iter().position(|p| {
        p.list.is_some() && ["vertex_indices", "vertex_index"].contains(&p.name.as_str())
    });
    let Some(corners_at) = corners_at else {
        return Err(values.blame.at(
            header::place(element.line),
            "faces without corners",
            "a list vertex_indices of the element face",
        ));
    };
    let mut corners: Vec<u32> = Vec::new();
    for _ in 0..element.count {
        for (k, property) in element.properties.iter().enumerate() {
            if k != corners_at {
                skip_property(property, values)?;
                continue;
            }
            read_corners(property, values, soup.vertices.len(), &mut corners)?;
            let places: Vec<Vec3> = corners.iter().map(|&c| soup.vertices[c as usize]).collect();
            for t in triangulate(&places) {
                soup.index_triangle(t.map(|k| corners[k]), piece, NO_GROUP);
            }
        }
    }
    Ok(())
}

fn read_corners(
    property: &Property,
    values: &mut Values<'_>,
    vertices: usize,
    corners: &mut Vec<u32>,
) -> Result<(), ReadError> {
    corners.clear();
    let place = values.place();
    let number = values.list_length(property)?;
    if number > MOST_CORNERS {
        let found = format!("a face of {number} corners");
        return Err(values.blame.at(place, found, format!("at most {MOST_CORNERS}")));
    }
    for _ in 0..number {
        let place = values.place();
        let index = values.scalar(property.scalar)?;
        if !(index >= 0.0 && index < vertices as f64 && index.fract() == 0.0) {
            let expected = format!("the number of a vertex, 0 to {}", vertices as i64 - 1);
            return Err(values.blame.at(place, format!("found {index} as a corner"), expected));
        }
        corners.push(index as u32);
    }
    Ok(())
}

fn skip(element: &Element, values: &mut Values<'_>) -> Result<(), ReadError> {
    if element.properties.is_empty() {
        return Ok(());
    }
    for _ in 0..element.count {
        for property in &element.properties {
            skip_property(property, values)?;
        }
    }
    Ok(())
}

fn skip_property(property: &Property, values: &mut Values<'_>) -> Result<(), ReadError> {
    let number = if property.list.is_some() { values.list_length(property)? } else { 1 };
    for _ in 0..number {
        values.scalar(property.scalar)?;
    }
    Ok(())
}
