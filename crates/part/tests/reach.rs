//! What a disk reaches of the pockets of real parts, against a raster of the part's own section.
#![cfg(feature = "occt")]
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test may panic")]

mod support;

use geom::Vec3;
use part::Part;
use part::fact::{self, Pocket};
use std::collections::VecDeque;
use support::pockets;

/// Width of a cell of the raster, mm.
const CELL_MM: f64 = 0.09;
/// Room around the part, mm: more than the largest radius.
const AROUND_MM: f64 = 12.0;

/// Cells of a plane across an axis.
struct Raster {
    lo: [f64; 2],
    size: [usize; 2],
    cells: Vec<bool>,
}

impl Raster {
    fn empty(lo: [f64; 2], hi: [f64; 2]) -> Self {
        let size = [0, 1].map(|k| ((hi[k] - lo[k]) / CELL_MM).ceil() as usize);
        Self { lo, size, cells: vec![false; size[0] * size[1]] }
    }

    fn like(&self) -> Self {
        Self { lo: self.lo, size: self.size, cells: vec![false; self.cells.len()] }
    }

    fn middle(&self, i: usize, k: usize) -> f64 {
        self.lo[k] + (i as f64 + 0.5) * CELL_MM
    }

    /// Turns the cells between two places of a row over.
    fn turn_over(&mut self, row: usize, from: f64, to: f64) {
        let first = |x: f64| ((x - self.lo[0]) / CELL_MM - 0.5).ceil().max(0.0) as usize;
        for i in first(from)..first(to).min(self.size[0]) {
            let at = row * self.size[0] + i;
            self.cells[at] = !self.cells[at];
        }
    }

    /// Whether each cell lies nearer than `radius_mm` to a set one (two passes of the exact distance
    /// transform by lower envelopes of parabolas).
    fn near(&self, radius_mm: f64) -> Self {
        let far = 1e12;
        let [nx, ny] = self.size;
        let mut square: Vec<f64> = self.cells.iter().map(|c| if *c { 0.0 } else { far }).collect();
        for y in 0..ny {
            let row: Vec<f64> = square[y * nx..(y + 1) * nx].to_vec();
            square[y * nx..(y + 1) * nx].copy_from_slice(&envelope(&row));
        }
        for x in 0..nx {
            let column: Vec<f64> = (0..ny).map(|y| square[y * nx + x]).collect();
            for (y, value) in envelope(&column).into_iter().enumerate() {
                square[y * nx + x] = value;
            }
        }
        let most = (radius_mm / CELL_MM).powi(2);
        Self { cells: square.iter().map(|s| *s < most).collect(), ..self.like() }
    }

    /// Cells that are not set and connected with one.
    fn gap_around(&self, seed: [f64; 2]) -> Self {
        let mut out = self.like();
        let at = [0, 1].map(|k| ((seed[k] - self.lo[k]) / CELL_MM) as usize);
        let mut queue = VecDeque::from([at]);
        while let Some([x, y]) = queue.pop_front() {
            let i = y * self.size[0] + x;
            if self.cells[i] || out.cells[i] {
                continue;
            }
            out.cells[i] = true;
            assert!(x > 0 && y > 0 && x + 1 < self.size[0] && y + 1 < self.size[1], "it is open");
            queue.extend([[x - 1, y], [x + 1, y], [x, y - 1], [x, y + 1]]);
        }
        out
    }

    fn area_mm2(&self) -> f64 {
        self.cells.iter().filter(|c| **c).count() as f64 * CELL_MM * CELL_MM
    }
}

/// `min over j of (i − j)² + f(j)` for every i.
fn envelope(f: &[f64]) -> Vec<f64> {
    let n = f.len();
    let (mut at, mut from) = (vec![0usize; n], vec![0.0; n + 1]);
    let (mut k, square) = (0, |i: usize| (i * i) as f64);
    (from[0], from[1]) = (f64::NEG_INFINITY, f64::INFINITY);
    for q in 1..n {
        loop {
            let p = at[k];
            let s = (f[q] + square(q) - f[p] - square(p)) / (2.0 * (q - p) as f64);
            if s > from[k] || k == 0 {
                k = if s > from[k] { k + 1 } else { k };
                at[k] = q;
                from[k] = s;
                from[k + 1] = f64::INFINITY;
                break;
            }
            k -= 1;
        }
    }
    k = 0;
    (0..n)
        .map(|i| {
            while from[k + 1] < i as f64 {
                k += 1;
            }
            (i as f64 - at[k] as f64).powi(2) + f[at[k]]
        })
        .collect()
}

/// The part seen along a pocket's axis.
struct Seen<'a> {
    part: &'a Part,
    basis: [Vec3; 3],
}

impl Seen<'_> {
    fn of(&self, p: Vec3) -> Vec3 {
        let [u, v, w] = self.basis;
        Vec3::new(p.dot(u), p.dot(v), p.dot(w))
    }

    fn blank(&self) -> Raster {
        let all = self.part.mesh.vertices.iter().map(|p| self.of(*p));
        let (lo, hi) = all.fold((Vec3::MAX, Vec3::MIN), |(a, b), p| (a.min(p), b.max(p)));
        let (lo, hi) = (lo - AROUND_MM, hi + AROUND_MM);
        Raster::empty([lo.x, lo.y], [hi.x, hi.y])
    }

    /// The material at a height, row by row by the crossings of the mesh.
    fn material(&self, height_mm: f64) -> Raster {
        let mut out = self.blank();
        let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); out.size[1]];
        for t in &self.part.mesh.triangles {
            let p = t.map(|v| self.of(self.part.mesh.vertices[v as usize]));
            let ends: Vec<[f64; 2]> = [(0, 1), (1, 2), (2, 0)]
                .into_iter()
                .filter(|(a, b)| (p[*a].z > height_mm) != (p[*b].z > height_mm))
                .map(|(a, b)| {
                    let q = p[a].lerp(p[b], (height_mm - p[a].z) / (p[b].z - p[a].z));
                    [q.x, q.y]
                })
                .collect();
            let [a, b] = ends[..] else { continue };
            for (row, list) in crossings.iter_mut().enumerate() {
                let y = out.middle(row, 1);
                if (a[1] > y) != (b[1] > y) {
                    list.push(a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]));
                }
            }
        }
        for (row, mut list) in crossings.into_iter().enumerate() {
            list.sort_by(f64::total_cmp);
            list.chunks(2).for_each(|c| out.turn_over(row, c[0], c[1]));
        }
        out
    }

    /// The triangles of a face in plan.
    fn face(&self, face: u32) -> Raster {
        let mut out = self.blank();
        for (t, _) in self.part.mesh.face_of.iter().enumerate().filter(|(_, f)| **f == face) {
            let p =
                self.part.mesh.triangles[t].map(|v| self.of(self.part.mesh.vertices[v as usize]));
            for row in 0..out.size[1] {
                let y = out.middle(row, 1);
                let mut x = Vec::new();
                for (a, b) in [(p[0], p[1]), (p[1], p[2]), (p[2], p[0])] {
                    if (a.y > y) != (b.y > y) {
                        x.push(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
                    }
                }
                if let [a, b] = x[..] {
                    out.turn_over(row, a.min(b), a.max(b));
                }
            }
        }
        out
    }
}

/// Area that a disk reaches of `pocket`: its centre is `radius_mm` from all material at the height, and
/// farther from the pocket by no more than that.
fn reached_mm2(pocket: &Raster, material: &Raster, radius_mm: f64) -> f64 {
    let blocked = material.near(radius_mm);
    let mut centres = pocket.near(radius_mm);
    centres.cells.iter_mut().zip(&blocked.cells).for_each(|(c, b)| *c &= !b);
    let mut covered = centres.near(radius_mm);
    covered.cells.iter_mut().zip(&pocket.cells).for_each(|(c, p)| *c &= p);
    covered.area_mm2()
}

fn check(part: &Part, pocket: &Pocket, rise_mm: f64, radii_mm: &[f64]) {
    let u = pocket.axis.any_orthonormal_vector();
    let seen = Seen { part, basis: [u, pocket.axis.cross(u), pocket.axis] };
    let plan = fact::plan(part, pocket);
    let walls = |p: &&u32| pocket.faces.contains(&(part.mesh.face_of[**p as usize] as usize));
    let all: Vec<u32> = (0..part.mesh.triangles.len() as u32).collect();
    let own: Vec<Vec3> = all
        .iter()
        .filter(walls)
        .flat_map(|t| part.mesh.triangles[*t as usize])
        .map(|v| seen.of(part.mesh.vertices[v as usize]))
        .collect();
    let low = own.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
    let material = seen.material(low + rise_mm);
    let region = match pocket.floor {
        Some(face) if rise_mm < 0.1 => seen.face(face as u32),
        _ => {
            let middle = own.iter().sum::<Vec3>() / own.len() as f64;
            material.gap_around([middle.x, middle.y])
        }
    };
    let whole = plan.outline.region.area_mm2();
    assert!((region.area_mm2() / whole - 1.0).abs() < 0.01, "{} {whole}", region.area_mm2());
    for radius_mm in radii_mm {
        let found = planar::reach(&plan.outline, *radius_mm).covered.area_mm2();
        let raster = reached_mm2(&region, &material, *radius_mm);
        assert!(
            (found - raster).abs() < 0.01 * whole,
            "radius {radius_mm}: {found}, by the raster {raster} of {whole}"
        );
    }
}

#[test]
fn disks_in_open_through_stepped_and_islanded_pockets() {
    let (part, found) = pockets("recesses.step");
    for pocket in found.iter().filter(|p| !p.is_bore) {
        // not 8: a disk exactly as wide as one of the pockets fits by rounding alone
        check(&part, pocket, 0.05, &[1.0, 2.5, 6.0, 7.0, 11.0]);
    }
}

#[test]
fn disks_in_a_drafted_pocket_with_a_round_floor_edge() {
    let (part, found) = pockets("drafted.step");
    // the wall ends where the fillet begins, 3 (1 − sin 5°) over the floor
    let rise_mm = 3.0 * (1.0 - 5f64.to_radians().sin());
    check(&part, &found[0], rise_mm, &[2.0, 5.0, 8.0, 11.0]);
}
