//! Corners in the same place become one vertex.

use super::Soup;
use geom::Vec3;
use geom::tolerance::COINCIDENT_MM;
use std::collections::HashMap;

/// Makes one vertex of all corners of one body that stand in the same place, exactly or, where a
/// text file rounded them apart, within the coincidence tolerance.
pub(super) fn weld(soup: &mut Soup, notes: &mut Vec<String>) {
    let before = soup.vertices.len();
    merge_equal(soup);
    let exact = soup.vertices.len();
    let close = merge_close(soup, COINCIDENT_MM);
    if close > 0 {
        notes.push(format!(
            "{close} of {exact} vertices stood less than {COINCIDENT_MM} mm from another and were joined to it"
        ));
    }
    debug_assert!(soup.vertices.len() <= before.max(exact));
}

/// The bits of a point, with one zero only.
fn key(p: Vec3) -> [u64; 3] {
    p.to_array().map(|x| (x + 0.0).to_bits())
}

fn merge_equal(soup: &mut Soup) {
    let mut seen: HashMap<(u32, [u64; 3]), u32> = HashMap::with_capacity(soup.triangles.len());
    let mut vertices = Vec::with_capacity(soup.triangles.len() / 2 + 3);
    for (t, triangle) in soup.triangles.iter_mut().enumerate() {
        for corner in triangle {
            let p = soup.vertices[*corner as usize];
            *corner = *seen.entry((soup.piece_of[t], key(p))).or_insert_with(|| {
                vertices.push(p);
                (vertices.len() - 1) as u32
            });
        }
    }
    soup.vertices = vertices;
}

/// Joins vertices nearer than `within_mm` to the first such one; bodies stay apart. Gives how many
/// went. A grid of cells of that size is looked up, never walked.
fn merge_close(soup: &mut Soup, within_mm: f64) -> usize {
    let cell = |p: Vec3| (p / within_mm).floor().to_array().map(|x| x as i64);
    let mut piece_of_vertex = vec![0; soup.vertices.len()];
    for (t, triangle) in soup.triangles.iter().enumerate() {
        triangle.iter().for_each(|&v| piece_of_vertex[v as usize] = soup.piece_of[t]);
    }
    let mut grid: HashMap<(u32, [i64; 3]), u32> = HashMap::with_capacity(soup.vertices.len());
    let mut kept: Vec<Vec3> = Vec::with_capacity(soup.vertices.len());
    let mut new_number = Vec::with_capacity(soup.vertices.len());
    let mut joined = 0;
    for (v, &p) in soup.vertices.iter().enumerate() {
        let piece = piece_of_vertex[v];
        let home = cell(p);
        let near = neighbours(p, home, within_mm)
            .filter_map(|c| grid.get(&(piece, c)).copied())
            .find(|&n| (kept[n as usize] - p).length() < within_mm);
        joined += usize::from(near.is_some());
        new_number.push(near.unwrap_or_else(|| {
            let number = kept.len() as u32;
            grid.entry((piece, home)).or_insert(number);
            kept.push(p);
            number
        }));
    }
    soup.vertices = kept;
    soup.triangles.iter_mut().flatten().for_each(|v| *v = new_number[*v as usize]);
    joined
}

/// The cells that a ball of the cell's size round `p` reaches: `home` first, then only those
/// neighbours on whose side `p` stands.
fn neighbours(p: Vec3, home: [i64; 3], size: f64) -> impl Iterator<Item = [i64; 3]> {
    let inside = (p / size).fract_gl().to_array();
    let step = inside.map(|x| if x < 0.5 { -1 } else { 1 });
    (0..8_u8).map(move |bits| {
        let mut c = home;
        for axis in 0..3 {
            if bits >> axis & 1 == 1 {
                c[axis] += step[axis];
            }
        }
        c
    })
}
