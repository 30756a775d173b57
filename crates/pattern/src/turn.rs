//! The shortest smooth way between two directed points of a plane with a smallest radius: arcs and
//! a straight, or three arcs (L. E. Dubins, Amer. J. Math. 79, 1957).

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use geom::Vec2;

/// Spacing of the places that means are taken over, as a share of the length of the mean.
const FINE: f64 = 0.01;

/// A point with a heading, rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Headed {
    /// Position.
    pub(crate) at: Vec2,
    /// Heading from +x, counter-clockwise.
    pub(crate) heading_rad: f64,
}

/// One stretch of a way: its signed curvature and its length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stretch {
    /// Curvature, positive to the left.
    pub(crate) curvature: f64,
    /// Length.
    pub(crate) length: f64,
}

/// The shortest way; lengths in the unit of `radius`.
pub(crate) fn shortest(from: Headed, to: Headed, radius: f64) -> [Stretch; 3] {
    let pair = Pair { from, to, radius };
    let [left, right] = [1.0, -1.0];
    [
        pair.same(left),
        pair.same(right),
        pair.crossed(left),
        pair.crossed(right),
        pair.three(left, left),
        pair.three(left, right),
        pair.three(right, left),
        pair.three(right, right),
    ]
    .into_iter()
    .flatten()
    .min_by(|x, y| total(x).total_cmp(&total(y)))
    .unwrap_or([Stretch { curvature: 0.0, length: 0.0 }; 3])
}

fn total(way: &[Stretch; 3]) -> f64 {
    way.iter().map(|s| s.length).sum()
}

/// An angle in [0, 2π); a full turn that is rounding of no turn is none.
fn turned(angle: f64) -> f64 {
    let t = angle.rem_euclid(TAU);
    if TAU - t < geom::tolerance::PARALLEL_RAD { 0.0 } else { t }
}

struct Pair {
    from: Headed,
    to: Headed,
    radius: f64,
}

/// `side` is 1 for a turn to the left, −1 to the right.
impl Pair {
    fn centre(&self, end: Headed, side: f64) -> Vec2 {
        end.at + Vec2::from_angle(end.heading_rad).perp() * (side * self.radius)
    }

    fn arc(&self, side: f64, from_rad: f64, to_rad: f64) -> Stretch {
        let length = turned(side * (to_rad - from_rad)) * self.radius;
        Stretch { curvature: side / self.radius, length }
    }

    /// Arc, straight, arc on one side.
    fn same(&self, side: f64) -> Option<[Stretch; 3]> {
        let v = self.centre(self.to, side) - self.centre(self.from, side);
        let heading = v.y.atan2(v.x);
        Some(self.straight(side, side, heading, v.length()))
    }

    /// Arc, straight, arc on the other side.
    fn crossed(&self, side: f64) -> Option<[Stretch; 3]> {
        let v = self.centre(self.to, -side) - self.centre(self.from, side);
        let square = v.length_squared() - 4.0 * self.radius * self.radius;
        (square >= 0.0).then(|| {
            let length = square.sqrt();
            let heading = v.y.atan2(v.x) + side * (2.0 * self.radius).atan2(length);
            self.straight(side, -side, heading, length)
        })
    }

    fn straight(&self, first: f64, last: f64, heading_rad: f64, length: f64) -> [Stretch; 3] {
        [
            self.arc(first, self.from.heading_rad, heading_rad),
            Stretch { curvature: 0.0, length },
            self.arc(last, heading_rad, self.to.heading_rad),
        ]
    }

    /// Three arcs; `bulge` chooses the side on which the middle one lies.
    fn three(&self, side: f64, bulge: f64) -> Option<[Stretch; 3]> {
        let (a, b) = (self.centre(self.from, side), self.centre(self.to, side));
        let half = 0.5 * (b - a);
        let square = 4.0 * self.radius * self.radius - half.length_squared();
        (square >= 0.0 && half.length() > 0.0).then(|| {
            let middle = a + half + half.normalize().perp() * (bulge * square.sqrt());
            let quarter = side * FRAC_PI_2;
            let h1 = (middle - a).to_angle() + quarter;
            let h2 = (middle - b).to_angle() + quarter;
            [
                self.arc(side, self.from.heading_rad, h1),
                self.arc(-side, h1, h2),
                self.arc(side, h2, self.to.heading_rad),
            ]
        })
    }
}

/// Places along a way with its turns eased: each place is the mean of the way over `ease` round it, so that
/// curvature grows and falls evenly over that length. At both ends the way runs straight on for half of
/// `ease`: it begins at `from` and ends at the end of the last stretch led straight on as far. Places
/// are about `spacing` apart; the start is not among them, the end is.
pub(crate) fn eased(from: Headed, way: &[Stretch; 3], ease: f64, spacing: f64) -> Vec<Vec2> {
    let straight = Stretch { curvature: 0.0, length: ease };
    let back = Headed { at: from.at - Vec2::from_angle(from.heading_rad) * (0.5 * ease), ..from };
    let stretches: Vec<Stretch> = std::iter::once(straight).chain(*way).chain([straight]).collect();
    let total: f64 = stretches.iter().map(|s| s.length).sum();
    let count = (total / (FINE * ease)).ceil().max(2.0) as usize;
    let step = total / count as f64;
    let mut here = back;
    let mut places = vec![here.at];
    let (mut stretch, mut begun) = (0, 0.0);
    for k in 1..=count {
        let along = step * k as f64;
        while stretch + 1 < stretches.len() && along > begun + stretches[stretch].length {
            let s = stretches[stretch];
            here = advanced(here, s.curvature, s.length);
            begun += s.length;
            stretch += 1;
        }
        places.push(advanced(here, stretches[stretch].curvature, along - begun).at);
    }
    // running integral, to take means from
    let mut sums = vec![Vec2::ZERO];
    for w in places.windows(2) {
        sums.push(sums[sums.len() - 1] + 0.5 * step * (w[0] + w[1]));
    }
    let integral = |along: f64| {
        let k = ((along / step) as usize).min(count - 1);
        let f = along - step * k as f64;
        sums[k] + places[k] * f + (places[k + 1] - places[k]) * (0.5 * f * f / step)
    };
    let length = total - ease;
    let n = (length / spacing).ceil().max(2.0) as usize;
    (1..=n)
        .map(|k| {
            let along = length * k as f64 / n as f64;
            (integral(along + ease) - integral(along)) / ease
        })
        .collect()
}

fn advanced(from: Headed, curvature: f64, length: f64) -> Headed {
    let h = from.heading_rad;
    if curvature == 0.0 {
        return Headed { at: from.at + Vec2::from_angle(h) * length, heading_rad: h };
    }
    let g = h + curvature * length;
    let swing = Vec2::new(g.sin() - h.sin(), h.cos() - g.cos()) / curvature;
    Headed { at: from.at + swing, heading_rad: if g > PI { g - TAU } else { g } }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::FRAC_PI_6;

    fn end_of(from: Headed, way: &[Stretch; 3]) -> Headed {
        way.iter().fold(from, |at, s| advanced(at, s.curvature, s.length))
    }

    fn arrive(from: Headed, to: Headed, radius: f64) -> (f64, f64) {
        let way = shortest(from, to, radius);
        let end = end_of(from, &way);
        let turn = (end.heading_rad - to.heading_rad + PI).rem_euclid(TAU) - PI;
        (end.at.distance(to.at) + turn.abs(), way.iter().map(|s| s.length).sum())
    }

    #[test]
    fn every_pair_is_joined() {
        for i in 0..12 {
            for j in 0..12 {
                for (x, y) in [(0.2, 0.0), (3.0, 1.0), (-2.0, 5.0), (9.0, -4.0), (0.1, 0.15)] {
                    let from = Headed { at: Vec2::ZERO, heading_rad: f64::from(i) * FRAC_PI_6 };
                    let to = Headed { at: Vec2::new(x, y), heading_rad: f64::from(j) * FRAC_PI_6 };
                    let (miss, _) = arrive(from, to, 2.0);
                    assert!(miss < 1e-9, "{i} {j} {x} {y}: {miss}");
                }
            }
        }
    }

    #[test]
    fn turning_back_beside_the_pass_takes_three_arcs() {
        // side by side at s, headings opposed: three arcs of 60°, 300° and 60° as s vanishes
        let from = Headed { at: Vec2::ZERO, heading_rad: 0.0 };
        let to = Headed { at: Vec2::new(0.0, 1e-6), heading_rad: PI };
        let (_, length) = arrive(from, to, 2.0);
        assert!((length - 2.0 * (PI + 4.0 * PI / 3.0)).abs() < 1e-4, "{length}");
    }

    #[test]
    fn straight_on_is_straight() {
        let from = Headed { at: Vec2::ZERO, heading_rad: 0.4 };
        let to = Headed { at: Vec2::from_angle(0.4) * 7.0, heading_rad: 0.4 };
        let (miss, length) = arrive(from, to, 2.0);
        assert!(miss < 1e-12 && (length - 7.0).abs() < 1e-12);
    }

    #[test]
    fn an_eased_way_keeps_its_ends_and_bends_evenly() {
        let (radius, ease) = (2.0, 3.0);
        let from = Headed { at: Vec2::new(0.5 * ease, 0.0), heading_rad: 0.0 };
        let to = Headed { at: Vec2::new(0.5 * ease, 0.6), heading_rad: PI };
        let way = shortest(from, to, radius);
        let start = Headed { at: Vec2::ZERO, heading_rad: 0.0 };
        let places = eased(start, &way, ease, 0.05);
        assert!(places[places.len() - 1].distance(Vec2::new(0.0, 0.6)) < 1e-4);
        let bend = |w: &[Vec2]| {
            let (a, b) = (w[1] - w[0], w[2] - w[1]);
            a.angle_to(b) / (0.5 * (a.length() + b.length()))
        };
        let bends: Vec<f64> = places.windows(3).map(bend).collect();
        // derived: curvature changes by at most 2 / (radius · ease) for each unit of length, and by
        // the mean's shrinking a little more
        let jumps = bends.windows(2).map(|w| (w[1] - w[0]).abs()).fold(0.0, f64::max);
        assert!(jumps < 1.25 * 0.05 * 2.0 / (radius * ease), "{jumps}");
        assert!(bends.iter().all(|b| b.abs() < 1.15 / radius));
    }
}
