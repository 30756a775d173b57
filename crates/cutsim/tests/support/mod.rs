//! Cutters and raster passes on analytic surfaces, made without any of the code under test.

#![allow(unreachable_pub, dead_code, missing_docs, reason = "shared by tests and benches")]

use cutsim::{Body, Piece, Ray};
use geom::{Site, Sym2, Vec3};
use std::f64::consts::FRAC_PI_2;
use toolpath::{Contact, Pose, Run, RunKind, Toolpath};

/// The graph z = ½ (kx x² + ky y²): positive curvature rises towards the tool (concave).
#[derive(Debug, Clone, Copy)]
pub struct Quadric {
    pub kx: f64,
    pub ky: f64,
}

impl Quadric {
    pub fn point(&self, x: f64, y: f64) -> Vec3 {
        Vec3::new(x, y, 0.5 * (self.kx * x * x + self.ky * y * y))
    }

    pub fn normal(&self, x: f64, y: f64) -> Vec3 {
        Vec3::new(-self.kx * x, -self.ky * y, 1.0).normalize()
    }

    pub fn ray(&self, x: f64, y: f64) -> Ray {
        Ray { point: self.point(x, y), normal: self.normal(x, y) }
    }

    pub fn site(&self, x: f64, y: f64) -> Site {
        let jet = geom::Jet {
            p: self.point(x, y),
            du: Vec3::new(1.0, 0.0, self.kx * x),
            dv: Vec3::new(0.0, 1.0, self.ky * y),
            duu: Vec3::Z * self.kx,
            duv: Vec3::ZERO,
            dvv: Vec3::Z * self.ky,
        };
        jet.site(false).expect("a graph is regular")
    }
}

/// A cutter with the contact that the tests use.
#[derive(Debug, Clone)]
pub struct Tool {
    pub body: Body,
    pub arc_r0: f64,
    pub arc_z0: f64,
    pub radius: f64,
    pub kappa: f64,
}

impl Tool {
    pub fn ball(r: f64, kappa: f64) -> Self {
        let pieces = [
            Piece::Arc {
                r0_mm: 0.0,
                z0_mm: r,
                radius_mm: r,
                kappa_lo_rad: 0.0,
                kappa_hi_rad: FRAC_PI_2,
            },
            Piece::Line { kappa_rad: FRAC_PI_2, support_mm: r },
        ];
        let body = Body::new(&pieces, 4.0 * r, r).expect("a ball");
        Self { body, arc_r0: 0.0, arc_z0: r, radius: r, kappa }
    }

    /// Tangent-barrel with a ball tip.
    pub fn barrel(d: f64, rho: f64, rc: f64, kappa: f64) -> Self {
        let r0 = d / 2.0 - rho;
        let kj = (-r0 / (rho - rc)).asin();
        let z0 = rc + (rho - rc) * kj.cos();
        let pieces = [
            Piece::Arc {
                r0_mm: 0.0,
                z0_mm: rc,
                radius_mm: rc,
                kappa_lo_rad: 0.0,
                kappa_hi_rad: kj,
            },
            Piece::Arc {
                r0_mm: r0,
                z0_mm: z0,
                radius_mm: rho,
                kappa_lo_rad: kj,
                kappa_hi_rad: FRAC_PI_2,
            },
            Piece::Line { kappa_rad: FRAC_PI_2, support_mm: d / 2.0 },
        ];
        let body = Body::new(&pieces, z0 + 5.0, d / 2.0).expect("a barrel");
        Self { body, arc_r0: r0, arc_z0: z0, radius: rho, kappa }
    }

    pub fn contact_rz(&self) -> (f64, f64) {
        let (s, c) = self.kappa.sin_cos();
        (self.arc_r0 + self.radius * s, self.arc_z0 - self.radius * c)
    }

    /// Tool curvature tensor: along the profile and around.
    pub fn curvature(&self) -> Sym2 {
        Sym2::diagonal(1.0 / self.radius, self.kappa.sin() / self.contact_rz().0)
    }

    /// Pose that touches `p` with normal `n`, leaning towards `lean` (tangent, unit).
    pub fn pose(&self, p: Vec3, n: Vec3, lean: Vec3) -> Pose {
        let (r, z) = self.contact_rz();
        let axis = n * self.kappa.cos() + lean * self.kappa.sin();
        let e = (axis * self.kappa.cos() - n) / self.kappa.sin();
        Pose { tip: p - e * r - axis * z, axis }
    }
}

/// Raster on a square of half width `half`: passes at `angle` to x, `step` apart in plan.
#[derive(Debug, Clone, Copy)]
pub struct Raster {
    pub half: f64,
    pub angle: f64,
    pub step: f64,
    pub chord_length: f64,
    /// Lean direction from the feed's left, rad: 0 leans across, π/2 along the feed.
    pub lean: f64,
}

impl Raster {
    pub fn path(&self, surface: Quadric, tool: &Tool) -> Toolpath {
        let along = Vec3::new(self.angle.cos(), self.angle.sin(), 0.0);
        let across = Vec3::new(-along.y, along.x, 0.0);
        let n = (self.half / self.step).floor() as i64;
        let m = (2.0 * self.half / self.chord_length).ceil() as i64;
        let runs = (-n..=n).map(|i| {
            let way = if i % 2 == 0 { 1.0 } else { -1.0 };
            let mut run = Run {
                kind: RunKind::Cut,
                pass: (i + n) as usize,
                poses: vec![],
                contacts: vec![],
                tip_feed_mm_s: vec![50.0; m as usize],
            };
            for j in 0..=m {
                let u = way * self.half * (2.0 * j as f64 / m as f64 - 1.0);
                let q = across * (i as f64 * self.step) + along * u;
                let (p, normal) = (surface.point(q.x, q.y), surface.normal(q.x, q.y));
                // one lean for all passes: across stays the same side in space
                let c = (across - normal * normal.dot(across)).normalize();
                let f = c.cross(normal);
                let lean = c * self.lean.cos() + f * self.lean.sin();
                run.poses.push(tool.pose(p, normal, lean));
                run.contacts.push(Contact { point: p, normal });
            }
            run
        });
        Toolpath { runs: runs.collect() }
    }
}
