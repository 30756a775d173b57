//! How much of a closed mesh stands in each cell of a lattice.
//!
//! The mean length of the columns of a cell is the sum over its triangles of their height times the
//! area that they cover in it, counted down where they look down.

use crate::grid::Grid;
use geom::polygon::beyond;
use geom::{TriMesh, Vec3};

/// Mean length of columns by cell, and the lowest place of the mesh in it.
pub(crate) struct Means {
    lengths_mm: Vec<f64>,
    lowest_mm: Vec<f64>,
}

impl Means {
    /// Of a closed mesh, between the ends of the columns.
    pub(crate) fn of(grid: &Grid, mesh: &TriMesh) -> Self {
        let count = grid.nu * grid.nv;
        let mut out = Self { lengths_mm: vec![0.0; count], lowest_mm: vec![f64::INFINITY; count] };
        for t in 0..mesh.triangles.len() {
            let corners = mesh.corners(t).map(|p| {
                let p = grid.direction.turn(p);
                // in cells, heights over the lower end
                let (x, y) =
                    ((p.x - grid.lo.x) / grid.spacing_mm, (p.y - grid.lo.y) / grid.spacing_mm);
                Vec3::new(x, y, p.z.clamp(grid.lo.z, grid.w_hi_mm) - grid.lo.z)
            });
            out.add((grid.nu, grid.nv), corners);
        }
        out
    }

    /// That of the cell of column number `k`, mm.
    pub(crate) fn length_mm(&self, k: usize) -> f64 {
        self.lengths_mm[k]
    }

    /// The lowest place in the cell of column number `k`, mm over the lower end of the columns.
    pub(crate) fn lowest_mm(&self, k: usize) -> f64 {
        self.lowest_mm[k]
    }

    /// Adds one triangle; one cell has an area of 1.
    fn add(&mut self, (nu, nv): (usize, usize), corners: [Vec3; 3]) {
        for (j, strip) in strips(&corners, 1, nv) {
            for (i, piece) in strips(&strip, 0, nu) {
                let k = j * nu + i;
                self.lengths_mm[k] += volume(&piece);
                self.lowest_mm[k] = piece.iter().fold(self.lowest_mm[k], |m, p| m.min(p.z));
            }
        }
    }
}

/// A convex polygon cut into strips one wide along an axis: number of each within `0..n`, and its piece.
fn strips(polygon: &[Vec3], axis: usize, n: usize) -> Vec<(usize, Vec<Vec3>)> {
    let (lo, hi) = polygon
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), p| (lo.min(p[axis]), hi.max(p[axis])));
    let first = lo.floor().max(0.0);
    let last = hi.ceil().min(n as f64);
    if !(last > first) {
        return Vec::new();
    }
    let (first, last) = (first as usize, last as usize);
    let mut rest = beyond(polygon, |p| p[axis] - first as f64);
    let mut out = Vec::with_capacity(last - first);
    for k in first..last {
        let end = (k + 1) as f64;
        let piece = beyond(&rest, |p| end - p[axis]);
        if piece.len() > 2 {
            out.push((k, piece));
        }
        rest = beyond(&rest, |p| p[axis] - end);
    }
    out
}

/// Area in plan times height, by triangles of a fan; negative where it runs clockwise.
fn volume(polygon: &[Vec3]) -> f64 {
    let Some((first, rest)) = polygon.split_first() else { return 0.0 };
    let fan = rest.windows(2).map(|w| {
        let (a, b) = (w[0] - *first, w[1] - *first);
        (a.x * b.y - a.y * b.x) / 6.0 * (first.z + w[0].z + w[1].z)
    });
    fan.sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::columns::Columns;
    use crate::grid::Direction;

    /// A prism of three sides that lies askew to the lattice, 4 mm high.
    fn prism() -> TriMesh {
        let plan = [(1.13, 0.77), (9.41, 2.31), (3.89, 8.03)];
        let level = |z: f64| plan.map(|(x, y)| Vec3::new(x, y, z));
        let mut triangles = vec![[2, 1, 0], [3, 4, 5]];
        for i in 0..3u32 {
            let j = (i + 1) % 3;
            triangles.extend([[i, j, 3 + j], [i, 3 + j, 3 + i]]);
        }
        let face_of = vec![0; triangles.len()];
        TriMesh { vertices: [level(1.0), level(5.0)].concat(), triangles, face_of }
    }

    #[test]
    fn a_coarse_lattice_holds_the_volume_of_the_mesh() {
        let mesh = prism();
        // derived: half the cross product of two sides, times the height
        let area = 0.5 * (8.28 * 7.26 - 1.54 * 2.76);
        for spacing in [0.3, 0.9, 2.5] {
            let bounds = (Vec3::ZERO, Vec3::new(10.0, 9.0, 6.0));
            let grid = Grid::over(bounds, spacing, Direction::Z).unwrap_or_else(|e| panic!("{e}"));
            let (columns, odd) = Columns::of_mesh(grid, &mesh);
            let volume = columns.volume_mm3();
            assert_eq!(odd, 0);
            assert!((volume - 4.0 * area).abs() < 2e-3 * 4.0 * area, "{spacing}: {volume}");
        }
    }
}
