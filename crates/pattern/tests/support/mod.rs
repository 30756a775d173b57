//! Surfaces with a formula, and jobs on them.
#![allow(dead_code, unreachable_pub, reason = "every test binary uses its own share")]

use cutter::{Assembly, CutterSpec, Form};
pub mod solid;

use geom::{Site, Sym2, TangentTensor, TriMesh, Vec2, Vec3};
use part::Part;
use pattern::{AxisRule, Chart, CutSide, FaceJob, Feed, Frame, LeanSide, Pattern, Spot, Traverse};

/// z = height(x, y) over a rectangle about the origin: value, gradient, second derivatives.
pub struct Graph {
    pub half: Vec2,
    pub jet: fn(Vec2) -> (f64, Vec2, Sym2),
}

impl Graph {
    fn spot(&self, q: Vec2) -> Spot {
        let (z, g, h) = (self.jet)(q);
        let (da, db) = (Vec3::new(1.0, 0.0, g.x), Vec3::new(0.0, 1.0, g.y));
        let normal = da.cross(db).normalize();
        let e1 = da.normalize();
        let e2 = normal.cross(e1);
        // second form in the chart, then in the orthonormal basis: da = a e1, db = b e1 + c e2
        let second = Sym2::new(h.xx * normal.z, h.xy * normal.z, h.yy * normal.z);
        let (a, b, c) = (da.length(), db.dot(e1), db.dot(e2));
        let xx = second.xx / (a * a);
        let xy = (second.xy / a - b * xx) / c;
        let yy = (second.yy - 2.0 * b * c * xy - b * b * xx) / (c * c);
        let site = Site {
            point: Vec3::new(q.x, q.y, z),
            normal,
            curvature: TangentTensor { e1, e2, entries: Sym2::new(xx, xy, yy) },
        };
        Spot { q, site, da, db, face: 0, uv: q }
    }
}

impl Chart for Graph {
    fn bounds(&self) -> (Vec2, Vec2) {
        (-self.half, self.half)
    }
    fn covers(&self, q: Vec2) -> bool {
        q.abs().cmple(self.half).all()
    }
    fn at(&self, q: Vec2) -> Option<Spot> {
        self.covers(q).then(|| self.spot(q))
    }
    fn corners(&self) -> Vec<Vec2> {
        const N: usize = 40;
        let f = |k: usize| 2.0 * k as f64 / N as f64 - 1.0;
        (0..=N)
            .flat_map(|i| (0..=N).map(move |j| Vec2::new(f(i), f(j))))
            .map(|f| f * self.half)
            .collect()
    }
    fn area_mm2(&self) -> f64 {
        const N: usize = 400;
        let f = |k: usize| (2.0 * (k as f64 + 0.5) / N as f64 - 1.0) * self.half;
        let cell = 4.0 * self.half.x * self.half.y / (N * N) as f64;
        (0..N * N).map(|k| self.spot(Vec2::new(f(k % N).x, f(k / N).y)).area_factor() * cell).sum()
    }
    fn beyond(&self, _: &Spot, q: Vec2) -> Option<Spot> {
        Some(self.spot(q))
    }
}

fn quadric(q: Vec2, a: f64, b: f64) -> (f64, Vec2, Sym2) {
    let z = 0.5 * (q.x * q.x * a + q.y * q.y * b);
    (z, Vec2::new(q.x * a, q.y * b), Sym2::diagonal(a, b))
}

pub fn crown(half: Vec2) -> Graph {
    Graph { half, jet: |q| quadric(q, -1.0 / 420.0, -1.0 / 900.0) }
}

pub fn crown_turned(half: Vec2) -> Graph {
    Graph { half, jet: |q| quadric(q, -1.0 / 900.0, -1.0 / 420.0) }
}

pub fn saddle(half: Vec2) -> Graph {
    Graph { half, jet: |q| quadric(q, -1.0 / 400.0, 1.0 / 900.0) }
}

pub fn bowl(half: Vec2) -> Graph {
    Graph { half, jet: |q| quadric(q, 1.0 / 700.0, 1.0 / 1100.0) }
}

pub fn tight_bowl(half: Vec2) -> Graph {
    Graph { half, jet: |q| quadric(q, 1.0 / 100.0, 1.0 / 100.0) }
}

/// A plane that rises along y at 55°.
pub fn slope(half: Vec2) -> Graph {
    Graph {
        half,
        jet: |q| {
            let t = 55_f64.to_radians().tan();
            (t * q.y, Vec2::new(0.0, t), Sym2::default())
        },
    }
}

/// A sphere of radius 500 with its top at z = 0.
pub fn sphere(half: Vec2) -> Graph {
    Graph {
        half,
        jet: |q| {
            let r = 500.0_f64;
            let w = (r * r - q.length_squared()).sqrt();
            let s = |x: f64, y: f64, same: f64| -(same / w + x * y / (w * w * w));
            (w - r, -q / w, Sym2::new(s(q.x, q.x, 1.0), s(q.x, q.y, 0.0), s(q.y, q.y, 1.0)))
        },
    }
}

/// A sphere of radius 20 with its top at z = 0.
pub fn dome(half: Vec2) -> Graph {
    Graph {
        half,
        jet: |q| {
            let r = 20.0_f64;
            let w = (r * r - q.length_squared()).sqrt();
            let s = |x: f64, y: f64, same: f64| -(same / w + x * y / (w * w * w));
            (w - r, -q / w, Sym2::new(s(q.x, q.x, 1.0), s(q.x, q.y, 0.0), s(q.y, q.y, 1.0)))
        },
    }
}

/// A part that lies far below whatever is cut.
pub fn far_below() -> Part {
    let facet = |p: [[f64; 3]; 3]| {
        let v = |p: [f64; 3]| format!("vertex {} {} {}\n", p[0], p[1], p[2]);
        format!(
            "facet normal 0 0 0\nouter loop\n{}{}{}endloop\nendfacet\n",
            v(p[0]),
            v(p[1]),
            v(p[2])
        )
    };
    let [o, x, y, z] =
        [[0.0, 0.0, -900.0], [9.0, 0.0, -900.0], [0.0, 9.0, -900.0], [0.0, 0.0, -891.0]];
    let body: String = [[o, y, x], [o, x, z], [o, z, y], [x, y, z]].map(facet).concat();
    let text = format!("solid block\n{body}endsolid block\n");
    part::read(text.as_bytes(), "block.stl", &part::ReadOptions::default()).expect("a tetrahedron")
}

pub fn ball(diameter_mm: f64) -> Assembly {
    Assembly::new(&CutterSpec {
        flute_length_mm: Some(20.0),
        ..CutterSpec::new(Form::Ball, diameter_mm)
    })
    .expect("a ball")
}

pub fn barrel(arc_radius_mm: f64) -> Assembly {
    Assembly::new(&CutterSpec {
        arc_radius_mm: Some(arc_radius_mm),
        corner_radius_mm: Some(2.0),
        corner_offset_mm: Some(0.5),
        taper_rad: Some(20_f64.to_radians()),
        ..CutterSpec::new(Form::TaperBarrel, 12.0)
    })
    .expect("a taper barrel")
}

pub fn job<'a>(part: &'a Part, assembly: &'a Assembly, pattern: Pattern) -> FaceJob<'a> {
    FaceJob {
        part,
        faces: &[],
        frame: Frame::default(),
        assembly,
        pattern,
        direction_rad: None,
        axis: AxisRule::Tilted { kappa_rad: None, lead_rad: 0.0, lean: LeanSide::Left },
        stepover_mm: None,
        cusp_mm: None,
        chord_mm: None,
        stock_left_mm: 0.0,
        traverse: Traverse::BothWays,
        cut: CutSide::Down,
        lead_radius_mm: 2.0,
        clearance_mm: 2.0,
        feed: Feed::AtContact(50.0),
        fixtures: &[],
    }
}

/// A hollow of the same curvature both ways in its middle.
pub fn bowl_of(q: Vec2, per_mm: f64) -> (f64, Vec2, Sym2) {
    quadric(q, per_mm, per_mm)
}

/// A box between two corners, its faces outwards.
pub fn block(lo: Vec3, hi: Vec3) -> TriMesh {
    let (a, b) = (lo.min(hi), lo.max(hi));
    let pick = |k: u32, bit: u32, x: f64, y: f64| if k >> bit & 1 == 1 { y } else { x };
    let vertices = (0..8)
        .map(|k| Vec3::new(pick(k, 0, a.x, b.x), pick(k, 1, a.y, b.y), pick(k, 2, a.z, b.z)))
        .collect();
    let quads =
        [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles: Vec<[u32; 3]> =
        quads.iter().flat_map(|[a, b, c, d]| [[*a, *b, *c], [*a, *c, *d]]).collect();
    let face_of = (0..12).map(|t| t / 2).collect();
    TriMesh { vertices, triangles, face_of }
}

/// Points all over a mesh, about `step` apart.
pub fn dense(mesh: &TriMesh, step: f64) -> Vec<Vec3> {
    let mut out = Vec::new();
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t);
        let n = ((b - a).length().max((c - a).length()) / step).ceil() as usize;
        for i in 0..=n {
            for j in 0..=n - i {
                let (s, t) = (i as f64 / n as f64, j as f64 / n as f64);
                out.push(a + (b - a) * s + (c - a) * t);
            }
        }
    }
    out
}
