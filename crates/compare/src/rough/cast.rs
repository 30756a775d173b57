//! A stock given as a mesh: where it stands between two heights, how high, and where its shape changes.

use super::section::section;
use geom::polygon::beyond;
use geom::tolerance::COINCIDENT_MM;
use geom::{TriMesh, Vec2, Vec3};
use part::Part;
use pattern::Frame;
use planar::Region;

/// Heights at which a mesh is looked at between two of its layers' ends, at most.
const MOST_ENDS: usize = 16;
/// Sections are taken this far off a height, so that a flat face at it counts as of one side, mm.
const OFF_MM: f64 = 1e-4;
/// What is thinner than twice this is no stock: where part and stock share a face, their facets lie
/// that far apart, mm.
const THIN_MM: f64 = 5e-3;

/// A stock given as a closed mesh.
#[derive(Debug)]
pub(crate) struct Cast {
    mesh: TriMesh,
    frame: Frame,
    /// Of its vertices, from below, each once, mm.
    heights_mm: Vec<f64>,
}

impl Cast {
    /// As it stands in a set-up.
    pub(crate) fn new(stock: &Part, frame: Frame) -> Self {
        let mesh = stock.mesh.clone();
        let mut heights_mm: Vec<f64> = mesh.vertices.iter().map(|p| p.dot(frame.up)).collect();
        heights_mm.sort_by(f64::total_cmp);
        heights_mm.dedup_by(|a, b| (*a - *b).abs() <= COINCIDENT_MM);
        Self { mesh, frame, heights_mm }
    }

    /// The mesh.
    pub(crate) fn mesh(&self) -> &TriMesh {
        &self.mesh
    }

    /// Its highest place, mm.
    pub(crate) fn highest_mm(&self) -> f64 {
        self.heights_mm.last().copied().unwrap_or(f64::NEG_INFINITY)
    }

    /// A region that holds all of it.
    pub(crate) fn everywhere(&self) -> Region {
        let plan = self.mesh.vertices.iter().map(|p| self.frame.plan(*p));
        let first = self.mesh.vertices.first().map_or(Vec2::ZERO, |p| self.frame.plan(*p));
        let (lo, hi) = plan.fold((first, first), |(a, b), p| (a.min(p), b.max(p)));
        Region::of_loops(&[vec![[lo.x, lo.y], [hi.x, lo.y], [hi.x, hi.y], [lo.x, hi.y]]])
    }

    /// Heights strictly between two at which its shape may change, from below.
    pub(crate) fn ends(&self, bottom_mm: f64, top_mm: f64) -> Vec<f64> {
        let slack = 2.0 * OFF_MM;
        let within = |z: &&f64| **z > bottom_mm + slack && **z < top_mm - slack;
        let own: Vec<f64> = self.heights_mm.iter().filter(within).copied().collect();
        if own.len() < MOST_ENDS {
            return own;
        }
        let at = |k: usize| bottom_mm + (top_mm - bottom_mm) * k as f64 / MOST_ENDS as f64;
        (1..MOST_ENDS).map(at).collect()
    }

    /// What of it stands at a height.
    pub(crate) fn at(&self, height_mm: f64) -> Region {
        section(&self.mesh, self.frame, height_mm)
    }

    /// Where any of it stands between two heights, in `window`: its section at the lower one, and the
    /// shadow of its surface in between.
    pub(crate) fn between(&self, bottom_mm: f64, top_mm: f64, window: &Region) -> Region {
        let (low, high) = (bottom_mm + OFF_MM, top_mm - OFF_MM);
        let bounds = window.bounds_mm();
        let mut shadow = Vec::new();
        for t in 0..self.mesh.triangles.len() {
            let corners = self.mesh.corners(t);
            let z = corners.map(|p| p.dot(self.frame.up));
            let off = |k: usize| {
                let plan = corners.map(|p| self.frame.plan(p)[k]);
                plan.iter().all(|v| *v < bounds.0[k]) || plan.iter().all(|v| *v > bounds.1[k])
            };
            if z.iter().all(|z| *z <= low) || z.iter().all(|z| *z >= high) || off(0) || off(1) {
                continue;
            }
            let height = |p: &Vec3| p.dot(self.frame.up);
            let piece = beyond(&beyond(&corners, |p| height(p) - low), |p| high - height(p));
            let mut plan: Vec<[f64; 2]> =
                piece.iter().map(|p| self.frame.plan(*p).to_array()).collect();
            if planar::twice_area(&plan) < 0.0 {
                plan.reverse();
            }
            shadow.push(plan);
        }
        let all = self.at(low).or(&Region::of_pieces(&shadow)).and(window);
        all.grown(-THIN_MM).grown(THIN_MM).and(&all)
    }

    /// Its highest place over a region, mm; `None` where it has none there.
    pub(crate) fn top_over(&self, domain: &Region) -> Option<f64> {
        let loops = domain.loops();
        let edges: Vec<(Vec2, Vec2)> = loops
            .iter()
            .flat_map(|l| l.iter().zip(l.iter().cycle().skip(1)))
            .map(|(a, b)| (Vec2::from(*a), Vec2::from(*b)))
            .collect();
        let bounds = domain.bounds_mm();
        let mut best: Option<f64> = None;
        for t in 0..self.mesh.triangles.len() {
            let corners = self.mesh.corners(t);
            let z = corners.map(|p| p.dot(self.frame.up));
            let plan = corners.map(|p| self.frame.plan(p));
            let off = (0..2).any(|k| {
                plan.iter().all(|p| p[k] < bounds.0[k]) || plan.iter().all(|p| p[k] > bounds.1[k])
            });
            let most = z.into_iter().fold(f64::NEG_INFINITY, f64::max);
            if off || best.is_some_and(|b| most <= b) {
                continue;
            }
            let inside =
                (0..3).filter(|i| planar::holds(&loops, plan[*i].to_array())).map(|i| z[i]);
            let crossed = edges.iter().flat_map(|e| crossings(*e, plan, z));
            best = inside.chain(crossed).chain(best).reduce(f64::max);
        }
        best
    }
}

/// Heights of a triangle where the ends of a border piece lie under it and where the piece crosses its sides.
fn crossings((a, b): (Vec2, Vec2), plan: [Vec2; 3], z: [f64; 3]) -> Vec<f64> {
    let mut out = Vec::new();
    let along = b - a;
    for i in 0..3 {
        let j = (i + 1) % 3;
        let side = plan[j] - plan[i];
        let cross = along.perp_dot(side);
        if cross.abs() <= f64::MIN_POSITIVE {
            continue;
        }
        let from = plan[i] - a;
        let (s, t) = (from.perp_dot(side) / cross, from.perp_dot(along) / cross);
        if (0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t) {
            out.push(z[i] + t * (z[j] - z[i]));
        }
    }
    let whole = (plan[1] - plan[0]).perp_dot(plan[2] - plan[0]);
    let share = |i: usize| {
        let (p, q) = (plan[(i + 1) % 3] - a, plan[(i + 2) % 3] - a);
        p.perp_dot(q) / whole
    };
    let shares = [share(0), share(1), share(2)];
    if shares.iter().all(|s| *s >= 0.0) {
        out.push(shares.iter().zip(z).map(|(s, z)| s * z).sum());
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A frustum as a part: 20 mm wide at the bottom, 10 mm at the top, 10 mm high.
    fn frustum() -> Cast {
        let ring = |half: f64, z: f64| {
            format!(
                "v {} {} {z}\nv {half} {} {z}\nv {half} {half} {z}\nv {} {half} {z}\n",
                -half, -half, -half, -half
            )
        };
        let mut text = ring(10.0, 0.0) + &ring(5.0, 10.0) + "f 4 3 2 1\nf 5 6 7 8\n";
        for i in 1..=4 {
            let j = i % 4 + 1;
            text += &format!("f {i} {j} {} {}\n", 4 + j, 4 + i);
        }
        let options = part::ReadOptions { unit: Some(part::LengthUnit::Mm), ..Default::default() };
        let part = part::read(text.as_bytes(), "frustum.obj", &options);
        Cast::new(&part.unwrap_or_else(|e| panic!("{e}")), Frame::default())
    }

    fn square(x: f64, side: f64) -> Region {
        Region::of_loops(&[vec![[x, -1.0], [x + side, -1.0], [x + side, 1.0], [x, 1.0]]])
    }

    #[test]
    fn a_layer_holds_all_that_stands_at_any_height_of_it() {
        let cast = frustum();
        let window =
            Region::of_loops(&[vec![[-50.0, -50.0], [50.0, -50.0], [50.0, 50.0], [-50.0, 50.0]]]);
        // derived: widest at the lower end, 20 − z
        for (low, high) in [(0.0, 10.0), (2.0, 4.0), (9.0, 30.0)] {
            let area = cast.between(low, high, &window).area_mm2();
            let side: f64 = 20.0 - low;
            assert!((area - side * side).abs() < 0.01, "{low} {high}: {area}");
        }
        assert!(cast.between(10.0, 12.0, &window).is_empty());
        assert!(cast.ends(0.0, 10.0).is_empty() && cast.ends(-1.0, 11.0).len() == 2);
    }

    #[test]
    fn the_top_over_a_region_is_where_it_stands_highest_there() {
        let cast = frustum();
        // derived: the side rises from 0 at x = 10 to 10 at x = 5
        for (x, side, want) in [(-1.0, 2.0, 10.0), (7.0, 2.0, 6.0), (9.5, 30.0, 1.0)] {
            let top = cast.top_over(&square(x, side)).unwrap_or(f64::NAN);
            assert!((top - want).abs() < 1e-6, "{x}: {top}");
        }
        assert_eq!(cast.top_over(&square(12.0, 3.0)), None);
    }
}
