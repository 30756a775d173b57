//! Stock from a closed mesh, and grown by an allowance.

use crate::columns::Columns;
use crate::cover::Means;
use crate::grid::Grid;
use geom::{TriMesh, Vec3};
use rayon::prelude::*;

/// A mean height that differs by less is that of the column itself: what single precision rounds.
const LEAST_EDGE_MM: f64 = 1e-3;

impl Columns {
    /// What lies inside a closed mesh; a cell through which a wall passes holds as much of it as the mesh
    /// does. A column that passes an odd number of triangles (the mesh is open there) is left empty;
    /// their number is returned.
    pub fn of_mesh(grid: Grid, mesh: &TriMesh) -> (Self, usize) {
        let crossings = crossings(&grid, mesh);
        let odd = crossings.iter().filter(|c| c.len() % 2 == 1).count();
        let pairs = |c: &[f64]| match c.len() % 2 {
            0 => c.chunks(2).map(|p| (p[0], p[1])).collect(),
            _ => Vec::new(),
        };
        let mut out = Self::by_cell(grid, |i, j| pairs(&crossings[j * grid.nu + i]));
        let means = Means::of(&grid, mesh);
        for (k, crossings) in crossings.iter().enumerate() {
            let own: f64 =
                out.intervals(k % grid.nu, k / grid.nu).map(|[a, b]| f64::from(b - a)).sum();
            let edge_mm = means.length_mm(k) - own;
            if crossings.len() % 2 == 0 && edge_mm.abs() > LEAST_EDGE_MM {
                out.set_edge(k, edge_mm as f32);
                if own == 0.0 {
                    out.stand_at(k, means.lowest_mm(k));
                }
            }
        }
        (out, odd)
    }

    /// The stock grown by an allowance all round (balls laid on it), to half a cell at walls.
    pub fn grown(&self, allowance_mm: f64) -> Self {
        let grid = *self.grid();
        let h = grid.spacing_mm;
        let n = (allowance_mm / h + 0.5).floor().max(0.0) as i64;
        // a column stands for its cell: the wall is half a cell nearer
        let off = |d: i64| (d.abs() as f64 - 0.5).max(0.0) * h;
        Self::by_cell(grid, |i, j| {
            let mut all = Vec::new();
            for (di, dj) in (-n..=n).flat_map(|a| (-n..=n).map(move |b| (a, b))) {
                let rest = allowance_mm.powi(2) - off(di).powi(2) - off(dj).powi(2);
                let (a, b) = (i as i64 + di, j as i64 + dj);
                let inside = a >= 0 && b >= 0 && a < grid.nu as i64 && b < grid.nv as i64;
                if rest < 0.0 || !inside {
                    continue;
                }
                let by = rest.sqrt();
                let here = self.intervals_mm(a as usize, b as usize).into_iter();
                all.extend(here.map(|(lo, hi)| (lo - by, hi + by)));
            }
            joined(all)
        })
    }
}

/// Heights at which each column passes the mesh, from below.
fn crossings(grid: &Grid, mesh: &TriMesh) -> Vec<Vec<f64>> {
    let mut out: Vec<Vec<f64>> = vec![Vec::new(); grid.nu * grid.nv];
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t).map(|p| grid.direction.turn(p));
        let (lo, hi) = (a.min(b).min(c), a.max(b).max(c));
        let (i0, i1) = grid.u_range(lo.x, hi.x);
        let (j0, j1) = grid.v_range(lo.y, hi.y);
        for j in j0..j1 {
            for i in i0..i1 {
                // off the lattice by an irrational hair, so that no column runs along an edge
                let hair = grid.spacing_mm * 1e-7;
                let p = (grid.u_mm(i) + hair * 0.618, grid.v_mm(j) + hair * 0.414);
                out[j * grid.nu + i].extend(crossing(p, [a, b, c]));
            }
        }
    }
    out.par_iter_mut().for_each(|c| c.sort_by(f64::total_cmp));
    out
}

fn crossing((u, v): (f64, f64), [a, b, c]: [Vec3; 3]) -> Option<f64> {
    // each edge is measured from its lower end, whichever triangle asks: no column slips between
    let side = |p: Vec3, q: Vec3| {
        let flip = (p.x, p.y, p.z) > (q.x, q.y, q.z);
        let (p, q, sign) = if flip { (q, p, -1.0) } else { (p, q, 1.0) };
        sign * ((q.x - p.x) * (v - p.y) - (q.y - p.y) * (u - p.x))
    };
    let (x, y, z) = (side(b, c), side(c, a), side(a, b));
    let same = (x > 0.0 && y > 0.0 && z > 0.0) || (x < 0.0 && y < 0.0 && z < 0.0);
    same.then(|| (a.z * x + b.z * y + c.z * z) / (x + y + z))
}

/// Intervals put in order, those that overlap put together.
fn joined(mut all: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut out: Vec<(f64, f64)> = Vec::new();
    for (lo, hi) in all {
        match out.last_mut() {
            Some(last) if lo <= last.1 => last.1 = last.1.max(hi),
            _ => out.push((lo, hi)),
        }
    }
    out
}
