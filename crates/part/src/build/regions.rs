//! Faces of a mesh: regions between sharp edges.

use geom::{MeshEdges, TriMesh};

/// The regions found: number of each triangle's, and how many there are.
pub(super) struct Regions {
    pub(super) region_of: Vec<u32>,
    pub(super) count: usize,
}

/// Splits the mesh at edges that turn more than `sharp_deg`, at edges where not exactly two
/// triangles meet, and between groups and solids. Regions are numbered by their first triangle.
pub(super) fn find(
    mesh: &TriMesh,
    edges: &MeshEdges,
    group_of: &[u32],
    solid_of: &[u32],
    sharp_deg: f64,
) -> Regions {
    let limit = sharp_deg.to_radians();
    let soft: Vec<bool> = (0..edges.len())
        .map(|e| edges.turn_rad(mesh, e).is_some_and(|turn| turn.abs() <= limit))
        .collect();
    let alike = |a: usize, b: usize| group_of[a] == group_of[b] && solid_of[a] == solid_of[b];
    let mut region_of = vec![u32::MAX; mesh.triangles.len()];
    let mut count = 0;
    let mut work = Vec::new();
    for seed in 0..mesh.triangles.len() {
        if region_of[seed] != u32::MAX {
            continue;
        }
        region_of[seed] = count;
        work.push(seed);
        while let Some(t) = work.pop() {
            for k in 0..3 {
                let Some(side) = edges.across(t, k) else { continue };
                let n = side.triangle as usize;
                let open = soft[edges.of_triangle(t)[k] as usize];
                if open && region_of[n] == u32::MAX && alike(t, n) {
                    region_of[n] = count;
                    work.push(n);
                }
            }
        }
        count += 1;
    }
    Regions { region_of, count: count as usize }
}
