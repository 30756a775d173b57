//! Loops along a slot, each as far on as the arc of contact allows.

use geom::Vec2;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// A slot or neck for the centre of the cutter.
#[derive(Debug, Clone)]
pub struct Slot<'a> {
    /// Centreline, mm.
    pub centreline: &'a [[f64; 2]],
    /// Radius of the room round each of its points in which the centre may loop, mm.
    pub room_mm: &'a [f64],
    /// Radius of the cutter, mm.
    pub cutter_radius_mm: f64,
    /// Largest arc of contact, rad.
    pub arc_rad: f64,
    /// Radius of the ground that is clear round the first point for the centre, mm.
    pub clear_mm: f64,
    /// Largest radius of a loop, mm.
    pub most_mm: f64,
    /// How far a chord may leave the loop, mm.
    pub chord_mm: f64,
}

/// A loop of the centre.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Loop {
    middle: Vec2,
    radius_mm: f64,
}

/// Largest arc of contact of a loop of radius `loop_mm` that goes on by `advance_mm` along a
/// straight slot, rad.
///
/// Source: cosine rule in the triangle of the middles of the old and the new clearing, and the place
/// where the cutter's edge leaves the stock.
pub fn trochoid_peak_rad(loop_mm: f64, cutter_radius_mm: f64, advance_mm: f64) -> f64 {
    let middle = Vec2::new(advance_mm, 0.0);
    peak(
        Loop { middle: Vec2::ZERO, radius_mm: loop_mm },
        Loop { middle, radius_mm: loop_mm },
        cutter_radius_mm,
    )
}

/// The centre's path along a slot in loops, anticlockwise (material ahead is on the right); the
/// front of each loop is a half circle, and its back runs on to the next.
///
/// It ends where the room is less than 1/50 of the cutter's radius: there is no loop without the
/// whole front in the material.
pub fn trochoid(slot: &Slot<'_>) -> Vec<[f64; 2]> {
    let line = Line::new(slot);
    let mut loops = vec![Loop { middle: line.at(0.0).0, radius_mm: slot.clear_mm }];
    let mut along = 0.0;
    while along < line.length() - 1e-9 {
        let Some((to, next)) = advance(slot, &line, along, loops[loops.len() - 1]) else { break };
        along = to;
        loops.push(next);
    }
    points(slot, &loops)
}

/// The next loop: as far on as it may be, and as wide.
fn advance(slot: &Slot<'_>, line: &Line<'_>, along: f64, last: Loop) -> Option<(f64, Loop)> {
    let radius = slot.cutter_radius_mm;
    let least = 2e-3 * radius;
    let at = |s: f64| {
        let (middle, room) = line.at(s);
        Loop { middle, radius_mm: room.min(slot.most_mm) }
    };
    let good = |next: Loop| peak(last, next, radius) <= slot.arc_rad;
    let first = at((along + least).min(line.length()));
    if first.radius_mm < 0.02 * radius {
        return None;
    }
    if !good(first) {
        // widen step by step before going on
        let (mut lo, mut hi) = (0.0, first.radius_mm);
        for _ in 0..24 {
            let radius_mm = 0.5 * (lo + hi);
            if good(Loop { radius_mm, ..first }) { lo = radius_mm } else { hi = radius_mm }
        }
        // at least a little wider, or nothing would ever begin
        let radius_mm = lo.max((last.radius_mm + 0.01 * radius).min(first.radius_mm));
        return Some(((along + least).min(line.length()), Loop { radius_mm, ..first }));
    }
    let (mut lo, mut hi) =
        (along + least, (along + 0.3 * radius).min(line.length()).max(along + least));
    for _ in 0..20 {
        let middle = 0.5 * (lo + hi);
        if good(at(middle)) { lo = middle } else { hi = middle }
    }
    let lo = if good(at(hi)) { hi } else { lo };
    Some((lo, at(lo)))
}

/// Largest arc of contact on a loop after the one before has cleared its ground.
fn peak(last: Loop, next: Loop, radius: f64) -> f64 {
    let along = next.middle - last.middle;
    let heading = if along.length() > 1e-12 { along.to_angle() } else { 0.0 };
    let arc = |turn: f64| contact(last, next, radius, heading + turn);
    const COARSE: usize = 48;
    let angle = |k: f64| -FRAC_PI_2 + PI * k / COARSE as f64;
    let best = (0..=COARSE)
        .map(|k| (arc(angle(k as f64)), k))
        .fold((0.0, 0), |a, b| if b.0 > a.0 { b } else { a });
    // the top is round: a parabola's worth nearer
    let fine = (-8..=8).map(|k| arc(angle(best.1 as f64 + f64::from(k) / 8.0)));
    fine.fold(best.0, f64::max)
}

/// Arc of contact at an angle of the loop.
fn contact(last: Loop, next: Loop, radius: f64, angle: f64) -> f64 {
    let out = Vec2::from_angle(angle);
    let from = next.middle + out * next.radius_mm - last.middle;
    let away = from.length();
    let cleared = last.radius_mm + radius;
    if away < 1e-12 {
        return if radius > cleared { PI } else { 0.0 };
    }
    let k = (cleared * cleared - away * away - radius * radius) / (2.0 * away * radius);
    if k >= 1.0 {
        return 0.0;
    }
    let middle = out.perp().dot(from).atan2(out.dot(from));
    let half = k.max(-1.0).acos();
    ((middle + half).min(PI) - (middle - half).max(0.0)).max(0.0)
}

/// The loops as one line.
fn points(slot: &Slot<'_>, loops: &[Loop]) -> Vec<[f64; 2]> {
    let mut out = Vec::new();
    for (k, of) in loops.iter().enumerate().skip(1) {
        let heading = |a: &Loop, b: &Loop| (b.middle - a.middle).to_angle();
        let here = heading(&loops[k - 1], of);
        let next = loops.get(k + 1);
        let onwards = next.map_or(here, |n| heading(of, n));
        let bend = (onwards - here + PI).rem_euclid(TAU) - PI;
        let pieces =
            (1.5 * PI / (8.0 * slot.chord_mm / of.radius_mm.max(1e-3)).sqrt()).ceil().max(8.0);
        for i in 0..=pieces as usize {
            let angle = here - FRAC_PI_2 + PI * i as f64 / pieces;
            out.push((of.middle + Vec2::from_angle(angle) * of.radius_mm).to_array());
        }
        // the back of the loop, its middle and radius moving on to the next
        let Some(next) = next else { continue };
        for i in 1..pieces as usize {
            let t = i as f64 / pieces;
            let angle = here + FRAC_PI_2 + (PI + bend) * t;
            let middle = of.middle.lerp(next.middle, t);
            let radius = of.radius_mm + t * (next.radius_mm - of.radius_mm);
            out.push((middle + Vec2::from_angle(angle) * radius).to_array());
        }
    }
    out
}

/// The centreline by length.
struct Line<'a> {
    slot: &'a Slot<'a>,
    lengths: Vec<f64>,
}

impl<'a> Line<'a> {
    fn new(slot: &'a Slot<'a>) -> Self {
        let mut lengths = vec![0.0];
        for pair in slot.centreline.windows(2) {
            let step = Vec2::from(pair[0]).distance(Vec2::from(pair[1]));
            lengths.push(lengths[lengths.len() - 1] + step);
        }
        Self { slot, lengths }
    }

    fn length(&self) -> f64 {
        self.lengths[self.lengths.len() - 1]
    }

    /// Place and room at a length.
    fn at(&self, s: f64) -> (Vec2, f64) {
        let k = self.lengths.partition_point(|l| *l <= s).max(1).min(self.lengths.len() - 1);
        if k == 0 || self.lengths.len() < 2 {
            return (Vec2::from(self.slot.centreline[0]), self.slot.room_mm[0]);
        }
        let step = self.lengths[k] - self.lengths[k - 1];
        let t = if step > 0.0 { ((s - self.lengths[k - 1]) / step).min(1.0) } else { 0.0 };
        let place = |i: usize| Vec2::from(self.slot.centreline[i]);
        let room = |i: usize| self.slot.room_mm[i];
        (place(k - 1).lerp(place(k), t), room(k - 1) + t * (room(k) - room(k - 1)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const Q: f64 = 4.0;
    const R: f64 = 5.0;

    #[test]
    fn the_front_of_round_loops() {
        // derived: acos(((q + r)² − (q + p)² − r²) / 2 (q + p) r) where the loop is farthest on
        for (advance, want) in [(0.5, 37.39719), (1.0, 51.68387), (2.0, 70.52878)] {
            let last = Loop { middle: Vec2::ZERO, radius_mm: Q };
            let next = Loop { middle: Vec2::new(advance, 0.0), radius_mm: Q };
            let got = contact(last, next, R, 0.0).to_degrees();
            assert!((got - want).abs() < 1e-4, "{got} {want}");
        }
    }

    #[test]
    fn the_peak_lies_a_little_before_the_front() {
        // derived: points of the edge tested one by one against the old disk, 0.01° apart; the
        // largest arc is 1.2° more than at the front
        let outside = |at: f64, edge: f64, advance: f64| {
            let c = Vec2::new(advance, 0.0) + Vec2::from_angle(at) * Q;
            (c + Vec2::from_angle(at + edge) * R).length() > Q + R
        };
        for advance in [0.5, 1.0] {
            let arc = |at: f64| {
                let edges = (0..18_000).map(|k| (f64::from(k) + 0.5) * 1e-2f64.to_radians());
                edges.filter(|e| outside(at, *e, advance)).count() as f64 * 1e-2
            };
            let want = (-90..=90).map(|d| arc(f64::from(d).to_radians())).fold(0.0, f64::max);
            let got = trochoid_peak_rad(Q, R, advance).to_degrees();
            assert!((got - want).abs() < 0.03, "{got} {want}");
        }
    }

    #[test]
    fn a_straight_slot_goes_on_by_the_same_step() {
        let line: Vec<[f64; 2]> = (0..=200).map(|k| [0.2 * f64::from(k), 0.0]).collect();
        let room = vec![2.0; line.len()];
        let slot = Slot {
            centreline: &line,
            room_mm: &room,
            cutter_radius_mm: 5.0,
            arc_rad: 45f64.to_radians(),
            clear_mm: 2.0,
            most_mm: 3.0,
            chord_mm: 0.005,
        };
        // derived: the step at which the peak, tested above, is the target
        let (mut lo, mut hi) = (0.0, 2.0);
        for _ in 0..40 {
            let step = 0.5 * (lo + hi);
            let over = trochoid_peak_rad(2.0, 5.0, step).to_degrees() > 45.0;
            if over { hi = step } else { lo = step }
        }
        let loops = (40.0 / lo).ceil();
        let path = trochoid(&slot);
        let fronts = path.windows(3).filter(|w| w[1][0] > w[0][0] && w[1][0] >= w[2][0]);
        let fronts = fronts.count() as f64;
        assert!((fronts - loops).abs() <= 2.0, "{fronts} loops, {loops} expected");
        assert!(path.iter().all(|p| p[1].abs() < 2.0 + 1e-9));
    }
}
