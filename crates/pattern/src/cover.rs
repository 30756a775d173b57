//! How far places of a feature lie from the nearest line.

use std::collections::BTreeMap;

use geom::Vec3;

/// Segments of lines, by the cells that they run through.
pub(crate) struct Lines {
    cell_mm: f64,
    near: BTreeMap<[i64; 3], Vec<[Vec3; 2]>>,
}

/// Of the lines what is nearest to a place.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Near {
    pub(crate) distance_mm: f64,
    pub(crate) place: Vec3,
    /// Direction of the line there.
    pub(crate) along: Vec3,
}

impl Lines {
    /// Lines to which distances up to `reach_mm` count.
    pub(crate) fn new(lines: &[Vec<Vec3>], reach_mm: f64) -> Self {
        let mut all = Self { cell_mm: reach_mm, near: BTreeMap::new() };
        for w in lines.iter().flat_map(|l| l.windows(2)) {
            all.add([w[0], w[1]]);
        }
        all
    }

    fn add(&mut self, segment: [Vec3; 2]) {
        let [a, b] = segment;
        // long segments are taken piece by piece, so that few cells hold them
        let n = (a.distance(b) / self.cell_mm).ceil().max(1.0) as usize;
        for k in 0..n {
            let (p, q) = (a.lerp(b, k as f64 / n as f64), a.lerp(b, (k + 1) as f64 / n as f64));
            let (lo, hi) = (self.key(p.min(q)), self.key(p.max(q)));
            for x in lo[0] - 1..=hi[0] + 1 {
                for y in lo[1] - 1..=hi[1] + 1 {
                    for z in lo[2] - 1..=hi[2] + 1 {
                        self.near.entry([x, y, z]).or_default().push([p, q]);
                    }
                }
            }
        }
    }

    fn key(&self, p: Vec3) -> [i64; 3] {
        (p / self.cell_mm).floor().to_array().map(|x| x as i64)
    }

    /// The nearest line; `None` beyond the reach.
    pub(crate) fn nearest(&self, p: Vec3) -> Option<Near> {
        let foot = |[a, b]: &[Vec3; 2]| {
            let along = *b - *a;
            let square = along.length_squared();
            let f = if square > 0.0 { ((p - *a).dot(along) / square).clamp(0.0, 1.0) } else { 0.0 };
            *a + along * f
        };
        self.near
            .get(&self.key(p))?
            .iter()
            .map(|s| {
                let place = foot(s);
                Near { distance_mm: p.distance(place), place, along: s[1] - s[0] }
            })
            .min_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm))
            .filter(|n| n.distance_mm <= self.cell_mm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_of_two_lines_is_found() {
        let row = |y: f64| (0..30).map(|k| Vec3::new(f64::from(k), y, 0.0)).collect::<Vec<_>>();
        let lines = Lines::new(&[row(0.0), row(1.0), vec![Vec3::ZERO, Vec3::Z * 50.0]], 0.8);
        let near = lines.nearest(Vec3::new(7.3, 0.4, 0.3)).expect("near");
        assert!((near.distance_mm - 0.5).abs() < 1e-12);
        assert!(near.place.distance(Vec3::X * 7.3) < 1e-12);
        assert!(near.along.normalize().distance(Vec3::X) < 1e-12);
        assert!(lines.nearest(Vec3::new(7.3, 0.5, 0.8)).is_none());
        let near = lines.nearest(Vec3::new(-0.6, 0.0, 33.3)).expect("near");
        assert!((near.distance_mm - 0.6).abs() < 1e-12);
    }
}
