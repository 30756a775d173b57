//! The fastest motion along legs of even limits, acceleration alone being limited: closed forms leg
//! by leg, exact to rounding.
//!
//! Each leg has a largest speed and a largest acceleration along the path; each joint between legs
//! may have a cap of its own. A sweep back and one forth give the speed at every joint (Bobrow,
//! Dubowsky, Gibson 1985, from memory; with even limits the phase plane is made of straight lines in
//! v²), and each leg is driven by a trapezoid or a triangle of speed.

/// One leg: a piece of path on which the limits do not change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// Length; not negative.
    pub length: f64,
    /// Largest speed along the path; above 0.
    pub speed: f64,
    /// Largest acceleration along the path, both senses; above 0.
    pub acceleration: f64,
}

/// How one leg is driven, s.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Phases {
    /// Gaining speed.
    pub up_s: f64,
    /// At the leg's largest speed.
    pub steady_s: f64,
    /// Losing speed.
    pub down_s: f64,
}

impl Phases {
    /// Whole time, s.
    pub fn time_s(&self) -> f64 {
        self.up_s + self.steady_s + self.down_s
    }

    /// Time at changing speed, s.
    pub fn ramps_s(&self) -> f64 {
        self.up_s + self.down_s
    }
}

/// Drives `legs` from rest to rest; `caps` bounds the speed at each of the `legs.len() + 1` joints
/// (infinite: no bound; the ends are stops whatever they say).
///
/// Gives the speed at every joint and the phases of every leg. `None` where a figure is not as its
/// field asks or the lengths of the lists do not fit.
pub fn drive(legs: &[Leg], caps: &[f64]) -> Option<(Vec<f64>, Vec<Phases>)> {
    let good = |leg: &Leg| {
        leg.length >= 0.0 && leg.length.is_finite() && leg.speed > 0.0 && leg.acceleration > 0.0
    };
    if caps.len() != legs.len() + 1 || !legs.iter().all(good) || caps.iter().any(|c| c.is_nan()) {
        return None;
    }
    let mut square = squares(legs, caps);
    for (i, leg) in legs.iter().enumerate() {
        let reached = square[i] + 2.0 * leg.acceleration * leg.length;
        square[i + 1] = square[i + 1].min(reached);
    }
    for (i, leg) in legs.iter().enumerate().rev() {
        let reached = square[i + 1] + 2.0 * leg.acceleration * leg.length;
        square[i] = square[i].min(reached);
    }
    let phases = legs.iter().zip(square.windows(2)).map(|(leg, w)| phases(leg, w[0], w[1]));
    let phases = phases.collect();
    Some((square.into_iter().map(f64::sqrt).collect(), phases))
}

/// Squares of the largest speeds at the joints, before acceleration is looked at.
fn squares(legs: &[Leg], caps: &[f64]) -> Vec<f64> {
    let last = legs.len();
    let at = |i: usize| {
        if i == 0 || i == last {
            return 0.0;
        }
        caps[i].max(0.0).min(legs[i - 1].speed).min(legs[i].speed).powi(2)
    };
    (0..=last).map(at).collect()
}

/// A leg entered and left at given squares of speed.
fn phases(leg: &Leg, before: f64, after: f64) -> Phases {
    let Leg { length, speed, acceleration } = *leg;
    let peak = (0.5 * (before + after) + acceleration * length).min(speed * speed);
    let peak = peak.max(before).max(after);
    let (from, top, to) = (before.sqrt(), peak.sqrt(), after.sqrt());
    let ramps = if acceleration.is_finite() {
        (2.0 * peak - before - after) / (2.0 * acceleration)
    } else {
        0.0
    };
    let steady = (length - ramps).max(0.0);
    Phases {
        up_s: (top - from) / acceleration,
        steady_s: if steady > 0.0 && top > 0.0 { steady / top } else { 0.0 },
        down_s: (top - to) / acceleration,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::path::{AxisLimits, PathGrid, plan};
    use proptest::prelude::*;

    #[test]
    fn one_leg_is_a_trapezoid_or_a_triangle() {
        let leg = |length| Leg { length, speed: 100.0, acceleration: 5000.0 };
        let time = |l: &[Leg]| {
            let caps = vec![f64::INFINITY; l.len() + 1];
            let (_, p) = drive(l, &caps).expect("sound");
            p.iter().map(Phases::time_s).sum::<f64>()
        };
        assert!((time(&[leg(50.0)]) - (0.5 + 0.02)).abs() < 1e-12);
        assert!((time(&[leg(1.0)]) - 2.0 * (1.0f64 / 5000.0).sqrt()).abs() < 1e-12);
        assert!((time(&[leg(20.0), leg(0.0), leg(30.0)]) - 0.52).abs() < 1e-12);
        assert!(drive(&[leg(1.0)], &[0.0]).is_none());
        assert!(drive(&[Leg { speed: 0.0, ..leg(1.0) }], &[0.0, 0.0]).is_none());
    }

    proptest! {
        /// The general planner on a fine grid of the same legs finds the same time.
        #[test]
        fn agrees_with_the_general_planner(
            legs in prop::collection::vec((0.5f64..20.0, 20.0f64..300.0, 2.0f64..120.0), 1..6)
        ) {
            let accel = 4000.0;
            let chain: Vec<Leg> = legs
                .iter()
                .map(|&(length, speed, _)| Leg { length, speed, acceleration: accel })
                .collect();
            let mut caps: Vec<f64> = vec![f64::INFINITY];
            caps.extend(legs.iter().map(|l| l.2));
            let (_, phases) = drive(&chain, &caps).expect("sound");
            let total: f64 = phases.iter().map(Phases::time_s).sum();
            let (mut s, mut feed, mut point) = (vec![0.0], Vec::new(), vec![f64::INFINITY]);
            for (leg, cap) in chain.iter().zip(&caps[1..]) {
                let (from, n) = (s[s.len() - 1], 800);
                for i in 1..=n {
                    s.push(from + leg.length * f64::from(i) / f64::from(n));
                    feed.push(leg.speed);
                    point.push(if i == n { *cap } else { f64::INFINITY });
                }
            }
            let grid = PathGrid {
                s: &s,
                first: &vec![1.0; s.len()],
                second: &vec![0.0; s.len()],
                feed_cap: &feed,
                feed_kind: &[],
                point_cap: &point,
                start_speed: 0.0,
                end_speed: 0.0,
            };
            let limits =
                [AxisLimits { speed: f64::INFINITY, acceleration: accel, jerk: f64::INFINITY }];
            let general = plan(&grid, &limits).expect("sound").total_s;
            prop_assert!((general / total - 1.0).abs() < 2e-3, "{general} {total}");
            prop_assert!(general >= total * (1.0 - 1e-9));
        }
    }
}
