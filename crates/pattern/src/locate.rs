//! Which triangle of a plane layout holds a point: buckets over the plane.

use geom::Vec2;

/// Triangles of the plane, each with a rank that decides where several overlap.
pub(crate) struct Locator {
    triangles: Vec<[Vec2; 3]>,
    /// Value at each corner; the largest wins where triangles overlap.
    rank: Vec<[f64; 3]>,
    lo: Vec2,
    hi: Vec2,
    per_unit: Vec2,
    size: [usize; 2],
    first: Vec<u32>,
    items: Vec<u32>,
}

/// Where a point lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Located {
    /// Number in the list of triangles.
    pub(crate) triangle: usize,
    /// Barycentric coordinates.
    pub(crate) barycentric: [f64; 3],
}

/// How far outside a triangle still counts as inside, as a barycentric coordinate: closes the
/// hairline between neighbours.
const SLACK: f64 = 1e-9;

impl Locator {
    /// Over triangles of either orientation; flat ones are never found.
    pub(crate) fn new(triangles: Vec<[Vec2; 3]>, rank: Vec<[f64; 3]>) -> Option<Self> {
        let all = || triangles.iter().flatten().copied();
        let lo = all().reduce(Vec2::min)?;
        let hi = all().reduce(Vec2::max)?;
        let span = (hi - lo).max(Vec2::splat(f64::MIN_POSITIVE));
        let per_side = ((triangles.len() as f64).sqrt().ceil() as usize).clamp(1, 1024);
        let mut locator = Self {
            triangles,
            rank,
            lo,
            hi,
            per_unit: Vec2::splat(per_side as f64) / span,
            size: [per_side, per_side],
            first: Vec::new(),
            items: Vec::new(),
        };
        locator.fill();
        Some(locator)
    }

    /// The box round all triangles.
    pub(crate) fn bounds(&self) -> (Vec2, Vec2) {
        (self.lo, self.hi)
    }

    /// All corners.
    pub(crate) fn corners(&self) -> impl Iterator<Item = Vec2> + '_ {
        self.triangles.iter().flatten().copied()
    }

    fn cell(&self, q: Vec2) -> [usize; 2] {
        let at = (q - self.lo) * self.per_unit;
        let hold = |x: f64, n: usize| (x.max(0.0) as usize).min(n - 1);
        [hold(at.x, self.size[0]), hold(at.y, self.size[1])]
    }

    fn fill(&mut self) {
        let mut pairs: Vec<(u32, u32)> = Vec::new();
        for (t, [a, b, c]) in self.triangles.iter().enumerate() {
            let (from, to) = (self.cell(a.min(*b).min(*c)), self.cell(a.max(*b).max(*c)));
            for j in from[1]..=to[1] {
                for i in from[0]..=to[0] {
                    pairs.push(((j * self.size[0] + i) as u32, t as u32));
                }
            }
        }
        pairs.sort_unstable();
        let cells = self.size[0] * self.size[1];
        self.first = vec![0; cells + 1];
        for (cell, _) in &pairs {
            self.first[*cell as usize + 1] += 1;
        }
        for k in 0..cells {
            self.first[k + 1] += self.first[k];
        }
        self.items = pairs.into_iter().map(|(_, t)| t).collect();
    }

    /// The triangle that holds `q`.
    pub(crate) fn find(&self, q: Vec2) -> Option<Located> {
        if !(q.cmpge(self.lo).all() && q.cmple(self.hi).all()) {
            return None;
        }
        let [i, j] = self.cell(q);
        let cell = j * self.size[0] + i;
        let mut best: Option<(f64, Located)> = None;
        for k in self.first[cell]..self.first[cell + 1] {
            let triangle = self.items[k as usize] as usize;
            let Some(b) = barycentric(self.triangles[triangle], q) else { continue };
            let r = self.rank[triangle];
            let rank = b[0] * r[0] + b[1] * r[1] + b[2] * r[2];
            if best.is_none_or(|(known, _)| rank > known) {
                best = Some((rank, Located { triangle, barycentric: b }));
            }
        }
        best.map(|(_, l)| l)
    }
}

fn barycentric([a, b, c]: [Vec2; 3], q: Vec2) -> Option<[f64; 3]> {
    let (ab, ac, aq) = (b - a, c - a, q - a);
    let area = ab.perp_dot(ac);
    if area == 0.0 {
        return None;
    }
    let v = aq.perp_dot(ac) / area;
    let w = ab.perp_dot(aq) / area;
    let u = 1.0 - v - w;
    (u >= -SLACK && v >= -SLACK && w >= -SLACK).then_some([u, v, w])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_point_of_a_square_is_found_and_none_outside() {
        let [a, b, c, d] = [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)].map(Vec2::from);
        let l = Locator::new(vec![[a, b, c], [a, c, d]], vec![[0.0; 3]; 2]).expect("triangles");
        for k in 0..400 {
            let q = Vec2::new(f64::from(k % 20) * 0.1 + 0.05, f64::from(k / 20) * 0.1 + 0.05);
            let found = l.find(q).expect("inside");
            assert!((found.barycentric.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        }
        assert!(l.find(Vec2::new(-0.01, 1.0)).is_none() && l.find(Vec2::splat(2.01)).is_none());
    }

    #[test]
    fn the_higher_of_two_layers_wins() {
        let t = [Vec2::ZERO, Vec2::X, Vec2::Y];
        let l = Locator::new(vec![t, t], vec![[1.0; 3], [5.0; 3]]).expect("triangles");
        assert_eq!(l.find(Vec2::splat(0.2)).map(|f| f.triangle), Some(1));
    }
}
