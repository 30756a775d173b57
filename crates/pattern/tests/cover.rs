//! No place of a face lies farther than half a step from a contact line.

mod support;

use std::collections::BTreeMap;

use geom::{Vec2, Vec3};
use pattern::{Chart, FaceJob, FacePasses, Pattern, Spot, finish_on};
use support::*;

/// A surface of which only a part belongs to the face.
struct Cut {
    base: Graph,
    keeps: fn(Vec2) -> bool,
}

impl Chart for Cut {
    fn bounds(&self) -> (Vec2, Vec2) {
        self.base.bounds()
    }
    fn covers(&self, q: Vec2) -> bool {
        self.base.covers(q) && (self.keeps)(q)
    }
    fn at(&self, q: Vec2) -> Option<Spot> {
        if (self.keeps)(q) { self.base.at(q) } else { None }
    }
    fn corners(&self) -> Vec<Vec2> {
        self.base.corners()
    }
    fn area_mm2(&self) -> f64 {
        const N: usize = 400;
        let half = self.base.half;
        let f = |k: usize| 2.0 * (k as f64 + 0.5) / N as f64 - 1.0;
        let cell = 4.0 * half.x * half.y / (N * N) as f64;
        (0..N * N)
            .filter_map(|k| self.at(Vec2::new(f(k % N), f(k / N)) * half))
            .map(|s| s.area_factor() * cell)
            .sum()
    }
    fn beyond(&self, near: &Spot, q: Vec2) -> Option<Spot> {
        self.base.beyond(near, q)
    }
}

fn faces() -> Vec<(&'static str, Cut)> {
    let half = Vec2::new(14.0, 10.0);
    let all = |base| Cut { base, keeps: |_| true };
    vec![
        ("crown", all(crown(half))),
        ("saddle", all(saddle(half))),
        ("dome", Cut { base: dome(Vec2::splat(11.0)), keeps: |q| q.length() <= 10.5 }),
        ("ring", Cut { base: crown(half), keeps: |q| (q - Vec2::new(3.0, 1.0)).length() >= 4.0 }),
        ("trimmed", Cut { base: crown(half), keeps: |q| q.x + 1.6 * q.y <= 12.0 && q.x > -12.5 }),
    ]
}

/// Largest distance from a place of the face to the nearest contact line, with the place, mm.
fn largest_gap(chart: &dyn Chart, passes: &FacePasses, step: f64) -> (f64, Vec3) {
    let key = |p: Vec3| [(p.x / step).floor() as i64, (p.y / step).floor() as i64];
    let mut near: BTreeMap<[i64; 2], Vec<[Vec3; 2]>> = BTreeMap::new();
    for run in passes.toolpath.runs.iter().filter(|r| r.kind.is_cut()) {
        for w in run.contacts.windows(2) {
            let (a, b) = (key(w[0].point.min(w[1].point)), key(w[0].point.max(w[1].point)));
            for i in a[0] - 1..=b[0] + 1 {
                for j in a[1] - 1..=b[1] + 1 {
                    near.entry([i, j]).or_default().push([w[0].point, w[1].point]);
                }
            }
        }
    }
    let (lo, hi) = chart.bounds();
    let mut worst = (0.0, Vec3::ZERO);
    const N: usize = 500;
    for k in 0..N * N {
        let f = Vec2::new((k % N) as f64 + 0.5, (k / N) as f64 + 0.5) / N as f64;
        let Some(spot) = chart.at(lo + (hi - lo) * f) else { continue };
        let p = spot.site.point;
        let gap = near.get(&key(p)).map_or(step, |segments| {
            segments
                .iter()
                .map(|[a, b]| {
                    let along = *b - *a;
                    let t =
                        ((p - *a).dot(along) / along.length_squared().max(1e-30)).clamp(0.0, 1.0);
                    p.distance(*a + along * t)
                })
                .fold(step, f64::min)
        });
        if gap > worst.0 {
            worst = (gap, p);
        }
    }
    worst
}

#[test]
fn a_spiral_leaves_no_place_farther_than_half_a_step() {
    let (part, ball) = (far_below(), ball(6.0));
    for (name, chart) in faces() {
        for step in [0.3, 0.9] {
            let job = FaceJob { stepover_mm: Some(step), ..job(&part, &ball, Pattern::Spiral) };
            let passes = finish_on(&chart, &job, &|_| ()).expect(name);
            let (gap, at) = largest_gap(&chart, &passes, step);
            let length = passes.path_mm * step / chart.area_mm2();
            assert!(gap <= 0.5 * step * 1.05, "{name} {step}: {gap} at {at}");
            assert!(length <= 1.28, "{name} {step}: {length}");
        }
    }
}
