//! Where a ray enters what one move sweeps: exact, scalar, for one ray and one move.
//!
//! `F(t, x)` is the signed distance of `p + t n` from the cutter at x. For a straight move with a
//! steady axis F is convex in (t, x), so the entry, the smallest t with F ≤ 0 for some x, is where
//! `F = 0`, `∂F/∂x = 0` (or x at an end and F rising beyond it) and `∂F/∂t < 0`. Newton on those
//! two equations settles nearly every ray in two or three steps; what it does not settle goes to a
//! nested search that cannot fail: outer Newton from outside on the convex `min over x of F`,
//! inner bracketed Newton on x.

use crate::body::{Body, Element};
use crate::sweep::{Move, TURN_MAX_RAD, small_turn};
use geom::{Vec3, tolerance};

/// A ray's products with a move, computed once.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Products {
    ww: f64,
    wh: f64,
    wn: f64,
    wa: f64,
    wb: f64,
    nh: f64,
    na: f64,
    nb: f64,
    hh: f64,
    ha: f64,
    hb: f64,
    theta: f64,
}

/// F with its derivatives.
#[derive(Debug, Clone, Copy)]
struct Slopes {
    f: f64,
    ft: f64,
    fx: f64,
    fxx: f64,
}

/// The range of t that counts on a ray.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Deepest gouge looked for, mm, negative: what starts inside there counts as this deep.
    pub lo_mm: f64,
    /// Highest material looked for, mm: what enters later does not count.
    pub hi_mm: f64,
}

const NEWTON_STEPS: usize = 8;
const NESTED_STEPS: usize = 80;

/// Slope along the ray below which F falls steeply enough for Newton and for bounds.
const FALLING: f64 = -0.05;

impl Products {
    #[inline]
    pub(crate) fn new(m: &Move, p: Vec3, n: Vec3) -> Self {
        let w = p - m.mid;
        Self {
            ww: w.length_squared(),
            wh: w.dot(m.half),
            wn: w.dot(n),
            wa: w.dot(m.axis),
            wb: w.dot(m.turn),
            nh: n.dot(m.half),
            na: n.dot(m.axis),
            nb: n.dot(m.turn),
            hh: m.half.length_squared(),
            ha: m.half.dot(m.axis),
            hb: m.half.dot(m.turn),
            theta: m.half_turn_rad,
        }
    }

    /// Sine and cosine of the axis' turn at x; a small angle needs no library for the last bit.
    #[inline(always)]
    fn turned(&self, x: f64) -> (f64, f64) {
        let psi = x * self.theta;
        if psi.abs() > TURN_MAX_RAD { psi.sin_cos() } else { small_turn(psi) }
    }

    /// F and its derivatives at (t, x).
    fn slopes(&self, body: &Body, t: f64, x: f64) -> Slopes {
        let (s, c) = self.turned(x);
        let qa = self.wa + t * self.na - x * self.ha;
        let qb = self.wb + t * self.nb - x * self.hb;
        let qq =
            self.ww + t * (2.0 * self.wn + t) - 2.0 * x * (self.wh + t * self.nh) + x * x * self.hh;
        let qn = self.wn + t - x * self.nh;
        let qh = self.wh + t * self.nh - x * self.hh;
        let z = c * qa + s * qb;
        let turned = self.theta * (c * qb - s * qa);
        let hax = c * self.ha + s * self.hb;
        let hturned = self.theta * (c * self.hb - s * self.ha);
        let z_t = c * self.na + s * self.nb;
        let z_x = turned - hax;
        let z_xx = -2.0 * hturned - self.theta * self.theta * z;
        let r = (qq - z * z).max(0.0).sqrt();
        let foot = body.foot(r, z);
        // ½ d(r²): along t and x; then once more along x
        let (rr_t, rr_x) = (qn - z * z_t, -qh - z * z_x);
        let rr_xx = self.hh - z_x * z_x - z * z_xx;
        if let Element::Arc(arc) = body.element(foot.element) {
            let length = foot.value + arc.rho;
            if arc.r0 == 0.0 && length > 0.0 && arc.holds(r, z - arc.z0) {
                // a sphere: the same without the division by r
                let dz = z - arc.z0;
                let ft = (rr_t + dz * z_t) / length;
                let fx = (rr_x + dz * z_x) / length;
                let fxx = (rr_xx + z_x * z_x + dz * z_xx - fx * fx) / length;
                return Slopes { f: foot.value, ft, fx, fxx };
            }
        }
        let inv_r = if r > 0.0 { 1.0 / r } else { 0.0 };
        let (r_t, r_x) = (rr_t * inv_r, rr_x * inv_r);
        let r_xx = (rr_xx - r_x * r_x) * inv_r;
        let ft = foot.gr * r_t + foot.gz * z_t;
        let fx = foot.gr * r_x + foot.gz * z_x;
        let along = body.bend(&foot, r, z) * (r_x * r_x + z_x * z_x - fx * fx);
        let fxx = along + foot.gr * r_xx + foot.gz * z_xx;
        Slopes { f: foot.value, ft, fx, fxx }
    }

    /// Newton on both equations at once; `None` where it does not settle on a proper entry.
    fn newton(&self, body: &Body, start: (f64, f64)) -> Option<(f64, f64)> {
        let (mut t, mut x) = (start.0, start.1.clamp(-1.0, 1.0));
        for _ in 0..NEWTON_STEPS {
            let s = self.slopes(body, t, x);
            if s.ft >= FALLING || !s.f.is_finite() {
                return None;
            }
            let wish = if s.fxx > 0.0 { x - s.fx / s.fxx } else { x - s.fx.signum() * 2.0 };
            let wish = if s.fx == 0.0 { x } else { wish.clamp(-1.0, 1.0) };
            let dx = wish - x;
            let gain = s.fx * dx + 0.5 * s.fxx.max(0.0) * dx * dx;
            if s.f.abs() <= tolerance::SOLVED_MM && gain >= -tolerance::SOLVED_MM {
                return Some((t - (s.f + gain) / s.ft, wish));
            }
            t -= (s.f + gain) / s.ft;
            x = wish;
        }
        None
    }

    /// Smallest F over x in [−1, 1] at one t, with the x and the slope along t there.
    fn least(&self, body: &Body, t: f64, guess: f64) -> (Slopes, f64) {
        let (mut lo, mut hi) = (-1.0_f64, 1.0_f64);
        let mut x = guess.clamp(-1.0, 1.0);
        let mut s = self.slopes(body, t, x);
        for _ in 0..NESTED_STEPS {
            if s.fx > 0.0 {
                hi = x;
            } else if s.fx < 0.0 {
                lo = x;
            } else {
                break;
            }
            let newton = x - s.fx / s.fxx;
            let next = if s.fxx > 0.0 && newton > lo && newton < hi {
                newton
            } else if s.fx > 0.0 && lo == -1.0 && newton <= -1.0 {
                -1.0
            } else if s.fx < 0.0 && hi == 1.0 && newton >= 1.0 {
                1.0
            } else {
                0.5 * (lo + hi)
            };
            let done = s.fx * (next - x) > -0.01 * tolerance::SOLVED_MM || next == x;
            x = next;
            s = self.slopes(body, t, x);
            if done {
                break;
            }
        }
        self.with_ends(body, t, s, x)
    }

    /// A turning axis may leave F short of convex: the ends are looked at as well.
    fn with_ends(&self, body: &Body, t: f64, s: Slopes, x: f64) -> (Slopes, f64) {
        [-1.0, 1.0].iter().fold((s, x), |best, &end| {
            let e = self.slopes(body, t, end);
            if e.f < best.0.f { (e, end) } else { best }
        })
    }

    /// The search that cannot fail: from `reach.lo` upwards.
    fn nested(&self, body: &Body, reach: Reach, guess: f64) -> Option<(f64, f64)> {
        let (mut t, mut x) = (reach.lo_mm, guess);
        for step in 0..NESTED_STEPS {
            let (s, at) = self.least(body, t, x);
            x = at;
            if s.f <= tolerance::SOLVED_MM {
                let last = if step == 0 || s.ft >= 0.0 { t } else { t - s.f / s.ft };
                return Some((last.max(reach.lo_mm), x));
            }
            if s.ft >= 0.0 {
                return None;
            }
            t -= s.f / s.ft;
            if t > reach.hi_mm {
                return None;
            }
        }
        Some((t, x))
    }

    /// Whether F's plane at one end of the reach, over the stand at x, leaves no entry within it: F
    /// is convex, and what a turning axis takes off that is held against it.
    fn clears(&self, body: &Body, reach: Reach, x: f64) -> bool {
        let (lo, hi) = (reach.lo_mm, reach.hi_mm);
        let top = self.slopes(body, hi, x);
        let (t, s) = if top.ft < 0.0 { (hi, top) } else { (lo, self.slopes(body, lo, x)) };
        let (far, half) = (1.0 + x.abs(), self.hh.sqrt());
        let lever = (self.ww + t * (2.0 * self.wn + t)).max(0.0).sqrt() + half;
        let bend = 0.5 * self.theta * lever + half;
        let slack = self.theta * far * (bend * far + hi - lo);
        let along = (s.ft * (lo - t)).min(s.ft * (hi - t));
        let across = (s.fx * (-1.0 - x)).min(s.fx * (1.0 - x));
        s.f + along + across - slack > tolerance::SOLVED_MM
    }

    /// Entry of the ray: t in mm and x; `None` where the ray misses within `reach`.
    pub(crate) fn entry(&self, body: &Body, reach: Reach, start: (f64, f64)) -> Option<(f64, f64)> {
        if self.clears(body, reach, start.1.clamp(-1.0, 1.0)) {
            return None;
        }
        match self.newton(body, start) {
            Some((t, _)) if t > reach.hi_mm => None,
            Some((t, x)) if t >= reach.lo_mm => Some((t, x)),
            _ => self.nested(body, reach, start.1),
        }
    }
}

/// Entry of the ray `p + t n` into what `m` sweeps: t in mm, and x in [−1, 1] on the move where
/// the cutter stands that makes it. A ray that starts inside at `reach.lo_mm` gives that.
pub fn entry(body: &Body, m: &Move, p: Vec3, n: Vec3, reach: Reach) -> Option<(f64, f64)> {
    Products::new(m, p, n).entry(body, reach, (0.0, 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::body::tests::{ball, barrel, torus};

    const REACH: Reach = Reach { lo_mm: -2.0, hi_mm: 2.0 };

    #[test]
    fn a_ball_along_a_line() {
        // derived: R 5 from x = 0 to 1 over a plane, point (0.3, 0.8): 5 − √(25 − 0.64)
        let m = Move::between([Vec3::ZERO, Vec3::X], [Vec3::Z, Vec3::Z]);
        let p = Vec3::new(0.3, 0.8, 0.0);
        let (t, x) = entry(&ball(5.0, 20.0), &m, p, Vec3::Z, REACH).expect("hit");
        assert!((t * 1e3 - 64.414_93).abs() < 5e-6, "{t}");
        assert!((m.fraction(x) - 0.3).abs() < 1e-9);
    }

    fn leaned_torus() -> (Body, Vec3, Vec3) {
        let body = torus(16.0, 3.0, 25.0);
        let (l, t) = (4f64.to_radians(), 3f64.to_radians());
        // lead first, then tilt: feed, cross, normal
        let axis = Vec3::new(l.sin(), l.cos() * t.sin(), l.cos() * t.cos());
        let kappa = axis.cross(Vec3::Z).length().atan2(axis.z);
        let (rc, zc) = (5.0 + 3.0 * kappa.sin(), 3.0 - 3.0 * kappa.cos());
        let e = (axis * kappa.cos() - Vec3::Z) / kappa.sin();
        (body, axis, -e * rc - axis * zc)
    }

    #[test]
    fn a_leaned_torus_along_a_line() {
        // derived: D 16, corner 3, lead 4°, tilt 3°, contact along x, point (0.4, 0.9); the
        // twisted axis brings the nearest contact to x = 1.1
        let (body, axis, tip) = leaned_torus();
        let p = Vec3::new(0.4, 0.9, 0.0);
        let m = Move::between([tip, tip + Vec3::X * 2.0], [axis, axis]);
        let (t, _) = entry(&body, &m, p, Vec3::Z, REACH).expect("hit");
        assert!((t * 1e3 - 12.096_48).abs() < 5e-6, "{}", t * 1e3);
        // standing poses instead of the swept segment leave a false ridge
        let pose = |x: f64| {
            let at = tip + Vec3::X * x;
            let still = Move::between([at, at], [axis, axis]);
            entry(&body, &still, p, Vec3::Z, REACH).expect("hit").0 * 1e3
        };
        let best =
            |n: usize| (0..=n).map(|i| pose(2.0 * i as f64 / n as f64)).fold(f64::MAX, f64::min);
        assert!((best(4) - 14.113_25).abs() < 5e-6, "{}", best(4));
        assert!((best(20) - 12.212_33).abs() < 5e-6, "{}", best(20));
    }

    #[test]
    fn the_nested_search_agrees_with_newton() {
        let body = barrel(10.0, 250.0, 1.5, 50.0);
        let kappa = 84f64.to_radians();
        let axis = Vec3::new(0.0, kappa.sin(), kappa.cos());
        let foot_r = -245.0 + 250.0 * kappa.sin();
        let foot_z = 43.060_20 - 250.0 * kappa.cos();
        let e = (axis * kappa.cos() - Vec3::Z) / kappa.sin();
        let tip = -e * foot_r - axis * foot_z;
        let turned = Vec3::new(0.004, kappa.sin(), kappa.cos()).normalize();
        let m = Move::between([tip, tip + Vec3::X * 0.7], [axis, turned]);
        for i in 0..40 {
            let p = Vec3::new(0.02 * f64::from(i), 0.05 * f64::from(i) - 0.7, 0.0);
            let products = Products::new(&m, p, Vec3::Z);
            let nested = products.nested(&body, REACH, 0.0).expect("hit");
            let newton = products.newton(&body, (0.0, 0.0)).expect("settles");
            assert!((nested.0 - newton.0).abs() < 1e-9, "{i}: {nested:?} {newton:?}");
        }
    }

    #[test]
    fn what_is_missed_is_none_and_what_is_deep_is_bounded() {
        let body = ball(5.0, 20.0);
        let m = Move::between([Vec3::ZERO, Vec3::X], [Vec3::Z, Vec3::Z]);
        assert!(entry(&body, &m, Vec3::new(0.0, 7.0, 0.0), Vec3::Z, REACH).is_none());
        assert!(entry(&body, &m, Vec3::new(0.0, 4.0, 0.0), Vec3::Z, REACH).expect("2 mm").0 <= 2.0);
        assert!(entry(&body, &m, Vec3::new(0.0, 4.1, 0.0), Vec3::Z, REACH).is_none());
        let deep = entry(&body, &m, Vec3::new(0.0, 0.0, 10.0), Vec3::Z, REACH).expect("inside");
        assert_eq!(deep.0, -2.0);
        let gouge = entry(&body, &m, Vec3::new(0.5, 0.0, 0.25), Vec3::Z, REACH).expect("hit");
        assert!((gouge.0 + 0.25).abs() < 1e-10);
    }

    #[test]
    fn plunging_and_standing_moves_work() {
        let body = torus(10.0, 1.0, 20.0);
        let down = Move::between([Vec3::Z * 3.0, Vec3::Z * 0.1], [Vec3::Z, Vec3::Z]);
        for p in [Vec3::ZERO, Vec3::new(2.0, 0.0, 0.0), Vec3::new(0.0, -3.9, 0.0)] {
            let (t, _) = entry(&body, &down, p, Vec3::Z, REACH).expect("flat bottom");
            assert!((t - 0.1).abs() < 1e-9);
        }
        let n = Vec3::new(1.0, 0.0, 0.0);
        let (t, _) = entry(&body, &down, Vec3::new(-5.5, 0.0, 4.0), n, REACH).expect("side");
        assert!((t - 0.5).abs() < 1e-9);
    }

    #[test]
    fn a_ray_said_to_be_clear_is_missed_by_the_search_that_cannot_fail() {
        // moves that turn as far as moves may, rays near and far, steep and flat
        let bodies = [ball(5.0, 20.0), torus(16.0, 3.0, 25.0), barrel(10.0, 250.0, 1.5, 50.0)];
        let (mut clear, mut hit) = (0, 0);
        for (b, body) in bodies.iter().enumerate() {
            for i in 0..4000 {
                let u = |k: u32| {
                    let v = (f64::from(i * 7 + k) * 0.618_033_988_75 + 0.37 * b as f64).sin() * 1e4;
                    v - v.floor() - 0.5
                };
                let turned = Vec3::new(0.018 * u(0), 0.018 * u(1), 1.0).normalize();
                let on = Vec3::new(2.0 * u(2), 2.0 * u(3), 0.2 * u(4));
                let m = Move::between([Vec3::ZERO, on], [Vec3::Z, turned]);
                let p = Vec3::new(20.0 * u(5), 20.0 * u(6), 6.0 * u(7) + 1.0);
                let n = Vec3::new(2.0 * u(8), 2.0 * u(9), 1.5 * u(10) + 0.3).normalize();
                let products = Products::new(&m, p, n);
                let nested = products.nested(body, REACH, 0.0);
                if products.clears(body, REACH, 2.0 * u(11)) {
                    clear += 1;
                    assert!(nested.is_none(), "{b} {i}: {nested:?}");
                } else if nested.is_some() {
                    hit += 1;
                }
            }
        }
        assert!(clear > 3000 && hit > 1000, "{clear} {hit}");
    }
}
