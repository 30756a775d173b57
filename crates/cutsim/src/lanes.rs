//! Many rays at once against one arc of the cutter on one move: the Newton of `entry`, in a form
//! that the compiler turns into vector code.

#![allow(
    clippy::needless_range_loop,
    clippy::manual_clamp,
    reason = "plain counted loops and bounds that swallow NaN are what becomes vector code"
)]

use crate::body::ArcPiece;
use crate::closest::Stand;
use crate::sweep::{Move, small_turn};
use geom::{Vec3, tolerance};

/// Rays worked on together.
pub(crate) const LANES: usize = 16;

const STEPS: usize = 7;

/// A residual that one more step, which squares it, brings below the solver's tolerance.
const ENOUGH_MM: f64 = tolerance::COINCIDENT_MM;

/// What a bound from below must exceed to be believed in spite of rounding.
const CLEAR_MM: f64 = tolerance::SOLVED_MM;

type Lane = [f64; LANES];

/// Rays of one group, coordinates apart.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rays {
    pub(crate) p: [Lane; 3],
    pub(crate) n: [Lane; 3],
}

/// Where the rays enter: t, x, and whether Newton settled there on this arc; and whether a lane is
/// certain to enter above its ceiling or not at all. A lane that is neither says nothing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Entries {
    pub(crate) t: Lane,
    pub(crate) x: Lane,
    pub(crate) settled: [bool; LANES],
    pub(crate) clear: [bool; LANES],
}

/// What the lanes need to know of a move that is certain to pass above them.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ceilings {
    /// Above this nothing matters to the lane, mm.
    pub(crate) hi_mm: Lane,
    /// How far the turning axis may leave F short of its plane, mm per square of the way in x.
    pub(crate) slack_mm: f64,
}

/// How the lanes stand after a step.
struct State {
    t: Lane,
    x: Lane,
    /// What is left undone.
    residual: Lane,
    /// Positive where the foot lies on the arc and F falls along the ray.
    sound: Lane,
    /// The largest bound from below of F up to the ceiling, mm.
    above: Lane,
}

/// The products of `entry`, for every lane.
struct Products {
    ww: Lane,
    wh: Lane,
    wn: Lane,
    wa: Lane,
    wb: Lane,
    nh: Lane,
    na: Lane,
    nb: Lane,
}

#[inline(always)]
fn dot(a: &[Lane; 3], l: usize, v: Vec3) -> f64 {
    a[0][l] * v.x + a[1][l] * v.y + a[2][l] * v.z
}

impl Products {
    #[inline(always)]
    fn new(m: &Move, rays: &Rays) -> Self {
        let zero = [0.0; LANES];
        let mut w = [zero; 3];
        for l in 0..LANES {
            w[0][l] = rays.p[0][l] - m.mid.x;
            w[1][l] = rays.p[1][l] - m.mid.y;
            w[2][l] = rays.p[2][l] - m.mid.z;
        }
        let mut out =
            Self { ww: zero, wh: zero, wn: zero, wa: zero, wb: zero, nh: zero, na: zero, nb: zero };
        for l in 0..LANES {
            out.ww[l] = w[0][l] * w[0][l] + w[1][l] * w[1][l] + w[2][l] * w[2][l];
            out.wn[l] = w[0][l] * rays.n[0][l] + w[1][l] * rays.n[1][l] + w[2][l] * rays.n[2][l];
            out.wh[l] = dot(&w, l, m.half);
            out.wa[l] = dot(&w, l, m.axis);
            out.wb[l] = dot(&w, l, m.turn);
            out.nh[l] = dot(&rays.n, l, m.half);
            out.na[l] = dot(&rays.n, l, m.axis);
            out.nb[l] = dot(&rays.n, l, m.turn);
        }
        out
    }
}

/// Entries of the rays into what `m` sweeps with `arc`. Newton starts from the closest stand over
/// `centre`, moved as that stand drifts with the point.
#[inline(always)]
pub(crate) fn entries(
    arc: &ArcPiece,
    m: &Move,
    rays: &Rays,
    stand: &Stand,
    centre: Vec3,
    ceilings: &Ceilings,
) -> Entries {
    let q = Products::new(m, rays);
    let mut at = State {
        t: [0.0; LANES],
        x: [0.0; LANES],
        residual: [f64::INFINITY; LANES],
        sound: [0.0; LANES],
        above: [f64::NEG_INFINITY; LANES],
    };
    let from = stand.target - stand.drift.dot(centre);
    for l in 0..LANES {
        at.x[l] = (from + dot(&rays.p, l, stand.drift)).max(-1.0).min(1.0);
    }
    for _ in 0..STEPS {
        step(arc, m, &q, ceilings, &mut at);
        let mut left = 0.0_f64;
        for l in 0..LANES {
            left = left.max(if at.above[l] > CLEAR_MM { 0.0 } else { at.residual[l] });
        }
        if left <= ENOUGH_MM {
            break;
        }
    }
    let mut settled = [false; LANES];
    let mut clear = [false; LANES];
    for l in 0..LANES {
        clear[l] = at.above[l] > CLEAR_MM;
        settled[l] = !clear[l] && at.residual[l] <= ENOUGH_MM && at.sound[l] > 0.0;
    }
    Entries { t: at.t, x: at.x, settled, clear }
}

/// One Newton step in every lane.
#[inline(always)]
fn step(arc: &ArcPiece, m: &Move, q: &Products, ceilings: &Ceilings, at: &mut State) {
    let theta = m.half_turn_rad;
    let (hh, ha, hb) = (m.half.length_squared(), m.half.dot(m.axis), m.half.dot(m.turn));
    let ([lo_r, lo_z], [hi_r, hi_z]) = (arc.lo, arc.hi);
    for l in 0..LANES {
        let (tl, xl) = (at.t[l], at.x[l]);
        let (s, c) = small_turn(xl * theta);
        let qa = q.wa[l] + tl * q.na[l] - xl * ha;
        let qb = q.wb[l] + tl * q.nb[l] - xl * hb;
        let qh_0 = q.wh[l] + tl * q.nh[l];
        let qq = q.ww[l] + tl * (2.0 * q.wn[l] + tl) - xl * (2.0 * qh_0 - xl * hh);
        let qn = q.wn[l] + tl - xl * q.nh[l];
        let qh = qh_0 - xl * hh;
        let z = c * qa + s * qb;
        let z_t = c * q.na[l] + s * q.nb[l];
        let z_x = theta * (c * qb - s * qa) - (c * ha + s * hb);
        let z_xx = -2.0 * theta * (c * hb - s * ha) - theta * theta * z;
        let r = (qq - z * z).max(0.0).sqrt();
        // 1 − r0/r and r0/r, with 0 for a sphere even on the axis
        let share = if arc.r0 == 0.0 { 0.0 } else { arc.r0 / r };
        let grip = 1.0 - share;
        let (rr_t, rr_x) = (qn - z * z_t, -qh - z * z_x);
        let rr_xx = hh - z_x * z_x - z * z_xx;
        let (dr, dz) = (r - arc.r0, z - arc.z0);
        let length = (dr * dr + dz * dz).sqrt();
        let inv = 1.0 / length;
        let f = length - arc.rho;
        let ft = (grip * rr_t + dz * z_t) * inv;
        let fx = (grip * rr_x + dz * z_x) * inv;
        // (r_x)² (1 − grip) = share (rr_x / r)²
        let bend = if arc.r0 == 0.0 { 0.0 } else { share * (rr_x * rr_x) / (r * r) };
        let fxx = (bend + grip * rr_xx + z_x * z_x + dz * z_xx - fx * fx) * inv;
        let stiff = fxx.max(1e-30);
        let wish = (xl - fx / stiff).max(-1.0).min(1.0);
        let dx = wish - xl;
        let gain = fx * dx + 0.5 * fxx.max(0.0) * dx * dx;
        at.t[l] = tl - (f + gain) / ft;
        at.x[l] = wish;
        at.residual[l] = f.abs().max(-gain);
        let on = (lo_r * dz - lo_z * dr).min(dr * hi_z - dz * hi_r);
        let sound = on.min(-0.05 - ft);
        at.sound[l] = sound;
        // F is convex: its plane here bounds it from below everywhere on the move and the ray
        let far = 1.0 + xl.abs();
        let plane = f + ft * (ceilings.hi_mm[l] - tl) + (fx * (-1.0 - xl)).min(fx * (1.0 - xl));
        let above = plane - ceilings.slack_mm * (far * far);
        at.above[l] = if sound > 0.0 { at.above[l].max(above) } else { at.above[l] };
    }
}
