//! Moves of an upright cutter that rise or fall: the lowest height over a column.

use crate::underside::Underside;
use geom::Vec3;

/// Halvings that find the lowest place.
const HALVINGS: usize = 40;

/// Lowest height that the cutter reaches over `(u, v)` on a straight move; `None` beside it.
///
/// The height `z(s) + g(r(s))` is convex in `s`, since the underside `g` is convex and does not
/// fall and the distance `r` is convex: its lowest place is found on its slope.
pub(crate) fn lowest(tool: &Underside, from: Vec3, to: Vec3, u: f64, v: f64) -> Option<f64> {
    let (dx, dy, dz) = (to.x - from.x, to.y - from.y, to.z - from.z);
    let (x, y) = (u - from.x, v - from.y);
    let long2 = dx * dx + dy * dy;
    let r = tool.radius_mm();
    let (mut a, mut b) = (0.0f64, 1.0f64);
    if long2 > 1e-18 {
        let middle = (x * dx + y * dy) / long2;
        let off = x * dy - y * dx;
        let half2 = (r * r - off * off / long2) / long2;
        if half2 < 0.0 {
            return None;
        }
        a = a.max(middle - half2.sqrt());
        b = b.min(middle + half2.sqrt());
    } else if x * x + y * y > r * r {
        return None;
    }
    if a > b {
        return None;
    }
    let at = |s: f64| {
        let (px, py) = (x - s * dx, y - s * dy);
        let d = px.hypot(py).min(r);
        let (value, slope) = tool.value_and_slope(d);
        let turn = if d > 0.0 { -(px * dx + py * dy) / d } else { 0.0 };
        (from.z + s * dz + value, dz + slope * turn)
    };
    if at(a).1 >= 0.0 {
        return Some(at(a).0);
    }
    if at(b).1 <= 0.0 {
        return Some(at(b).0);
    }
    for _ in 0..HALVINGS {
        let s = 0.5 * (a + b);
        if at(s).1 > 0.0 { b = s } else { a = s }
    }
    Some(at(0.5 * (a + b)).0)
}
