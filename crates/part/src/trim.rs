//! Where on its surface a face lies: its borders in the surface's parameters.

use geom::Vec2;

/// The part of a surface that a face covers.
#[derive(Debug, Clone, PartialEq)]
pub struct Trim {
    /// Lower corner of the face's box in the parameters.
    pub uv_lo: Vec2,
    /// Upper corner of the face's box in the parameters.
    pub uv_hi: Vec2,
    /// Closed borders, the outer one first where it is known; the last point joins the first.
    /// The face lies to the left seen along `du × dv`.
    pub loops: Vec<Vec<Vec2>>,
}

impl Trim {
    /// Whether the face covers `uv`. A face without borders (a whole sphere) covers its box.
    pub fn contains(&self, uv: Vec2) -> bool {
        let boxed = uv.cmpge(self.uv_lo).all() && uv.cmple(self.uv_hi).all();
        let crossings = self.loops.iter().map(|l| crossings(l, uv)).sum::<usize>();
        boxed && (self.loops.is_empty() || crossings % 2 == 1)
    }
}

/// How often a ray from `p` along +u crosses the loop.
fn crossings(points: &[Vec2], p: Vec2) -> usize {
    let next = points.iter().cycle().skip(1);
    points
        .iter()
        .zip(next)
        .filter(|(a, b)| {
            (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
        })
        .count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_with_a_hole_covers_its_ring() {
        let square = |half: f64| {
            vec![
                Vec2::new(-half, -half),
                Vec2::new(half, -half),
                Vec2::new(half, half),
                Vec2::new(-half, half),
            ]
        };
        let hole = square(1.0).into_iter().rev().collect();
        let trim = Trim {
            uv_lo: Vec2::splat(-3.0),
            uv_hi: Vec2::splat(3.0),
            loops: vec![square(3.0), hole],
        };
        assert!(trim.contains(Vec2::new(2.0, 0.3)) && trim.contains(Vec2::new(-1.5, -2.5)));
        assert!(!trim.contains(Vec2::new(0.3, 0.2)) && !trim.contains(Vec2::new(3.5, 0.0)));
    }
}
