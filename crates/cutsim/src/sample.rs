//! Rays over faces of a part: evenly spread, exact, the same for any number of threads.

use crate::deviation::Ray;
use geom::Vec3;
use part::Part;
use rayon::prelude::*;

/// A ray with the area it stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Point and normal of the nominal surface.
    pub ray: Ray,
    /// Area it stands for, mm².
    pub area_mm2: f64,
}

/// Steps of the additive recurrence with the plastic number: points that fill a square evenly
/// (Roberts 2018).
const STEP: [f64; 2] = [0.754_877_666_246_692_7, 0.569_840_290_998_053_3];

/// About `count` samples over the triangles of `faces`.
pub(crate) fn over_faces(part: &Part, faces: &[usize], count: usize) -> Vec<Sample> {
    let triangles: Vec<u32> = (0..part.mesh.triangles.len() as u32)
        .filter(|t| faces.contains(&(part.mesh.face_of[*t as usize] as usize)))
        .collect();
    let areas: Vec<f64> =
        triangles.iter().map(|t| part.mesh.triangle_area_mm2(*t as usize)).collect();
    let total: f64 = areas.iter().sum();
    if total.is_nan() || total <= 0.0 {
        return Vec::new();
    }
    let density = count as f64 / total;
    // whole samples by running sum, so that small triangles are neither all left out nor all taken
    let mut sum = 0.0;
    let counts: Vec<usize> = areas
        .iter()
        .map(|area| {
            let before = f64::floor(sum);
            sum += area * density;
            (f64::floor(sum) - before) as usize
        })
        .collect();
    let of_triangle: Vec<Vec<Sample>> = triangles
        .par_iter()
        .zip(&counts)
        .map(|(t, n)| in_triangle(part, *t, *n, total / count as f64))
        .collect();
    let mut samples: Vec<Sample> = of_triangle.into_iter().flatten().collect();
    neighbours_together(&mut samples, |s| s.ray.point);
    samples
}

/// Cells of the space-filling curve along each axis.
const CURVE_CELLS: f64 = 1023.0;

/// Puts what lies close together beside each other, along a space-filling curve (Morton 1966).
pub(crate) fn neighbours_together<T: Send>(items: &mut [T], point: impl Fn(&T) -> Vec3 + Sync) {
    let Some(first) = items.first().map(&point) else { return };
    let ends = items.iter().map(&point);
    let (low, high) = ends.fold((first, first), |(l, h), p| (l.min(p), h.max(p)));
    let scale = CURVE_CELLS / (high - low).max_element().max(f64::MIN_POSITIVE);
    let key = |item: &T| {
        let cell = ((point(item) - low) * scale).to_array().map(|c| c as u64);
        spread_bits(cell[0]) | spread_bits(cell[1]) << 1 | spread_bits(cell[2]) << 2
    };
    items.par_sort_by_key(key);
}

/// Bits of a number below 1024 with two empty bits between them.
fn spread_bits(n: u64) -> u64 {
    (0..10).fold(0, |out, bit| out | (n >> bit & 1) << (3 * bit))
}

fn in_triangle(part: &Part, t: u32, count: usize, area_mm2: f64) -> Vec<Sample> {
    let start = (f64::from(t) * 0.618_033_988_749_894_9).fract();
    (0..count)
        .map(|i| weights(i, start))
        .filter_map(|w| part.site(t, w))
        .map(|s| Sample { ray: Ray { point: s.point, normal: s.normal }, area_mm2 })
        .collect()
}

/// Barycentric weights of point `i`: the square folded onto the triangle.
fn weights(i: usize, start: f64) -> [f64; 3] {
    let u = (start + i as f64 * STEP[0]).fract();
    let v = (0.5 + i as f64 * STEP[1]).fract();
    let (u, v) = if u + v > 1.0 { (1.0 - u, 1.0 - v) } else { (u, v) };
    [1.0 - u - v, u, v]
}

/// Share of its distance by which a point's foot on the mesh lies aside of that on the surface, at
/// most: as far as the mesh leans against it.
const BENT_SHARE: f64 = 0.1;

/// A ray where the surface of the feature passes nearest to `near`; `None` off the feature.
pub(crate) fn ray_near(part: &Part, faces: &[usize], near: Vec3, within_mm: f64) -> Option<Ray> {
    let hit = part.bvh.closest(&part.mesh, near, within_mm)?;
    let face = part.mesh.face_of[hit.triangle as usize] as usize;
    if !faces.contains(&face) {
        return None;
    }
    let site = part.site_near(hit.triangle, near)?;
    // the surface runs on beyond the borders of its face: there the mesh stays behind
    let behind = site.point - hit.point;
    let aside = (behind - site.normal * behind.dot(site.normal)).length();
    let bent = BENT_SHARE * near.distance(hit.point) + part.deviation_mm;
    (aside <= bent).then_some(Ray { point: site.point, normal: site.normal })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_fill_the_triangle_evenly() {
        let n = 4000;
        let sum = (0..n).map(|i| weights(i, 0.3)).fold([0.0; 3], |s, w| {
            assert!(w.iter().all(|x| (0.0..=1.0).contains(x)));
            [s[0] + w[0], s[1] + w[1], s[2] + w[2]]
        });
        assert!(sum.iter().all(|s| (s / n as f64 - 1.0 / 3.0).abs() < 2e-3), "{sum:?}");
    }
}
