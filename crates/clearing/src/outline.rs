//! The border of a region in strips: whether a point lies in it, and how far off its border is.

use geom::Vec2;
use geom::segment::distance_in_plane;

/// Strips over the height of a region at most.
const STRIPS: usize = 2048;

/// A border.
#[derive(Debug, Clone)]
pub(crate) struct Outline {
    edges: Vec<(Vec2, Vec2)>,
    /// Edges that meet each strip.
    strips: Vec<Vec<u32>>,
    low_y: f64,
    height: f64,
}

impl Outline {
    /// Of closed loops, piece by piece.
    pub(crate) fn new(edges: Vec<(Vec2, Vec2)>) -> Self {
        let ends = edges.iter().flat_map(|e| [e.0.y, e.1.y]);
        let (low, high) = ends.fold((f64::MAX, f64::MIN), |(a, b), y| (a.min(y), b.max(y)));
        let count = edges.len().clamp(1, STRIPS);
        let height = ((high - low) / count as f64).max(1e-9);
        let mut out = Self { strips: vec![Vec::new(); count], low_y: low, height, edges };
        for (i, (a, b)) in out.edges.iter().enumerate() {
            for strip in out.strip(a.y.min(b.y))..=out.strip(a.y.max(b.y)) {
                out.strips[strip].push(i as u32);
            }
        }
        out
    }

    fn strip(&self, y: f64) -> usize {
        (((y - self.low_y) / self.height).max(0.0) as usize).min(self.strips.len() - 1)
    }

    /// Whether a point lies inside.
    pub(crate) fn holds(&self, p: Vec2) -> bool {
        let mut odd = false;
        for i in &self.strips[self.strip(p.y)] {
            let (a, b) = self.edges[*i as usize];
            if (a.y > p.y) != (b.y > p.y) {
                odd ^= p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x);
            }
        }
        odd
    }

    /// Whether a disc meets neither the border nor what is inside it.
    pub(crate) fn keeps_off(&self, c: Vec2, radius: f64) -> bool {
        let strips = self.strip(c.y - radius)..=self.strip(c.y + radius);
        let mut near = self.strips[strips].iter().flatten();
        !self.holds(c)
            && near.all(|i| {
                let (a, b) = self.edges[*i as usize];
                distance_in_plane(c, [a, b]) >= radius
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use planar::Region;

    #[test]
    fn a_ring_holds_what_lies_between_its_borders() {
        let square = |h: f64| Region::of_loops(&[vec![[-h, -h], [h, -h], [h, h], [-h, h]]]);
        let ring = square(5.0).less(&square(4.0));
        let outline = Outline::new(crate::distance::edges(&ring));
        for (p, inside) in
            [([4.5, 0.0], true), ([0.0, 0.0], false), ([0.0, -4.5], true), ([6.0, 0.0], false)]
        {
            assert_eq!(outline.holds(Vec2::from(p)), inside, "{p:?}");
        }
        assert!(outline.keeps_off(Vec2::ZERO, 3.99) && !outline.keeps_off(Vec2::ZERO, 4.01));
        assert!(!outline.keeps_off(Vec2::new(4.5, 0.0), 0.1));
    }
}
