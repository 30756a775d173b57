//! Parts with exact faces, put together from patches of elementary surfaces.

use std::f64::consts::{FRAC_PI_2, TAU};

use geom::surface::{Frame, Surface};
use geom::{Bvh, TriMesh, Vec2, Vec3};
use part::{Face, FaceKind, LengthUnit, Part};

/// Patches whose vertices are welded.
#[derive(Default)]
pub struct Solid {
    faces: Vec<Face>,
    mesh: TriMesh,
    corner_uv: Vec<[Vec2; 3]>,
    known: std::collections::BTreeMap<[i64; 3], u32>,
}

impl Solid {
    /// A face over a grid of surface parameters, `size` cells each way; its number.
    pub fn patch(
        &mut self,
        surface: Surface,
        flip: bool,
        size: [usize; 2],
        uv: impl Fn(usize, usize) -> Vec2,
    ) -> usize {
        let index = self.faces.len();
        for j in 0..size[1] {
            for i in 0..size[0] {
                let [a, b, c, d] = [uv(i, j), uv(i + 1, j), uv(i + 1, j + 1), uv(i, j + 1)];
                for t in [[a, b, c], [a, c, d]] {
                    self.triangle(&surface, flip, index, t);
                }
            }
        }
        self.faces.push(Face {
            index,
            step_id: None,
            name: String::new(),
            solid: 0,
            kind: FaceKind::Freeform,
            surface: Some(surface),
            trim: None,
            fit_residual_mm: None,
            flip,
            area_mm2: 0.0,
        });
        index
    }

    fn triangle(&mut self, surface: &Surface, flip: bool, face: usize, mut uv: [Vec2; 3]) {
        let corner = |q: &Vec2| surface.point(q.x, q.y);
        let [a, b, c] = [corner(&uv[0]), corner(&uv[1]), corner(&uv[2])];
        let cross = (b - a).cross(c - a);
        if cross.length() < 1e-12 {
            return;
        }
        let middle = (uv[0] + uv[1] + uv[2]) / 3.0;
        let site = surface.site(middle, flip).expect("a normal");
        if cross.dot(site.normal) < 0.0 {
            uv.swap(1, 2);
        }
        let ids = [0, 1, 2].map(|k| self.vertex(corner(&uv[k])));
        self.mesh.triangles.push(ids);
        self.mesh.face_of.push(face as u32);
        self.corner_uv.push(uv);
    }

    fn vertex(&mut self, p: Vec3) -> u32 {
        let key = (p * 1e6).round().to_array().map(|x| x as i64);
        let next = self.mesh.vertices.len() as u32;
        let id = *self.known.entry(key).or_insert(next);
        if id == next {
            self.mesh.vertices.push(p);
        }
        id
    }

    /// The part.
    pub fn part(self) -> Part {
        let bvh = Bvh::new(&self.mesh);
        Part {
            name: "solid".to_owned(),
            unit: LengthUnit::Mm,
            solids: Vec::new(),
            faces: self.faces,
            mesh: self.mesh,
            corner_uv: self.corner_uv,
            estimates: None,
            bvh,
            deviation_mm: 0.015,
            defects: Vec::new(),
            notes: Vec::new(),
        }
    }
}

fn at(z: f64) -> Frame {
    Frame { origin: Vec3::Z * z, ..Frame::WORLD }
}

fn share(k: usize, n: usize) -> f64 {
    k as f64 / n as f64
}

const ROUND: usize = 96;
const FILLET: usize = 12;

/// A round boss on a plate: radius 10, wall from 3 to 12, fillet 3 at its foot, round of 2 at its
/// top, which is flat at 14. The faces of foot, wall, round and top.
pub fn boss() -> (Part, Vec<usize>) {
    let mut s = Solid::default();
    let turn = |i: usize| TAU * share(i % ROUND, ROUND) + if i == ROUND { TAU } else { 0.0 };
    let disc = |r0: f64, r1: f64| {
        move |i: usize, j: usize| Vec2::from_angle(turn(i)) * (r0 + (r1 - r0) * share(j, 1))
    };
    let foot = s.patch(Surface::torus(at(3.0), 13.0, 3.0), true, [ROUND, FILLET], |i, j| {
        Vec2::new(turn(i), std::f64::consts::PI + FRAC_PI_2 * share(j, FILLET))
    });
    let wall = s.patch(Surface::cylinder(at(0.0), 10.0), false, [ROUND, 1], |i, j| {
        Vec2::new(turn(i), [3.0, 12.0][j])
    });
    let round = s.patch(Surface::torus(at(12.0), 8.0, 2.0), false, [ROUND, FILLET], |i, j| {
        Vec2::new(turn(i), FRAC_PI_2 * share(j, FILLET))
    });
    let top = s.patch(Surface::Plane(at(14.0)), false, [ROUND, 1], disc(8.0, 0.0));
    s.patch(Surface::Plane(at(0.0)), false, [ROUND, 1], disc(30.0, 13.0));
    s.patch(Surface::cylinder(at(0.0), 30.0), false, [ROUND, 1], |i, j| {
        Vec2::new(turn(i), [-10.0, 0.0][j])
    });
    s.patch(Surface::Plane(at(-10.0)), true, [ROUND, 1], disc(30.0, 0.0));
    (s.part(), vec![foot, wall, round, top])
}

/// A pocket of 40 by 30 with corners of `corner` at its floor, 12 deep, its walls leaning back by
/// `draft_rad`; the faces of its wall.
pub fn pocket(corner: f64, draft_rad: f64) -> (Part, Vec<usize>) {
    const DEEP: f64 = 12.0;
    let mut s = Solid::default();
    let tan = draft_rad.tan();
    let half = Vec2::new(20.0, 15.0);
    let centre = half - Vec2::splat(corner);
    let mut wall = Vec::new();
    // outlines at the floor and at the top, part by part, counter-clockwise
    let mut rims: Vec<[Vec2; 2]> = Vec::new();
    for k in 0..4 {
        let (sx, sy) = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)][k];
        let c = centre * Vec2::new(sx, sy);
        let from = FRAC_PI_2 * k as f64;
        let frame = Frame { origin: c.extend(-DEEP), ..Frame::WORLD };
        let surface = if draft_rad == 0.0 {
            Surface::cylinder(frame, corner)
        } else {
            Surface::cone(frame, corner, draft_rad)
        };
        let slant = DEEP / draft_rad.cos();
        wall.push(s.patch(surface, true, [FILLET, 1], |i, j| {
            Vec2::new(from + FRAC_PI_2 * share(i, FILLET), slant * share(j, 1))
        }));
        for i in 0..=FILLET {
            let way = Vec2::from_angle(from + FRAC_PI_2 * share(i, FILLET));
            rims.push([c + way * corner, c + way * (corner + DEEP * tan)]);
        }
    }
    let n = rims.len();
    for k in 0..4 {
        let (a, b) = (rims[(k + 1) * (FILLET + 1) - 1], rims[(k + 1) * (FILLET + 1) % n]);
        let along = (b[0] - a[0]).normalize();
        let out = -along.perp();
        let x = along.extend(0.0);
        let y = (out * draft_rad.sin()).extend(draft_rad.cos());
        let frame = Frame { origin: a[0].extend(-DEEP), x, y, z: x.cross(y) };
        let (length, slant) = (a[0].distance(b[0]), DEEP / draft_rad.cos());
        let inwards = x.cross(y).truncate().dot(out) < 0.0;
        wall.push(s.patch(Surface::Plane(frame), !inwards, [1, 1], |i, j| {
            Vec2::new(length * share(i, 1), slant * share(j, 1))
        }));
    }
    let place = |i: usize| i % n;
    s.patch(Surface::Plane(at(-DEEP)), false, [n, 1], |i, j| rims[place(i)][0] * share(1 - j, 1));
    s.patch(Surface::Plane(at(0.0)), false, [n, 1], |i, j| {
        rims[place(i)][1] * if j == 0 { 1.0 } else { 2.0 }
    });
    (s.part(), wall)
}
