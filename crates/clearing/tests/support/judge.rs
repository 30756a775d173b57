//! A judge of paths that shares nothing with the planner: no grid and no field, but rays from the
//! cutter's edge tested against the polygon of the stock and the distance to every move before.

use clearing::{Kind, Run};
use planar::Region;
use std::f64::consts::{FRAC_PI_2, PI};

/// A point this deep in what was swept before is gone, mm.
const SWEPT_MM: f64 = 2e-4;

type Segment = ([f64; 2], [f64; 2]);

pub fn distance(p: [f64; 2], (a, b): Segment) -> f64 {
    let d = [b[0] - a[0], b[1] - a[1]];
    let long = d[0] * d[0] + d[1] * d[1];
    let t = match long > 0.0 {
        true => (((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / long).clamp(0.0, 1.0),
        false => 0.0,
    };
    (p[0] - a[0] - t * d[0]).hypot(p[1] - a[1] - t * d[1])
}

/// Straight pieces in buckets.
pub struct Buckets {
    cells: Vec<Vec<u32>>,
    all: Vec<Segment>,
    size: f64,
    lo: [f64; 2],
    n: [i64; 2],
}

impl Buckets {
    /// Buckets over all of a region and a margin round it.
    pub fn over(region: &Region, margin: f64, size: f64) -> Self {
        let loops = region.loops();
        let all = || loops.iter().flatten();
        let lo = all().fold([f64::MAX; 2], |a, p| [a[0].min(p[0]), a[1].min(p[1])]);
        let hi = all().fold([f64::MIN; 2], |a, p| [a[0].max(p[0]), a[1].max(p[1])]);
        let lo = [lo[0] - margin, lo[1] - margin];
        let count = |k: usize| ((hi[k] + margin - lo[k]) / size).ceil() as i64 + 1;
        let n = [count(0), count(1)];
        let cells = vec![Vec::new(); (n[0] * n[1]) as usize];
        Self { cells, all: Vec::new(), size, lo, n }
    }

    pub fn border(region: &Region) -> Self {
        let mut out = Self::over(region, 20.0, 2.0);
        for l in region.loops() {
            for (a, b) in l.iter().zip(l.iter().cycle().skip(1)) {
                out.add((*a, *b));
            }
        }
        out
    }

    fn cell(&self, v: f64, k: usize) -> i64 {
        (((v - self.lo[k]) / self.size).floor() as i64).clamp(0, self.n[k] - 1)
    }

    pub fn add(&mut self, s: Segment) {
        let id = self.all.len() as u32;
        self.all.push(s);
        let pieces = ((s.1[0] - s.0[0]).hypot(s.1[1] - s.0[1]) / (0.5 * self.size)).ceil().max(1.0);
        let mut last = None;
        for k in 0..=pieces as usize {
            let t = k as f64 / pieces;
            let p = [s.0[0] + t * (s.1[0] - s.0[0]), s.0[1] + t * (s.1[1] - s.0[1])];
            let key = self.cell(p[1], 1) * self.n[0] + self.cell(p[0], 0);
            if last != Some(key) {
                self.cells[key as usize].push(id);
            }
            last = Some(key);
        }
    }

    /// Whether any piece passes nearer to a point than a radius.
    pub fn any_within(&self, p: [f64; 2], radius: f64) -> bool {
        self.near(p, radius).any(|s| distance(p, s) < radius)
    }

    /// Pieces that may pass nearer than a radius.
    fn near(&self, p: [f64; 2], radius: f64) -> impl Iterator<Item = Segment> + '_ {
        let reach = radius + self.size;
        let (i0, i1) = (self.cell(p[0] - reach, 0), self.cell(p[0] + reach, 0));
        (self.cell(p[1] - reach, 1)..=self.cell(p[1] + reach, 1))
            .flat_map(move |j| (i0..=i1).map(move |i| (j * self.n[0] + i) as usize))
            .flat_map(|key| self.cells[key].iter().rev())
            .map(|id| self.all[*id as usize])
    }

    /// Distance to the nearest piece, at most `most`.
    pub fn nearest(&self, p: [f64; 2], most: f64) -> f64 {
        self.near(p, most).map(|s| distance(p, s)).fold(most, f64::min)
    }

    /// Whether an odd number of pieces lies to the left of a point.
    pub fn encloses(&self, p: [f64; 2]) -> bool {
        let crosses = |(a, b): &&Segment| {
            (a[1] <= p[1]) != (b[1] <= p[1])
                && a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]) < p[0]
        };
        self.all.iter().filter(crosses).count() % 2 == 1
    }
}

/// What the judge found.
#[derive(Debug, Default)]
pub struct Verdict {
    /// Arc of contact at the looked-at points: run, point, arc in rad.
    pub arcs: Vec<(usize, usize, f64)>,
    /// Arc on the right and on the left of the feed, summed over the looked-at points, rad.
    pub sides_rad: [f64; 2],
    /// How far the cutter's edge leaves the shape, mm, at most.
    pub gouge_mm: f64,
    /// Run and point where it does.
    pub gouge_at: (usize, usize),
    /// Largest arc of contact on a link, rad.
    pub link_arc_rad: f64,
    /// Largest arc of contact on each link, rad.
    pub links_rad: Vec<f64>,
}

/// Drives the path; looks at every `every`-th point.
pub fn drive(runs: &[Run], inside: &Region, stock: &Region, radius: f64, every: usize) -> Verdict {
    let (walls, raw) = (Buckets::border(inside), Buckets::border(stock));
    let mut swept = Buckets::over(inside, radius, 0.2 * radius);
    let mut out = Verdict::default();
    let mut count = 0;
    for (r, run) in runs.iter().enumerate() {
        if run.kind == Kind::Lift {
            continue;
        }
        if run.kind == Kind::Link {
            out.links_rad.push(0.0);
        }
        if run.points.len() == 1 {
            swept.add((run.points[0], run.points[0]));
        }
        for i in 1..run.points.len() {
            let (a, b) = (run.points[i - 1], run.points[i]);
            for p in [[0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])], b] {
                let gouge = radius - walls.nearest(p, radius);
                if gouge > out.gouge_mm {
                    (out.gouge_mm, out.gouge_at) = (gouge, (r, i));
                }
            }
            if run.kind == Kind::Link {
                let arc = link_arc(&swept, &raw, (a, b), radius);
                out.link_arc_rad = out.link_arc_rad.max(arc);
                out.links_rad.iter_mut().rev().take(1).for_each(|most| *most = most.max(arc));
            }
            count += 1;
            if count % every == 0 && run.kind != Kind::Entry {
                let sides = arc(&swept, &raw, (a, b), radius, radius);
                let arc = sides[0] + sides[1];
                out.sides_rad = [out.sides_rad[0] + sides[0], out.sides_rad[1] + sides[1]];
                if run.kind != Kind::Link {
                    out.arcs.push((r, i, arc));
                }
            }
            swept.add((a, b));
        }
    }
    out
}

/// Largest arc along a link, looked at every few mm; a film of up to a fiftieth of the radius is let pass.
fn link_arc(swept: &Buckets, raw: &Buckets, (a, b): Segment, radius: f64) -> f64 {
    let length = (b[0] - a[0]).hypot(b[1] - a[1]);
    let pieces = (length / 4.0).ceil();
    let at = |k: f64| [a[0] + (b[0] - a[0]) * k / pieces, a[1] + (b[1] - a[1]) * k / pieces];
    let arc = |k: f64| {
        let sides = arc(swept, raw, (at(k - 1.0), at(k)), 0.98 * radius, radius);
        sides[0] + sides[1]
    };
    (1..=pieces as usize).map(|k| arc(k as f64)).fold(0.0, f64::max)
}

/// Arcs in the material on the right and left of the leading half, the cutter having come from `a` to `b`; material is
/// what the stock holds and no move before this one has swept.
fn arc(swept: &Buckets, raw: &Buckets, (a, b): Segment, rim: f64, radius: f64) -> [f64; 2] {
    let feed = (b[1] - a[1]).atan2(b[0] - a[0]);
    if (b[0] - a[0]).hypot(b[1] - a[1]) < 1e-9 {
        return [0.0; 2];
    }
    const RAYS: usize = 720;
    let pitch = PI / RAYS as f64;
    // ends of the leading half are tangent to what was swept before
    let is_cut = |k: &usize| {
        let angle = feed - FRAC_PI_2 + (*k as f64 + 0.5) * pitch;
        let p = [b[0] + rim * angle.cos(), b[1] + rim * angle.sin()];
        !swept.any_within(p, radius - SWEPT_MM)
            && raw.encloses(p)
            && raw.nearest(p, 1e-3) > 5e-4
            && distance(p, (a, a)) > rim
    };
    let count = |range: std::ops::Range<usize>| range.filter(is_cut).count() as f64 * pitch;
    [count(0..RAYS / 2), count(RAYS / 2..RAYS)]
}

/// Links with a corner of more than 5°, and of them those with one where they begin, within, where they end.
/// A turn that an arc with points as far off it as a chord may be has is none.
pub fn cornered(runs: &[Run], chord_mm: f64) -> [usize; 4] {
    let steps = |run: &Run| -> Vec<[f64; 2]> {
        let all = run.points.windows(2).map(|w| [w[1][0] - w[0][0], w[1][1] - w[0][1]]);
        all.filter(|d| d[0].hypot(d[1]) > 1e-6).collect()
    };
    let is_corner = |a: [f64; 2], b: [f64; 2]| {
        let turn = (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1]).abs();
        let least = a[0].hypot(a[1]).min(b[0].hypot(b[1]));
        turn > 20f64.to_radians()
            || (turn > 5f64.to_radians() && least * turn / 8.0 > 1.2 * chord_mm)
    };
    let mut count = [0; 4];
    for (k, run) in runs.iter().enumerate().filter(|(_, r)| r.kind == Kind::Link) {
        let own = steps(run);
        let (Some(first), Some(last)) = (own.first(), own.last()) else { continue };
        let near = |k: Option<usize>| k.and_then(|k| runs.get(k)).filter(|r| r.kind != Kind::Lift);
        let before = near(k.checked_sub(1)).and_then(|r| steps(r).last().copied());
        let after = near(Some(k + 1)).and_then(|r| steps(r).first().copied());
        let found = [
            before.is_some_and(|d| is_corner(d, *first)),
            own.windows(2).any(|w| is_corner(w[0], w[1])),
            after.is_some_and(|d| is_corner(*last, d)),
        ];
        count[0] += usize::from(found.contains(&true));
        (0..3).for_each(|i| count[i + 1] += usize::from(found[i]));
    }
    count
}
