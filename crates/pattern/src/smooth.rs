//! An axis that turns no faster along a pass than the rotary axes follow without slowing the feed.
//!
//! Along a pass the rule for the axis gives a direction at every contact. Where the surface or the
//! direction of the pass changes abruptly, so does that direction. A direction that follows it with a
//! limited rate lags behind such a place when it is driven forwards, and behind it the other way when
//! it is driven backwards; half way between the two it turns before, on and after the place, evenly.
//! Where the rule itself keeps the rate, both are the rule's own and nothing changes.

use geom::Vec3;

use crate::link::slerp;

/// Fastest turn of the axis along the contact line, rad/mm: 2°/mm. Rotary axes of 300°/s that share
/// the turn keep up with a feed of 75 mm/s at twice that (common practice, no source).
pub(crate) const FASTEST_RAD_PER_MM: f64 = 0.034_906_585_039_886_59;
/// Share of the limit that is left to the evening-out of the rate.
const HEADROOM: f64 = 0.9;
/// Length over which the rate is evened out, mm.
const WINDOW_MM: f64 = 2.0;

/// A direction along the path.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Knot {
    /// Length of the contact line up to it, mm.
    pub(crate) along_mm: f64,
    /// Unit direction that the rule gives.
    pub(crate) axis: Vec3,
}

/// Angle between unit vectors, rad.
pub(crate) fn angle(a: Vec3, b: Vec3) -> f64 {
    a.cross(b).length().atan2(a.dot(b))
}

/// Fastest turn between neighbours, rad/mm, and where: the number of the second. An angle that is
/// rounding does not count.
pub(crate) fn fastest(knots: impl Iterator<Item = Knot>) -> (f64, usize) {
    let mut before: Option<Knot> = None;
    let mut worst = (0.0, 0);
    for (k, knot) in knots.enumerate() {
        if let Some(b) = before {
            let turned = angle(b.axis, knot.axis);
            let rate = turned / (knot.along_mm - b.along_mm).max(geom::tolerance::COINCIDENT_MM);
            if turned > geom::tolerance::REACHED_RAD && rate > worst.0 {
                worst = (rate, k);
            }
        }
        before = Some(knot);
    }
    worst
}

/// Directions that turn no faster than `rate` (rad/mm) and stay as near to the rule's as that
/// permits; the rule's own, to the bit, where nothing has to change.
pub(crate) fn smoothed(knots: &[Knot], rate: f64) -> Vec<Vec3> {
    let follow = rate * HEADROOM;
    let forwards = followed(knots.iter().copied(), follow);
    let mut backwards = followed(knots.iter().rev().copied(), follow);
    backwards.reverse();
    let halfway: Vec<Knot> = forwards
        .iter()
        .zip(&backwards)
        .zip(knots)
        .map(|((f, b), k)| {
            let same = *f == k.axis && *b == k.axis;
            Knot { axis: if same { k.axis } else { slerp(*f, *b, 0.5) }, ..*k }
        })
        .collect();
    evened(knots, &halfway)
}

/// Follows the directions in order, turning no faster than `rate`.
fn followed(knots: impl Iterator<Item = Knot>, rate: f64) -> Vec<Vec3> {
    let mut here: Option<Knot> = None;
    knots
        .map(|k| {
            let axis = here.map_or(k.axis, |h| {
                let most = rate * (k.along_mm - h.along_mm).abs();
                let wanted = angle(h.axis, k.axis);
                if wanted <= most { k.axis } else { slerp(h.axis, k.axis, most / wanted) }
            });
            here = Some(Knot { axis, ..k });
            axis
        })
        .collect()
}

/// Evens out jumps of the rate near places that were changed: the mean over a window that fades in.
fn evened(raw: &[Knot], turned: &[Knot]) -> Vec<Vec3> {
    let near = from_changed(raw, turned);
    let sums = Sums::of(turned);
    let (Some(first), Some(last)) = (turned.first(), turned.last()) else { return Vec::new() };
    let mut out = Vec::with_capacity(turned.len());
    for (knot, near) in turned.iter().zip(near) {
        let s = knot.along_mm;
        let share = 1.0 - near / WINDOW_MM;
        // as far to the one side as to the other, so that the ends stay where they are
        let half = (0.5 * WINDOW_MM).min(s - first.along_mm).min(last.along_mm - s);
        if share <= 0.0 || half <= 0.0 {
            out.push(knot.axis);
            continue;
        }
        let mean = (sums.upto(s + half) - sums.upto(s - half)).try_normalize();
        let fade = share * share * (3.0 - 2.0 * share);
        out.push(mean.map_or(knot.axis, |m| slerp(knot.axis, m, fade)));
    }
    out
}

/// Integrals of the direction over the length, straight between knots.
struct Sums<'a> {
    knots: &'a [Knot],
    sums: Vec<Vec3>,
}

impl<'a> Sums<'a> {
    fn of(knots: &'a [Knot]) -> Self {
        let mut sums = vec![Vec3::ZERO];
        for w in knots.windows(2) {
            let by = (w[0].axis + w[1].axis) * (0.5 * (w[1].along_mm - w[0].along_mm));
            sums.push(sums[sums.len() - 1] + by);
        }
        Self { knots, sums }
    }

    fn upto(&self, along_mm: f64) -> Vec3 {
        let after = self.knots.partition_point(|k| k.along_mm <= along_mm);
        let k = after.saturating_sub(1);
        let (Some(a), Some(b)) = (self.knots.get(k), self.knots.get(k + 1)) else {
            return self.sums[k];
        };
        let (d, whole) = (along_mm - a.along_mm, b.along_mm - a.along_mm);
        self.sums[k] + (a.axis + (b.axis - a.axis) * (0.5 * d / whole)) * d
    }
}

/// Length from each knot to the nearest that was changed, mm.
fn from_changed(raw: &[Knot], turned: &[Knot]) -> Vec<f64> {
    let n = raw.len();
    let mut away = vec![f64::INFINITY; n];
    for k in 0..n {
        let before = k.checked_sub(1).map(|p| away[p] + raw[k].along_mm - raw[p].along_mm);
        let changed = raw[k].axis != turned[k].axis;
        away[k] = if changed { 0.0 } else { before.unwrap_or(f64::INFINITY) };
    }
    for k in (0..n.saturating_sub(1)).rev() {
        away[k] = away[k].min(away[k + 1] + raw[k + 1].along_mm - raw[k].along_mm);
    }
    away
}

/// The direction moved into the ring of angles about a normal, rad.
pub(crate) fn within_ring(axis: Vec3, normal: Vec3, (lo, hi): (f64, f64)) -> Vec3 {
    let kappa = angle(normal, axis);
    let wanted = kappa.clamp(lo, hi.max(lo));
    let across = (axis - normal * axis.dot(normal)).try_normalize();
    match across {
        Some(c) if wanted != kappa => normal * wanted.cos() + c * wanted.sin(),
        _ => axis,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn leaning(rad: f64) -> Vec3 {
        Vec3::new(rad.sin(), 0.0, rad.cos())
    }

    fn knots(step: f64, n: usize, axis: impl Fn(f64) -> Vec3) -> Vec<Knot> {
        (0..n)
            .map(|k| {
                let along_mm = step * k as f64;
                Knot { along_mm, axis: axis(along_mm) }
            })
            .collect()
    }

    fn with(knots: &[Knot], axes: &[Vec3]) -> Vec<Knot> {
        knots.iter().zip(axes).map(|(k, a)| Knot { axis: *a, ..*k }).collect()
    }

    #[test]
    fn what_turns_slowly_stays_to_the_bit() {
        let slow = knots(0.25, 400, |s| leaning(0.02 * s + 0.1 * (0.1 * s).sin()));
        let out = smoothed(&slow, FASTEST_RAD_PER_MM);
        assert!(out.iter().zip(&slow).all(|(a, k)| *a == k.axis));
    }

    #[test]
    fn a_jump_is_spread_evenly_and_no_farther_than_needed() {
        let jump = 0.3;
        let raw = knots(0.25, 400, |s| leaning(if s < 50.0 { 0.1 } else { 0.1 + jump }));
        let out = with(&raw, &smoothed(&raw, FASTEST_RAD_PER_MM));
        let (rate, _) = fastest(out.iter().copied());
        assert!(rate <= FASTEST_RAD_PER_MM, "{rate}");
        // half of the jump on either side of its place
        let at = |s: f64| out[(s / 0.25) as usize].axis;
        let middle = 0.5 * (angle(at(49.75), leaning(0.1)) + angle(at(50.0), leaning(0.1)));
        assert!((middle - 0.5 * jump).abs() < 1e-9, "{middle}");
        let reach = jump / (HEADROOM * FASTEST_RAD_PER_MM) + WINDOW_MM;
        for (k, o) in raw.iter().zip(&out) {
            let off = angle(k.axis, o.axis);
            assert!(off <= 0.5 * jump + 1e-9);
            if (k.along_mm - 50.0).abs() > reach + 0.5 {
                assert_eq!(k.axis, o.axis);
            }
        }
    }

    #[test]
    fn the_rate_itself_does_not_jump() {
        let raw = knots(0.25, 400, |s| leaning(if s < 50.0 { 0.1 } else { 0.4 }));
        let out = smoothed(&raw, FASTEST_RAD_PER_MM);
        let rates: Vec<f64> = out.windows(2).map(|w| angle(w[0], w[1]) / 0.25).collect();
        let most = rates.windows(2).map(|w| (w[1] - w[0]).abs()).fold(0.0, f64::max);
        // without evening it would be half the limit at once
        assert!(most < 0.2 * FASTEST_RAD_PER_MM, "{most}");
    }

    #[test]
    fn driven_backwards_or_turned_it_is_the_same() {
        let raw = knots(0.25, 300, |s| {
            let turn = if s < 30.0 { 0.02 * s } else { 0.6 - 0.09 * (s - 30.0).min(9.0) };
            Vec3::new(turn.sin(), 0.2, turn.cos()).normalize()
        });
        let out = smoothed(&raw, FASTEST_RAD_PER_MM);
        let end = raw[raw.len() - 1].along_mm;
        let back: Vec<Knot> =
            raw.iter().rev().map(|k| Knot { along_mm: end - k.along_mm, ..*k }).collect();
        let reversed = smoothed(&back, FASTEST_RAD_PER_MM);
        assert!(out.iter().zip(reversed.iter().rev()).all(|(a, b)| a.distance(*b) < 1e-12));
        let turn = geom::Mat3::from_rotation_z(0.7) * geom::Mat3::from_rotation_x(1.1);
        let turned: Vec<Knot> = raw.iter().map(|k| Knot { axis: turn * k.axis, ..*k }).collect();
        let both = smoothed(&turned, FASTEST_RAD_PER_MM);
        assert!(out.iter().zip(&both).all(|(a, b)| (turn * *a).distance(*b) < 1e-12));
    }

    #[test]
    fn random_walks_keep_the_limit() {
        let mut state = 0x9e37_79b9_7f4a_7c15_u64;
        let mut next = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
        };
        for _ in 0..200 {
            let (mut axis, mut along_mm) = (Vec3::Z, 0.0);
            let raw: Vec<Knot> = (0..300)
                .map(|k| {
                    if k % 40 == 20 {
                        axis = (axis + Vec3::new(next(), next(), 0.3 * next())).normalize();
                    }
                    along_mm += 0.25 + 0.2 * next();
                    Knot { along_mm, axis }
                })
                .collect();
            let out = with(&raw, &smoothed(&raw, FASTEST_RAD_PER_MM));
            let (rate, at) = fastest(out.iter().copied());
            assert!(rate <= FASTEST_RAD_PER_MM * 1.001, "{rate} at {at}");
            assert!(out.iter().all(|k| (k.axis.length() - 1.0).abs() < 1e-12));
        }
    }

    #[test]
    fn the_ring_is_kept() {
        for (deg, wanted) in [(2.0_f64, 5.0), (7.0, 7.0), (40.0, 20.0)] {
            let ring = (5_f64.to_radians(), 20_f64.to_radians());
            let axis = within_ring(leaning(deg.to_radians()), Vec3::Z, ring);
            assert!((angle(Vec3::Z, axis).to_degrees() - wanted).abs() < 1e-9);
        }
    }
}
