//! Parameters of a point that is known to lie on a surface, without a guess.

use geom::surface::{Curve, Surface};
use geom::{Vec2, Vec3};

/// Cells of the grid in which a spline surface is searched, for each direction and knot span.
const CELLS_PER_SPAN: usize = 4;
/// Cells at least and at most.
const CELLS: [usize; 2] = [12, 80];
/// Starts that are followed to the end.
const STARTS: usize = 4;

/// Parameters of the point of `surface` nearest to `p`; `size_mm` bounds what is searched of a
/// curve without ends.
pub(super) fn locate(surface: &Surface, p: Vec3, size_mm: f64) -> Option<Vec2> {
    let starts = match surface {
        Surface::Plane(_)
        | Surface::Cylinder(_)
        | Surface::Cone(_)
        | Surface::Sphere(_)
        | Surface::Torus(_) => vec![Vec2::ZERO],
        Surface::Extrusion(e) => {
            // seen along the direction the surface is a curve
            let flat = |q: Vec3| q - e.direction * q.dot(e.direction);
            let u = nearest_seen(&e.curve, size_mm, |q| flat(q - p).length_squared());
            vec![Vec2::new(u, (p - e.curve.jet(u).p).dot(e.direction))]
        }
        Surface::Revolution(r) => {
            let polar = |q: Vec3| {
                let h = (q - r.origin).dot(r.axis);
                (h, (q - r.origin - r.axis * h).length())
            };
            let (h, rho) = polar(p);
            let v = nearest_seen(&r.curve, size_mm, |q| {
                let (a, b) = polar(q);
                (a - h).powi(2) + (b - rho).powi(2)
            });
            let (from, to) = (r.curve.jet(v).p - r.origin, p - r.origin);
            let u =
                r.axis.dot(from.cross(to)).atan2(from.dot(to) - from.dot(r.axis) * to.dot(r.axis));
            vec![Vec2::new(u, v)]
        }
        Surface::Nurbs(_) => grid(surface, p),
        Surface::Offset(o) => match o.base() {
            Surface::Nurbs(_) => grid(o.base(), p),
            base => vec![locate(base, p, size_mm)?],
        },
    };
    let feet = starts.into_iter().filter_map(|start| surface.project(p, start));
    let gap = |uv: &Vec2| surface.point(uv.x, uv.y).distance_squared(p);
    feet.min_by(|a, b| gap(a).total_cmp(&gap(b)))
}

/// Parameter at which `gap` of the curve's point is least.
fn nearest_seen(curve: &Curve, size_mm: f64, gap: impl Fn(Vec3) -> f64) -> f64 {
    const CELLS: usize = 400;
    let [lo, hi] = curve.domain();
    let (lo, hi) = match curve {
        Curve::Line { origin, .. } => {
            let reach = size_mm + origin.length();
            (-reach, reach)
        }
        Curve::Hyperbola { .. } => (-6.0, 6.0),
        Curve::Parabola { .. } => (-size_mm, size_mm),
        _ => (lo, hi),
    };
    let at = |t: f64| gap(curve.jet(t).p);
    let place = |i: usize| lo + (hi - lo) * i as f64 / CELLS as f64;
    let best = (0..=CELLS).min_by(|a, b| at(place(*a)).total_cmp(&at(place(*b)))).unwrap_or(0);
    let (mut a, mut b) = (place(best.saturating_sub(1)), place((best + 1).min(CELLS)));
    // thirds; the surface's own projection does the rest
    for _ in 0..40 {
        let (m, n) = (a + (b - a) / 3.0, b - (b - a) / 3.0);
        if at(m) <= at(n) { b = n } else { a = m }
    }
    let middle = 0.5 * (a + b);
    let exact = [lo, hi].into_iter().find(|end| at(*end) <= at(middle));
    exact.unwrap_or(middle)
}

/// The best places of a grid over a spline surface.
fn grid(surface: &Surface, p: Vec3) -> Vec<Vec2> {
    let [[u0, u1], [v0, v1]] = surface.domain();
    let spans = |knots: &[f64]| {
        let inner = knots.windows(2).filter(|k| k[1] > k[0]).count();
        (CELLS_PER_SPAN * inner).clamp(CELLS[0], CELLS[1])
    };
    let [n, m] = match surface {
        Surface::Nurbs(s) => s.knots().map(spans),
        _ => [CELLS[0]; 2],
    };
    let mut places: Vec<(f64, Vec2)> = Vec::with_capacity((n + 1) * (m + 1));
    for i in 0..=n {
        for j in 0..=m {
            let share = Vec2::new(i as f64 / n as f64, j as f64 / m as f64);
            let uv = Vec2::new(u0, v0) + share * Vec2::new(u1 - u0, v1 - v0);
            places.push((surface.point(uv.x, uv.y).distance_squared(p), uv));
        }
    }
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    places.truncate(STARTS);
    places.into_iter().map(|(_, uv)| uv).collect()
}

/// Distance of two places of the parameters that a `period` may separate: the shift that brings
/// `x` within half a period of `near`.
pub(super) fn shift_to(x: f64, near: f64, period: Option<f64>) -> f64 {
    period.map_or(0.0, |p| p * ((near - x) / p).round())
}

#[cfg(test)]
mod tests {
    use super::*;
    use geom::surface::{Extrusion, Frame, Revolution};

    fn finds(surface: &Surface, uv: Vec2) {
        let p = surface.point(uv.x, uv.y);
        let found = locate(surface, p, 100.0).expect("found");
        assert!(surface.point(found.x, found.y).distance(p) < 1e-9, "{surface:?} {uv} {found}");
    }

    #[test]
    fn a_point_of_a_surface_is_found_again() {
        let arc = Curve::Ellipse { frame: Frame::WORLD, a_mm: 9.0, b_mm: 4.0 };
        let line = Curve::Line { origin: Vec3::new(7.0, 2.0, 1.0), direction: Vec3::Z };
        let upright = Curve::Ellipse {
            frame: Frame { origin: Vec3::X * 30.0, x: Vec3::X, y: Vec3::Z, z: -Vec3::Y },
            a_mm: 8.0,
            b_mm: 5.0,
        };
        let axis = |curve| Revolution { curve, origin: Vec3::ZERO, axis: Vec3::Z };
        let surfaces = [
            Surface::torus(Frame::WORLD, 20.0, 6.0),
            Surface::cone(Frame::WORLD, 5.0, 0.4),
            Surface::Extrusion(Box::new(Extrusion { curve: arc, direction: Vec3::Z })),
            Surface::Revolution(Box::new(axis(line))),
            Surface::Revolution(Box::new(axis(upright))),
        ];
        for surface in &surfaces {
            for (u, v) in [(0.3, 0.2), (2.9, 1.4), (-2.0, 0.7), (4.4, 1.1)] {
                finds(surface, Vec2::new(u, v));
            }
        }
        for surface in surfaces.into_iter().take(3) {
            finds(&Surface::offset(surface, 1.5), Vec2::new(1.3, 0.4));
        }
    }
}
