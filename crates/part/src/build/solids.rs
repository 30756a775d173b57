//! Which triangles make up which solid.

use super::Soup;
use crate::model::Solid;
use geom::MeshEdges;

/// The solids of a mesh and the solid of each triangle: the named bodies where the file names
/// any, else its connected pieces.
pub(super) fn find(soup: &mut Soup, _notes: &mut Vec<String>) -> (Vec<Solid>, Vec<u32>) {
    let edges = MeshEdges::of_triangles(&soup.triangles);
    let (shell_of, shells) = shells(&soup.triangles, &edges);
    let solids = (0..shells)
        .map(|s| Solid {
            step_id: None,
            name: format!("solid-{}", s + 1),
            volume_mm3: None,
            area_mm2: 0.0,
        })
        .collect();
    (solids, shell_of)
}

/// Numbers the connected pieces of a mesh, in the order of their first triangle.
pub(super) fn shells(triangles: &[[u32; 3]], edges: &MeshEdges) -> (Vec<u32>, usize) {
    let mut shell_of = vec![u32::MAX; triangles.len()];
    let mut count = 0;
    let mut work = Vec::new();
    for seed in 0..triangles.len() {
        if shell_of[seed] != u32::MAX {
            continue;
        }
        shell_of[seed] = count;
        work.push(seed);
        while let Some(t) = work.pop() {
            for e in edges.of_triangle(t) {
                for side in edges.sides(e as usize) {
                    let n = side.triangle as usize;
                    if shell_of[n] == u32::MAX {
                        shell_of[n] = count;
                        work.push(n);
                    }
                }
            }
        }
        count += 1;
    }
    (shell_of, count as usize)
}
