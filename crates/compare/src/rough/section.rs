//! Sections of a mesh across the axis of the set-up.

use geom::{TriMesh, Vec3};
use pattern::Frame;
use planar::Region;
use std::collections::BTreeMap;

/// An edge of the mesh by its vertices, the smaller first.
type Edge = (u32, u32);

/// What of a closed mesh lies at a height along `frame.up`, in plan. Which side of the height a
/// vertex lies on is decided once, so that loops close wherever the mesh does.
pub(crate) fn section(mesh: &TriMesh, frame: Frame, height_mm: f64) -> Region {
    let heights: Vec<f64> = mesh.vertices.iter().map(|p| p.dot(frame.up)).collect();
    let above = |v: u32| heights[v as usize] > height_mm;
    // each cut triangle leads from the edge on which it goes down to the edge on which it goes up
    let mut next: BTreeMap<Edge, Edge> = BTreeMap::new();
    for t in &mesh.triangles {
        let ends = |i: usize| (t[i], t[(i + 1) % 3]);
        let down = (0..3).map(ends).find(|(a, b)| above(*a) && !above(*b));
        let up = (0..3).map(ends).find(|(a, b)| !above(*a) && above(*b));
        if let (Some(down), Some(up)) = (down, up) {
            next.insert(sorted(down), sorted(up));
        }
    }
    let point = |(a, b): Edge| {
        let (p, q) = (heights[a as usize], heights[b as usize]);
        let f = (height_mm - p) / (q - p);
        let at: Vec3 = mesh.vertices[a as usize].lerp(mesh.vertices[b as usize], f);
        frame.plan(at).to_array()
    };
    let mut loops = Vec::new();
    while let Some((&start, _)) = next.first_key_value() {
        let mut ring = Vec::new();
        let mut at = start;
        while let Some(to) = next.remove(&at) {
            ring.push(point(at));
            at = to;
        }
        if at == start && ring.len() > 2 {
            loops.push(ring);
        }
    }
    Region::of_loops(&loops)
}

fn sorted((a, b): Edge) -> Edge {
    (a.min(b), a.max(b))
}

/// A region without its holes.
pub(crate) fn filled(region: &Region) -> Region {
    let outer: Vec<_> =
        region.loops().into_iter().filter(|l| planar::twice_area(l) > 0.0).collect();
    Region::of_pieces(&outer)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square frustum: 20 mm wide at the bottom, 10 mm at the top, 10 mm high.
    fn frustum() -> TriMesh {
        let ring = |half: f64, z: f64| {
            [(-half, -half), (half, -half), (half, half), (-half, half)]
                .map(|(x, y)| Vec3::new(x, y, z))
        };
        let vertices = [ring(10.0, 0.0), ring(5.0, 10.0)].concat();
        let mut triangles = vec![[2, 1, 0], [3, 2, 0], [4, 5, 6], [4, 6, 7]];
        for i in 0..4u32 {
            let j = (i + 1) % 4;
            triangles.extend([[i, j, 4 + j], [i, 4 + j, 4 + i]]);
        }
        let face_of = vec![0; triangles.len()];
        TriMesh { vertices, triangles, face_of }
    }

    #[test]
    fn a_frustum_narrows_as_it_rises() {
        // derived: the side falls from 20 to 10 over 10 mm
        for z in [0.5, 2.5, 7.0] {
            let side: f64 = 20.0 - z;
            let area = section(&frustum(), Frame::default(), z).area_mm2();
            assert!((area - side * side).abs() < 1e-3, "{z}: {area}");
        }
        assert!(section(&frustum(), Frame::default(), 11.0).is_empty());
        // at a face's own height the material below it is gone
        assert!(section(&frustum(), Frame::default(), 10.0).is_empty());
    }
}
