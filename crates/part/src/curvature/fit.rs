//! The polynomial fit at one vertex.

use super::rings::{Nodes, Walker};
use super::{Estimate, matrix_of};
use geom::lsq::{LeastSquares, Solution};
use geom::surface::Jet;
use geom::{Mat3, TriMesh, Vec3};

/// Points wanted for a fit of the fourth order (15 unknowns), third (10) and second (6).
const POINTS_4: usize = 24;
const POINTS_3: usize = 14;
const POINTS_2: usize = 6;
/// Points at which rings stop growing for noise.
const MOST_POINTS: usize = 160;
/// Share of the curvature that scatter may spoil before the ring grows.
const SCATTER_SHARE: f64 = 0.005;
/// Smallest cosine between the normals of the vertex and of a neighbour that is used.
const ALIKE: f64 = 0.5;

/// Estimate at node `n`.
pub(super) fn at(
    mesh: &TriMesh,
    nodes: &Nodes,
    normals: &[Vec3],
    n: usize,
    walker: &mut Walker,
) -> Estimate {
    let mut normal = normals[n];
    let flat = Estimate { normal, tensor: Mat3::ZERO, error_per_mm: 0.0 };
    if normal == Vec3::ZERO {
        return Estimate { normal: Vec3::Z, error_per_mm: f64::INFINITY, ..flat };
    }
    let alike = |m: u32| normals[m as usize].dot(normals[n]) > ALIKE;
    walker.start(n);
    let mut more = true;
    while more && walker.found.len() < POINTS_4 {
        more = walker.grow(nodes, alike);
    }
    let mut best: Option<Estimate> = None;
    loop {
        let mut now = None;
        // twice: the second time over the tangent plane that the first one found
        for _ in 0..2 {
            let points = local(mesh, nodes, n, normal, &walker.found);
            now = estimate(&points, normal);
            normal = now.map_or(normal, |e| e.normal);
        }
        // a wider ring that is no better says that the surface, not the file, sets the limit
        if now.is_none_or(|e| best.is_some_and(|b| e.error_per_mm > 0.7 * b.error_per_mm)) {
            break;
        }
        best = now;
        let good = best.is_some_and(|b| b.error_per_mm <= SCATTER_SHARE * size(b.tensor));
        if good || !more || walker.found.len() >= MOST_POINTS {
            break;
        }
        more = walker.grow(nodes, alike);
    }
    best.unwrap_or(flat)
}

fn size(m: Mat3) -> f64 {
    m.to_cols_array().iter().map(|x| x * x).sum::<f64>().sqrt()
}

/// The neighbours in a frame on the vertex with its third axis along `normal`.
fn local(mesh: &TriMesh, nodes: &Nodes, n: usize, normal: Vec3, found: &[u32]) -> Vec<Vec3> {
    let origin = mesh.vertices[nodes.vertex(n) as usize];
    let (e1, e2) = frame(normal);
    found
        .iter()
        .map(|&m| {
            let d = mesh.vertices[nodes.vertex(m as usize) as usize] - origin;
            Vec3::new(d.dot(e1), d.dot(e2), d.dot(normal))
        })
        .collect()
}

fn frame(normal: Vec3) -> (Vec3, Vec3) {
    let e1 = normal.any_orthonormal_vector();
    (e1, normal.cross(e1))
}

/// Fits the highest order that the points allow and the next lower one.
fn estimate(points: &[Vec3], normal: Vec3) -> Option<Estimate> {
    let count = points.len();
    let (high, low) = if count >= POINTS_4 {
        (shape(&fit::<15>(points)?, normal)?, shape(&fit::<10>(points)?, normal)?)
    } else if count >= POINTS_3 {
        (shape(&fit::<10>(points)?, normal)?, shape(&fit::<6>(points)?, normal)?)
    } else if count >= POINTS_2 {
        let only = shape(&fit::<6>(points)?, normal)?;
        // nothing to compare with: a fit without spare points may be off by all of it
        let whole = size(only.tensor);
        return Some(Estimate { error_per_mm: only.error_per_mm.max(0.25 * whole), ..only });
    } else {
        return None;
    };
    let between = size(high.tensor - low.tensor);
    Some(Estimate { error_per_mm: high.error_per_mm + between, ..high })
}

/// Fits a polynomial of 6, 10 or 15 terms (second, third, fourth order) to heights.
fn fit<const N: usize>(points: &[Vec3]) -> Option<Solution<N>> {
    let mut problem = LeastSquares::<N>::default();
    for p in points {
        let mut row = [0.0; N];
        let (x, y) = (p.x, p.y);
        let terms = [
            1.0,
            x,
            y,
            0.5 * x * x,
            x * y,
            0.5 * y * y,
            x * x * x,
            x * x * y,
            x * y * y,
            y * y * y,
            x * x * x * x,
            x * x * x * y,
            x * x * y * y,
            x * y * y * y,
            y * y * y * y,
        ];
        row.copy_from_slice(&terms[..N]);
        problem.add(&row, p.z);
    }
    problem.solve()
}

fn shape<const N: usize>(s: &Solution<N>, normal: Vec3) -> Option<Estimate> {
    let (e1, e2) = frame(normal);
    let world = |x: f64, y: f64, z: f64| e1 * x + e2 * y + normal * z;
    let jet = Jet {
        p: Vec3::ZERO,
        du: world(1.0, 0.0, s.x[1]),
        dv: world(0.0, 1.0, s.x[2]),
        duu: world(0.0, 0.0, s.x[3]),
        duv: world(0.0, 0.0, s.x[4]),
        dvv: world(0.0, 0.0, s.x[5]),
    };
    let site = jet.site(false)?;
    Some(Estimate {
        normal: site.normal,
        tensor: matrix_of(&site.curvature),
        error_per_mm: 2.0 * s.deviation[3].max(s.deviation[4]).max(s.deviation[5]),
    })
}
