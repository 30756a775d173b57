//! A region of the plane: loops, outer ones anticlockwise, holes clockwise.

use clipper2_rust as clip;
use clipper2_rust::core::{FillRule, Paths64, Point64};

/// Spacing of the grid that points are rounded to, mm.
pub const GRID_MM: f64 = 1e-5;
/// How far a chord may leave an arc, mm.
pub const ARC_MM: f64 = 5e-4;

/// A region of the plane; may be empty or of several pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    paths: Paths64,
}

/// Farther out than this nothing lies, mm: products of the grid's numbers stay exact enough.
const FARTHEST_MM: f64 = 1e9;

/// A line of points as the library takes it; points that are no numbers are left out.
fn path(points: &[[f64; 2]]) -> Vec<Point64> {
    let grid = |v: f64| (v.clamp(-FARTHEST_MM, FARTHEST_MM) / GRID_MM).round() as i64;
    let numbers = points.iter().filter(|[x, y]| !x.is_nan() && !y.is_nan());
    numbers.map(|[x, y]| Point64::new(grid(*x), grid(*y))).collect()
}

impl Region {
    /// The region inside closed loops, mm, of any direction: a point belongs where an odd number of
    /// loops goes around it. Crossings, repeated points and spikes do no harm.
    pub fn of_loops(loops: &[Vec<[f64; 2]>]) -> Self {
        let paths: Paths64 = loops.iter().map(|l| path(l)).collect();
        Self { paths: clip::union_subjects_64(&paths, FillRule::EvenOdd) }
    }

    /// The union of pieces, each a closed loop anticlockwise, mm.
    pub fn of_pieces(loops: &[Vec<[f64; 2]>]) -> Self {
        let paths: Paths64 = loops.iter().map(|l| path(l)).collect();
        Self { paths: clip::union_subjects_64(&paths, FillRule::NonZero) }
    }

    /// All points within `radius_mm` of the lines.
    pub fn around(lines: &[Vec<[f64; 2]>], radius_mm: f64) -> Self {
        let paths: Paths64 = lines.iter().map(|l| path(l)).collect();
        let round = (clip::JoinType::Round, clip::EndType::Round);
        let arc = ARC_MM / GRID_MM;
        let paths = clip::inflate_paths_64(&paths, radius_mm / GRID_MM, round.0, round.1, 2.0, arc);
        Self { paths: clip::union_subjects_64(&paths, FillRule::NonZero) }
    }

    /// The region grown by a disk of `radius_mm`.
    pub fn grown(&self, radius_mm: f64) -> Self {
        let ends = clip::EndType::Polygon;
        let arc = ARC_MM / GRID_MM;
        let radius = radius_mm / GRID_MM;
        let join = clip::JoinType::Round;
        Self { paths: clip::inflate_paths_64(&self.paths, radius, join, ends, 2.0, arc) }
    }

    /// What is in this or the other.
    pub fn or(&self, other: &Self) -> Self {
        let all: Paths64 = self.paths.iter().chain(&other.paths).cloned().collect();
        Self { paths: clip::union_subjects_64(&all, FillRule::NonZero) }
    }

    /// What is in both.
    pub fn and(&self, other: &Self) -> Self {
        Self { paths: clip::intersect_64(&self.paths, &other.paths, FillRule::NonZero) }
    }

    /// What is in this and not in the other.
    pub fn less(&self, other: &Self) -> Self {
        Self { paths: clip::difference_64(&self.paths, &other.paths, FillRule::NonZero) }
    }

    /// Area, mm².
    pub fn area_mm2(&self) -> f64 {
        // seen from a point of each loop: places far from the origin cost no digits
        let twice = |p: &Vec<Point64>| -> f64 {
            let Some(o) = p.first() else { return 0.0 };
            let from = |q: &Point64| ((q.x - o.x) as f64, (q.y - o.y) as f64);
            let pairs = p.iter().zip(p.iter().skip(1)).map(|(a, b)| (from(a), from(b)));
            pairs.map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum()
        };
        0.5 * self.paths.iter().map(twice).sum::<f64>() * GRID_MM * GRID_MM
    }

    /// Length of the border, mm.
    pub fn border_mm(&self) -> f64 {
        let length = |p: &Vec<Point64>| -> f64 {
            let next = p.iter().cycle().skip(1);
            p.iter().zip(next).map(|(a, b)| ((a.x - b.x) as f64).hypot((a.y - b.y) as f64)).sum()
        };
        self.paths.iter().map(length).sum::<f64>() * GRID_MM
    }

    /// Whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.area_mm2() <= 0.0
    }

    /// Its lowest and its highest corner, mm; from +∞ to −∞ where it is empty.
    pub fn bounds_mm(&self) -> ([f64; 2], [f64; 2]) {
        let mut out = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for p in self.paths.iter().flatten() {
            for (k, v) in [p.x, p.y].into_iter().enumerate() {
                let mm = v as f64 * GRID_MM;
                out.0[k] = out.0[k].min(mm);
                out.1[k] = out.1[k].max(mm);
            }
        }
        out
    }

    /// Its loops, mm: outer ones anticlockwise, holes clockwise.
    pub fn loops(&self) -> Vec<Vec<[f64; 2]>> {
        let point = |p: &Point64| [p.x as f64 * GRID_MM, p.y as f64 * GRID_MM];
        self.paths.iter().map(|l| l.iter().map(point).collect()).collect()
    }
}
