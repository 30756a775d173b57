//! From the traced polyline to stretches between stops, with points set where a corner may be
//! rounded no further.

use super::corner;
use super::leg::{Leg, Polyline, Vertex};
use super::spline::{DIMENSIONS, Point, mix};
use geom::tolerance::COINCIDENT_MM;

/// How corners are rounded.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rounding {
    /// How far a corner may be missed, mm; 0: every corner is a stop.
    pub(crate) tolerance_mm: f64,
    /// An angle of a rotary axis counts at this lever, mm.
    pub(crate) lever_mm: f64,
    /// Whether rapids and feeds meet at rest.
    pub(crate) stops_at_rapids: bool,
    /// Corners that turn by more are stops, rad.
    pub(crate) stop_angle_rad: f64,
}

/// A stretch of path from rest to rest: knots `s`, places, and what each span belongs to.
#[derive(Debug, Clone, Default)]
pub(crate) struct Rounded {
    pub(crate) s: Vec<f64>,
    pub(crate) points: Vec<Point>,
    pub(crate) spans: Vec<Span>,
}

/// What lies between two knots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Span {
    /// Index of the leg.
    pub(crate) leg: u32,
    /// Whether the tolerance bounds the curvature here.
    pub(crate) corner: bool,
}

/// Joints of the pieces of an arc are spread by at least this, mm: the arc itself has none.
const ARC_MM: f64 = 0.002;

/// A span shorter than this share of its leg is none: rounding of the numbers must not leave slivers
/// between the curves of two corners.
const LEAST_SPAN: f64 = 1e-4;

fn point(v: &Vertex) -> Point {
    [v.tip.x, v.tip.y, v.tip.z, v.theta[0], v.theta[1]]
}

/// What happens at a vertex inside a path.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Bend {
    /// The tool stands still.
    Stop,
    /// The corner may be spread over these lengths of the legs before and after it.
    Spread { before: f64, after: f64 },
}

/// Splits the path at its stops and bounds its corners.
pub(crate) fn round(path: &Polyline, rounding: &Rounding) -> Vec<Rounded> {
    let bends: Vec<Bend> =
        path.legs.windows(2).enumerate().map(|(i, w)| bend(path, i + 1, w, rounding)).collect();
    let mut out = Vec::new();
    let mut current = Rounded::default();
    for i in 0..path.legs.len() {
        let before = i.checked_sub(1).map_or(Bend::Stop, |b| bends[b]);
        let after = bends.get(i).copied().unwrap_or(Bend::Stop);
        if before == Bend::Stop {
            if !current.spans.is_empty() {
                out.push(std::mem::take(&mut current));
            }
            current.s.push(0.0);
            current.points.push(point(&path.vertices[i]));
        }
        current.add_leg(path, i, before, after);
    }
    if !current.spans.is_empty() {
        out.push(current);
    }
    out
}

fn bend(path: &Polyline, at: usize, legs: &[Leg], rounding: &Rounding) -> Bend {
    let (before, after) = (&legs[0], &legs[1]);
    let told = before.stop || before.frame != after.frame;
    if told || (rounding.stops_at_rapids && before.is_rapid() != after.is_rapid()) {
        return Bend::Stop;
    }
    let [a, b, c] = [at - 1, at, at + 1].map(|i| point(&path.vertices[i]));
    let jump: Point =
        std::array::from_fn(|k| (c[k] - b[k]) / after.length - (b[k] - a[k]) / before.length);
    let tip = jump[..3].iter().map(|d| d * d).sum::<f64>().sqrt();
    let sharp = before.sharpness(after, tip);
    if corner::angle(sharp) > rounding.stop_angle_rad {
        return Bend::Stop;
    }
    let rotary = jump[3].abs().max(jump[4].abs()) * rounding.lever_mm;
    let tolerance =
        if sharp == 0.0 { rounding.tolerance_mm.max(ARC_MM) } else { rounding.tolerance_mm };
    spread(tip.max(rotary), before.length, after.length, tolerance)
}

/// Both sides reach equally far where they can; a side may be twice as long as the other, for
/// beyond that the curve would leave the corner further than the tolerance.
fn spread(jump: f64, before: f64, after: f64, tolerance: f64) -> Bend {
    let reach = corner::reach(jump, tolerance.max(COINCIDENT_MM));
    if tolerance == 0.0 && reach < before.min(after) {
        return Bend::Stop;
    }
    let side =
        |other: f64| if other >= 0.5 * reach { reach } else { (2.0 * other).max(0.5 * reach) };
    Bend::Spread { before: side(after), after: side(before) }
}

impl Rounded {
    fn add_leg(&mut self, path: &Polyline, i: usize, before: Bend, after: Bend) {
        let leg = &path.legs[i];
        let (a, b) = (point(&path.vertices[i]), point(&path.vertices[i + 1]));
        let from = self.s[self.s.len() - 1];
        let whole = leg.length * (1.0 - LEAST_SPAN);
        let near = match before {
            Bend::Spread { after: reach, .. } if reach < whole => Some(reach),
            _ => None,
        };
        let far = match after {
            Bend::Spread { before: reach, .. } if reach < whole => Some(reach),
            _ => None,
        };
        let mut add = |length: f64, corner: bool| {
            self.s.push(from + length);
            self.points.push(mix(&a, &b, length / leg.length));
            self.spans.push(Span { leg: i as u32, corner });
        };
        match (near, far) {
            (Some(n), Some(f)) if n + f >= whole => add(leg.length * n / (n + f), true),
            (Some(n), Some(f)) => {
                add(n, true);
                add(leg.length - f, false);
            }
            (Some(n), None) => add(n, true),
            (None, Some(f)) => add(leg.length - f, false),
            (None, None) => {}
        }
        add(leg.length, far.is_some());
    }
}

const _: () = assert!(DIMENSIONS == 5);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::spline::knots;
    use crate::track::Frame;
    use geom::Vec3;
    use proptest::prelude::*;
    use toolpath::RunKind;

    fn path(tips: &[Vec3]) -> Polyline {
        let vertices = tips.iter().map(|&tip| Vertex { tip, theta: [0.0; 2] }).collect();
        let legs = tips
            .windows(2)
            .map(|w| {
                let length = w[0].distance(w[1]);
                Leg {
                    run: 0,
                    kind: RunKind::Cut,
                    length,
                    feed: 1.0,
                    block: length,
                    tip_share: 1.0,
                    bow: 0.0,
                    about: [0.0; 3],
                    frame: Frame::Tip,
                    stop: false,
                }
            })
            .collect();
        Polyline { vertices, legs }
    }

    const ROUNDING: Rounding = Rounding {
        tolerance_mm: 0.01,
        lever_mm: 10.0,
        stops_at_rapids: false,
        stop_angle_rad: 2.94,
    };

    /// Distance of a point from a polyline.
    fn distance(p: Vec3, tips: &[Vec3]) -> f64 {
        let to = |w: &[Vec3]| {
            let d = w[1] - w[0];
            let t = ((p - w[0]).dot(d) / d.length_squared()).clamp(0.0, 1.0);
            p.distance(w[0] + d * t)
        };
        tips.windows(2).map(to).fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn a_right_angle_is_missed_by_the_tolerance() {
        let tips = [Vec3::ZERO, Vec3::new(10.0, 0.0, 0.0), Vec3::new(10.0, 10.0, 0.0)];
        let rounded = round(&path(&tips), &ROUNDING);
        assert_eq!(rounded.len(), 1);
        assert!(rounded[0].spans[1].corner && !rounded[0].spans[0].corner);
        let k = knots(&rounded[0].s, &rounded[0].points);
        let corner = Vec3::from_slice(&k[2].c[0][..3]);
        assert!((corner.distance(tips[1]) - 0.01).abs() < 1e-12);
    }

    #[test]
    fn corners_that_meet_leave_no_sliver_between_them() {
        // equal chords of a circle: every corner reaches to about the middle of its legs
        let chord = |turn: f64| -> Vec<Vec3> {
            let at =
                |i: i32| Vec3::new((turn * f64::from(i)).cos(), (turn * f64::from(i)).sin(), 0.0);
            (0..60).map(|i| at(i) * 7.37).collect()
        };
        for turn in [0.02, 0.063, 0.11, 0.2] {
            let tips = chord(turn);
            let leg = tips[0].distance(tips[1]);
            // tolerances for which the reach is half a leg, a whole leg, and as near as rounding goes
            let jump = 2.0 * (0.5 * turn).sin();
            for reach in [0.5, 1.0] {
                for last_bits in -3..=3 {
                    let share = 1.0 + f64::from(last_bits) * f64::EPSILON;
                    let tolerance_mm = tolerance_of(reach * leg * share, jump);
                    for r in round(&path(&tips), &Rounding { tolerance_mm, ..ROUNDING }) {
                        let least = r.s.windows(2).map(|w| w[1] - w[0]).fold(leg, f64::min);
                        assert!(least > 1e-5 * leg, "{turn} {reach} {last_bits}: {least}");
                    }
                }
            }
        }
    }

    /// The tolerance whose corner reaches so far, by halving.
    fn tolerance_of(reach: f64, jump: f64) -> f64 {
        let (mut lo, mut hi) = (1e-9, 10.0);
        for _ in 0..200 {
            let middle = 0.5 * (lo + hi);
            if corner::reach(jump, middle) < reach { lo = middle } else { hi = middle }
        }
        hi
    }

    #[test]
    fn turning_back_and_zero_tolerance_stop() {
        let back = [Vec3::ZERO, Vec3::X * 10.0, Vec3::X * 2.0];
        assert_eq!(round(&path(&back), &ROUNDING).len(), 2);
        let bent = [Vec3::ZERO, Vec3::X * 10.0, Vec3::new(20.0, 0.1, 0.0)];
        assert_eq!(round(&path(&bent), &ROUNDING).len(), 1);
        assert_eq!(round(&path(&bent), &Rounding { tolerance_mm: 0.0, ..ROUNDING }).len(), 2);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn no_path_is_left_by_more_than_the_tolerance(
            steps in prop::collection::vec((-3.0f64..1.0, -1.5f64..1.5, -1.5f64..1.5), 2..12)
        ) {
            let mut tips = vec![Vec3::ZERO];
            let mut heading = 0.0f64;
            for (size, turn, climb) in steps {
                heading += turn;
                let step = Vec3::new(heading.cos(), heading.sin(), climb) * 10f64.powf(size);
                tips.push(tips[tips.len() - 1] + step);
            }
            for stretch in round(&path(&tips), &ROUNDING) {
                let k = knots(&stretch.s, &stretch.points);
                for w in k.windows(2) {
                    for t in [0.0, 0.25, 0.5, 0.75] {
                        let p = Vec3::from_slice(&w[0].towards(&w[1], t).c[0][..3]);
                        let off = distance(p, &tips);
                        prop_assert!(off < 1.5 * ROUNDING.tolerance_mm, "{off}");
                    }
                }
            }
        }
    }
}
