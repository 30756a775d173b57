//! Random cutters on random surfaces, decided by certificate and judged by dense sampling.

use clearance::{Certificate, Limits, Obstacle, certify_move};
use cutter::axis::{ContactFrame, Side};
use cutter::{Assembly, CutterSpec, Form, tip_at};
use geom::bvh::Bvh;
use geom::{Site, Sym2, TangentTensor, TriMesh, Vec3};
use toolpath::Pose;

/// Half the width of the patch of surface, mm.
const HALF: f64 = 12.0;
/// Squares of the mesh along one side.
const SQUARES: usize = 20;
/// What may be cut too deep, mm.
const LIMIT: f64 = 1e-3;

/// Numbers by counter: item and draw give the number, whatever was drawn before.
pub(crate) struct Draw {
    item: u64,
    count: u64,
}

impl Draw {
    pub(crate) fn new(item: u64) -> Self {
        Self { item, count: 0 }
    }

    fn unit(&mut self) -> f64 {
        self.count += 1;
        let mut x = self.item.wrapping_mul(0x9E37_79B9_7F4A_7C15)
            ^ self.count.wrapping_mul(0xD1B5_4A32_D192_ED03);
        for _ in 0..3 {
            x = (x ^ (x >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            x = (x ^ (x >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            x ^= x >> 31;
        }
        (x >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * self.unit()
    }

    fn log_between(&mut self, lo: f64, hi: f64) -> f64 {
        lo * (hi / lo).powf(self.unit())
    }

    fn sign(&mut self) -> f64 {
        if self.unit() < 0.5 { -1.0 } else { 1.0 }
    }
}

/// A surface as heights over a plane that touches it at the origin.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Ground {
    /// Sphere; the radius positive where it rises (concave).
    Sphere(f64),
    /// Cylinder with its axis turned by an angle.
    Cylinder(f64, f64),
    /// Torus: tube radius and ring radius, signed as for the sphere.
    Torus(f64, f64),
    /// Quadratic with cubic terms: xx, xy, yy, then xxx, xxy, xyy, yyy.
    Cubic([f64; 7]),
}

fn cap(radius: f64, r2: f64) -> f64 {
    radius.signum() * (radius.abs() - (radius * radius - r2).max(0.0).sqrt())
}

impl Ground {
    fn draw(d: &mut Draw) -> Self {
        let radius = |d: &mut Draw| d.sign() * d.log_between(18.0, 3000.0);
        match (d.unit() * 4.0) as u32 {
            0 => Ground::Sphere(radius(d)),
            1 => Ground::Cylinder(radius(d), d.between(0.0, 3.0)),
            2 => {
                let tube = d.sign() * d.log_between(18.0, 200.0);
                Ground::Torus(tube, d.sign() * d.log_between(60.0, 3000.0))
            }
            _ => {
                let k = 10_f64.powf(-d.between(1.3, 3.5));
                let c = k * 10_f64.powf(-d.between(0.5, 2.0));
                let mut all = [0.0; 7];
                all[..3].iter_mut().for_each(|x| *x = d.between(-k, k));
                all[3..].iter_mut().for_each(|x| *x = d.between(-c, c));
                Ground::Cubic(all)
            }
        }
    }

    fn height(&self, x: f64, y: f64) -> f64 {
        match *self {
            Ground::Sphere(r) => cap(r, x * x + y * y),
            Ground::Cylinder(r, turn) => {
                let across = x * turn.cos() + y * turn.sin();
                cap(r, across * across)
            }
            Ground::Torus(tube, ring) => {
                let h = cap(tube, y * y);
                let reach = ring - h;
                reach.signum() * -((reach * reach - x * x).max(0.0).sqrt()) + ring
            }
            Ground::Cubic([a, b, c, d, e, f, g]) => {
                0.5 * (a * x * x + 2.0 * b * x * y + c * y * y)
                    + (d * x * x * x + e * x * x * y + f * x * y * y + g * y * y * y) / 6.0
            }
        }
    }

    fn point(&self, x: f64, y: f64) -> Vec3 {
        Vec3::new(x, y, self.height(x, y))
    }

    /// Site by central differences of the exact heights.
    fn site(&self, x: f64, y: f64) -> Site {
        let h = 0.01;
        let z = |i: f64, j: f64| self.height(x + i * h, y + j * h);
        let (dx, dy) =
            ((z(1.0, 0.0) - z(-1.0, 0.0)) / (2.0 * h), (z(0.0, 1.0) - z(0.0, -1.0)) / (2.0 * h));
        let normal = Vec3::new(-dx, -dy, 1.0).normalize();
        let xx = (z(1.0, 0.0) - 2.0 * z(0.0, 0.0) + z(-1.0, 0.0)) / (h * h);
        let yy = (z(0.0, 1.0) - 2.0 * z(0.0, 0.0) + z(0.0, -1.0)) / (h * h);
        let xy = (z(1.0, 1.0) - z(1.0, -1.0) - z(-1.0, 1.0) + z(-1.0, -1.0)) / (4.0 * h * h);
        let e1 = (Vec3::X - normal * normal.x).normalize();
        let e2 = normal.cross(e1);
        let curvature = TangentTensor { e1, e2, entries: Sym2::new(xx, xy, yy) };
        Site { point: self.point(x, y), normal, curvature }
    }
}

/// A flat wall beside the contact: a point of it and two directions that span it.
#[derive(Debug, Clone, Copy)]
struct Wall {
    foot: Vec3,
    along: Vec3,
    up: Vec3,
}

impl Wall {
    fn draw(d: &mut Draw) -> Option<Self> {
        if d.unit() < 0.5 {
            return None;
        }
        let (turn, away, slope) =
            (d.between(0.0, 6.3), d.log_between(0.5, 40.0), d.between(-0.3, 1.2));
        let out = Vec3::new(turn.cos(), turn.sin(), 0.0);
        Some(Self {
            foot: out * away - Vec3::Z * 3.0,
            along: Vec3::new(-turn.sin(), turn.cos(), 0.0),
            up: (Vec3::Z + out * slope).normalize(),
        })
    }

    fn point(&self, a: f64, b: f64) -> Vec3 {
        self.foot + self.along * a + self.up * b
    }
}

fn cutter(d: &mut Draw) -> Option<Assembly> {
    let form = Form::ALL[1 + (d.unit() * 7.0) as usize];
    let diameter = d.between(4.0, 20.0);
    let mut s = CutterSpec::new(form, diameter);
    s.arc_radius_mm = form.has_large_arc().then(|| d.log_between(3.0, 1000.0));
    let share = d.between(0.03, 0.45);
    s.corner_radius_mm = (form != Form::Ball).then_some(share * diameter);
    if form.has_large_arc() && form != Form::Lens {
        s.corner_offset_mm = Some(d.between(0.0, 0.4) * (0.5 - share) * diameter);
    }
    if matches!(form, Form::TaperedBall | Form::TaperBarrel) {
        s.taper_rad = Some(d.between(0.05, 0.5));
    }
    Assembly::new(&s).ok()
}

/// One pair, ready to be decided.
pub(crate) struct Pair {
    ground: Ground,
    wall: Option<Wall>,
    assembly: Assembly,
    poses: [Pose; 2],
}

/// What became of a pair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Outcome {
    pub(crate) certificate: Certificate,
    /// Lowest signed distance that dense sampling found, mm.
    pub(crate) sampled_mm: f64,
}

impl Pair {
    /// The pair of a number; `None` where the numbers make no cutter or no pose.
    pub(crate) fn draw(item: u64) -> Option<Self> {
        let d = &mut Draw::new(item);
        let assembly = cutter(d)?;
        let (ground, wall) = (Ground::draw(d), Wall::draw(d));
        let (lo, hi) = assembly.cutter.usable_kappa_rad()?;
        let kappa = d.between(lo, hi.min(1.6));
        let contact = assembly.cutter.profile().arc_contact(kappa).ok()?;
        let turn = d.between(0.0, 6.3);
        let feed = Vec3::new(turn.cos(), turn.sin(), 0.0);
        let lead = d.between(-1.0, 1.0) * 0.9 * kappa;
        let step = d.between(0.0, 0.4);
        let pose = |at: Vec3| {
            let site = ground.site(at.x, at.y);
            let axis = ContactFrame::new(site.normal, feed)?.axis_at(kappa, lead, Side::Left)?;
            Some(Pose { tip: tip_at(&site, axis, &contact), axis })
        };
        let poses = [pose(Vec3::ZERO)?, pose(feed * step)?];
        Some(Self { ground, wall, assembly, poses })
    }

    /// Mesh of ground and wall; the first `2 SQUARES²` triangles are the ground's.
    fn mesh(&self) -> TriMesh {
        let mut mesh = TriMesh::default();
        let at = |i: usize| HALF * (2.0 * i as f64 / SQUARES as f64 - 1.0);
        for j in 0..=SQUARES {
            for i in 0..=SQUARES {
                mesh.vertices.push(self.ground.point(at(i), at(j)));
            }
        }
        let number = |i: usize, j: usize| (j * (SQUARES + 1) + i) as u32;
        for j in 0..SQUARES {
            for i in 0..SQUARES {
                let (a, b) = (number(i, j), number(i + 1, j));
                let (c, d) = (number(i + 1, j + 1), number(i, j + 1));
                mesh.triangles.extend([[a, b, c], [a, c, d]]);
            }
        }
        if let Some(wall) = self.wall {
            let first = mesh.vertices.len() as u32;
            for (a, b) in [(-40.0, 0.0), (40.0, 0.0), (40.0, 30.0), (-40.0, 30.0)] {
                mesh.vertices.push(wall.point(a, b));
            }
            mesh.triangles.extend([[first, first + 1, first + 2], [first, first + 2, first + 3]]);
        }
        mesh.face_of = vec![0; mesh.triangles.len()];
        mesh
    }

    /// Decides the pair and samples it.
    pub(crate) fn judge(&self) -> Outcome {
        let mesh = self.mesh();
        let bvh = Bvh::new(&mesh);
        let exact = |t: u32, w: [f64; 3]| {
            let [a, b, c] = mesh.corners(t as usize);
            let p = a * w[0] + b * w[1] + c * w[2];
            if (t as usize) < 2 * SQUARES * SQUARES {
                return Some(self.ground.point(p.x, p.y));
            }
            Some(p)
        };
        // generous: the largest bulge of a square's half is measured at its middle
        let bulge = (0..2 * SQUARES * SQUARES).fold(0.0_f64, |d, t| {
            let [a, b, c] = mesh.corners(t);
            [(a + b) * 0.5, (b + c) * 0.5, (c + a) * 0.5, (a + b + c) / 3.0]
                .iter()
                .fold(d, |d, p| d.max((self.ground.height(p.x, p.y) - p.z).abs()))
        });
        let obstacle = Obstacle::new("ground", &mesh, &bvh, 1.5 * bulge).with_exact(&exact, 1e-4);
        // the cutting part is what is judged here: the bodies behind it may come as close as they like
        let limits = Limits { clearance_mm: -1e6, ..Limits::new(LIMIT, 0.0) };
        let [from, to] = self.poses;
        let certificate = certify_move(&self.assembly, from, to, &[obstacle], &limits);
        Outcome { certificate, sampled_mm: self.sampled() }
    }

    /// Lowest signed distance over dense samples in place and time, the lowest of each polished.
    fn sampled(&self) -> f64 {
        let mut lowest = f64::INFINITY;
        for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
            let pose = clearance::motion::Motion::new(self.poses[0], self.poses[1]).pose(share);
            let sd = |p: Vec3| self.assembly.cutter.profile().distance_at(pose.tip, pose.axis, p);
            let ground = |x: f64, y: f64| {
                let out = x.abs() > HALF || y.abs() > HALF;
                if out { f64::INFINITY } else { sd(self.ground.point(x, y)) }
            };
            let mut starts = Vec::new();
            for i in 0..48 {
                for j in 0..48 {
                    let at = |i: i32| HALF * (2.0 * (f64::from(i) + 0.5) / 48.0 - 1.0);
                    starts.push((at(i), at(j)));
                }
                for j in 0..32 {
                    let (turn, r) =
                        (f64::from(j) * 0.2, 1e-3 * 16_000_f64.powf(f64::from(i) / 48.0));
                    starts.push((r * turn.cos(), r * turn.sin()));
                }
            }
            lowest = lowest.min(polished(ground, &starts, 0.5));
            if let Some(wall) = self.wall {
                let on = |a: f64, b: f64| {
                    let out = a.abs() > 40.0 || !(0.0..=30.0).contains(&b);
                    if out { f64::INFINITY } else { sd(wall.point(a, b)) }
                };
                let starts: Vec<_> = (0..40 * 20)
                    .map(|i| (-39.0 + 2.0 * f64::from(i % 40), 0.75 + 1.5 * f64::from(i / 40)))
                    .collect();
                lowest = lowest.min(polished(on, &starts, 2.0));
            }
        }
        lowest
    }
}

/// Lowest of a function over start points, then by a shrinking compass search from the lowest.
fn polished(f: impl Fn(f64, f64) -> f64, starts: &[(f64, f64)], step: f64) -> f64 {
    let mut best = (f64::INFINITY, 0.0, 0.0);
    for &(x, y) in starts {
        let v = f(x, y);
        if v < best.0 {
            best = (v, x, y);
        }
    }
    let mut step = step;
    while step > 1e-5 {
        let mut moved = false;
        for i in 0..8 {
            let (s, c) = (f64::from(i) * std::f64::consts::FRAC_PI_4).sin_cos();
            let (x, y) = (best.1 + step * c, best.2 + step * s);
            let v = f(x, y);
            if v < best.0 {
                best = (v, x, y);
                moved = true;
            }
        }
        if !moved {
            step *= 0.5;
        }
    }
    best.0
}

/// Counts over a range of pairs.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Tally {
    pub(crate) pairs: usize,
    pub(crate) passed: usize,
    pub(crate) refused: usize,
    pub(crate) unproven: usize,
    pub(crate) false_passes: usize,
    /// Refused although sampling finds nothing deeper than the limit.
    pub(crate) unconfirmed: usize,
    /// Unproven although sampling stays a fifth of the limit above it.
    pub(crate) needlessly_unproven: usize,
}

/// Judges pairs until `wanted` have been drawn, numbered from `from`.
pub(crate) fn tally(from: u64, wanted: usize) -> Tally {
    let mut t = Tally::default();
    let mut item = from;
    while t.pairs < wanted {
        item += 1;
        let Some(pair) = Pair::draw(item) else { continue };
        t.pairs += 1;
        let outcome = pair.judge();
        match outcome.certificate {
            Certificate::Clear => {
                t.passed += 1;
                if outcome.sampled_mm < -LIMIT {
                    t.false_passes += 1;
                    println!("false pass {item}: {}", outcome.sampled_mm);
                }
            }
            Certificate::Unproven(_) => {
                t.unproven += 1;
                t.needlessly_unproven += usize::from(outcome.sampled_mm > -0.8 * LIMIT);
            }
            _ => {
                t.refused += 1;
                t.unconfirmed += usize::from(outcome.sampled_mm >= -LIMIT);
            }
        }
    }
    t
}
