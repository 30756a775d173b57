//! Closest points: closed forms where there are any, else Newton's method on the squared distance.

use super::{Jet, Surface};
use crate::{Vec2, Vec3, tolerance};

const ITERATIONS_MAX: usize = 40;
const HALVINGS_MAX: usize = 8;

pub(super) fn project(surface: &Surface, p: Vec3, guess: Vec2) -> Option<Vec2> {
    if !(p.is_finite() && guess.is_finite()) {
        return None;
    }
    match surface {
        Surface::Plane(frame) => Some(frame.local(p).truncate()),
        Surface::Cylinder(r) | Surface::Cone(r) | Surface::Sphere(r) | Surface::Torus(r) => {
            Some(r.project(p, guess))
        }
        // both have the same normals, so the same foot
        Surface::Offset(o) => project(o.base(), p, guess),
        Surface::Nurbs(_) | Surface::Extrusion(_) | Surface::Revolution(_) => {
            newton(surface, p, guess)
        }
    }
}

/// Newton steps inside the parameter range, halved where the distance would grow.
fn newton(surface: &Surface, p: Vec3, guess: Vec2) -> Option<Vec2> {
    let bounds = Bounds::of(surface);
    let mut uv = bounds.clamp(guess);
    let mut jet = surface.jet(uv.x, uv.y);
    let solved_mm = tolerance::resolution_mm(p.abs().max_element());
    for _ in 0..ITERATIONS_MAX {
        let gap_mm2 = (jet.p - p).length_squared();
        let mut step = bounds.clamp(uv + step(&jet, p, &bounds, uv)?) - uv;
        let moved_mm = (jet.du * step.x + jet.dv * step.y).length();
        let mut next = surface.jet(uv.x + step.x, uv.y + step.y);
        if moved_mm <= solved_mm {
            return Some(uv + step);
        }
        for _ in 0..HALVINGS_MAX {
            if (next.p - p).length_squared() <= gap_mm2 {
                break;
            }
            step *= 0.5;
            next = surface.jet(uv.x + step.x, uv.y + step.y);
        }
        (uv, jet) = (uv + step, next);
    }
    None
}

/// Newton's step; Gauss and Newton's where the Hessian has no minimum; along one parameter alone
/// where the other stands at its end and would leave.
fn step(jet: &Jet, p: Vec3, bounds: &Bounds, uv: Vec2) -> Option<Vec2> {
    let d = jet.p - p;
    let g = Vec2::new(d.dot(jet.du), d.dot(jet.dv));
    let (e, f, k) = (jet.du.dot(jet.du), jet.du.dot(jet.dv), jet.dv.dot(jet.dv));
    let full = (e + d.dot(jet.duu), f + d.dot(jet.duv), k + d.dot(jet.dvv));
    let [fixed_u, fixed_v] = bounds.held(uv, g);
    let (a, b, c) =
        if full.0 > 0.0 && full.0 * full.2 - full.1 * full.1 > 0.0 { full } else { (e, f, k) };
    let det = a * c - b * b;
    let step = match (fixed_u, fixed_v) {
        (true, true) => Vec2::ZERO,
        (true, false) => Vec2::new(0.0, -g.y / c),
        (false, true) => Vec2::new(-g.x / a, 0.0),
        (false, false) if det > 0.0 => Vec2::new(b * g.y - c * g.x, b * g.x - a * g.y) / det,
        // singular point: along the parameter that still moves
        (false, false) if a > 0.0 => Vec2::new(-g.x / a, 0.0),
        (false, false) => Vec2::new(0.0, -g.y / c),
    };
    step.is_finite().then_some(step)
}

/// Ends of the parameters that are not periodic.
struct Bounds {
    lo: Vec2,
    hi: Vec2,
}

impl Bounds {
    fn of(surface: &Surface) -> Self {
        let ([du, dv], [pu, pv]) = (surface.domain(), surface.period());
        let open = |domain: [f64; 2], period: Option<f64>| match period {
            Some(_) => [f64::NEG_INFINITY, f64::INFINITY],
            None => domain,
        };
        let (u, v) = (open(du, pu), open(dv, pv));
        Self { lo: Vec2::new(u[0], v[0]), hi: Vec2::new(u[1], v[1]) }
    }

    fn clamp(&self, uv: Vec2) -> Vec2 {
        uv.max(self.lo).min(self.hi)
    }

    /// Which parameters stand at an end that a descent would leave.
    fn held(&self, uv: Vec2, gradient: Vec2) -> [bool; 2] {
        let held = |x: f64, g: f64, lo: f64, hi: f64| (x <= lo && g > 0.0) || (x >= hi && g < 0.0);
        [held(uv.x, gradient.x, self.lo.x, self.hi.x), held(uv.y, gradient.y, self.lo.y, self.hi.y)]
    }
}
