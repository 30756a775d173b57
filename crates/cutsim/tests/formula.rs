//! The cusp of the formula against the surface that the swept cutter leaves.

mod support;

use cutsim::{Ray, Reach, Swept, Which, sweep};
use geom::Vec3;
use geom::circle::Section;
use support::{Quadric, Raster, Tool};

const REACH: Reach = Reach { lo_mm: -1.0, hi_mm: 1.0 };

/// Convex, concave, saddle both ways, flat; curvature radii from 300 mm up.
const SURFACES: [Quadric; 5] = [
    Quadric { kx: 0.0, ky: 0.0 },
    Quadric { kx: -1.0 / 400.0, ky: -1.0 / 300.0 },
    Quadric { kx: 1.0 / 1500.0, ky: 1.0 / 1400.0 },
    Quadric { kx: -1.0 / 400.0, ky: 1.0 / 1600.0 },
    Quadric { kx: 1.0 / 1600.0, ky: -1.0 / 400.0 },
];

/// Height of the crossing of two passes' profiles, by bisection on the difference, µm.
fn ridge_um(swept: &Swept, surface: Quadric, from: Vec3, to: Vec3, passes: [Vec<u32>; 2]) -> f64 {
    let ray = |f: f64| {
        let q = from.lerp(to, f);
        surface.ray(q.x, q.y)
    };
    let by = |r: Ray, some: &[u32]| {
        swept.cut_by(r, REACH, some.iter().copied()).expect("cut").deviation_mm
    };
    let (mut lo, mut hi) = (0.0, 1.0);
    for _ in 0..40 {
        let middle = 0.5 * (lo + hi);
        let r = ray(middle);
        if by(r, &passes[0]) < by(r, &passes[1]) { lo = middle } else { hi = middle }
    }
    let top = ray(0.5 * (lo + hi));
    let alone = by(top, &passes[0]);
    let all = swept.cut(top, REACH).expect("cut").deviation_mm;
    assert!((all - alone).abs() < 1e-8, "a third pass cuts the ridge: {all} {alone}");
    all * 1e3
}

/// Formula and cut for one cutter at `off` from its best direction, µm.
fn both(tool: &Tool, surface: Quadric, angle: f64, off: f64, target_um: f64) -> (f64, f64) {
    let site = surface.site(0.0, 0.0);
    let feed = Vec3::new(angle.cos(), angle.sin(), 0.0);
    let across = Vec3::new(-feed.y, feed.x, 0.0);
    // the lean, and with it the profile, is turned from across by `off`
    let lean = across * off.cos() + across.cross(Vec3::Z) * off.sin();
    let around = Vec3::Z.cross(lean);
    let m = tool.curvature() - site.curvature.in_basis(lean, around);
    assert!(m.det() > 0.0 && m.trace() > 0.0);
    let k = m.det() / m.form(feed.dot(lean), feed.dot(around));
    let section = Section::from_curvatures(k, site.curvature.along(across)).expect("a section");
    let step = section.stepover_mm(target_um * 1e-3).expect("a step");
    let half = 3.0 * step + 2.0;
    let raster = Raster { half, angle, step, chord_length: 0.05, lean: off };
    let path = raster.path(surface, tool);
    let swept = Swept::new(tool.body.clone(), sweep::moves(&path, Which::AtFeed));
    let middle = path.runs.len() / 2;
    let of = |run: usize| {
        let near = |m: &cutsim::Move| m.run as usize == run;
        (0..swept.moves().len() as u32).filter(|i| near(&swept.moves()[*i as usize])).collect()
    };
    let cut = ridge_um(&swept, surface, Vec3::ZERO, across * step, [of(middle), of(middle + 1)]);
    // the contacts are `step` apart in plan; along the surface by its slope
    let slope = site.curvature.along(across) * step;
    let arc = step * (1.0 + slope * slope / 6.0);
    (section.cusp_mm(arc).expect("a cusp") * 1e3, cut)
}

fn check(tool: &Tool, off: f64, target_um: f64) {
    for (i, surface) in SURFACES.iter().enumerate() {
        let (formula, cut) = both(tool, *surface, 0.4, off, target_um);
        let allowed = (0.01 * cut).max(0.05);
        assert!(
            (formula - cut).abs() <= allowed,
            "surface {i}, R {}, off {off}: formula {formula}, cut {cut} µm",
            tool.radius
        );
    }
}

#[test]
fn balls_of_radius_3_to_8() {
    for r in [3.0, 5.0, 8.0] {
        check(&Tool::ball(r, 15f64.to_radians()), 0.0, 4.0);
    }
}

#[test]
fn barrels_of_radius_60_to_1000_across_the_feed() {
    for rho in [60.0, 250.0, 1000.0] {
        check(&Tool::barrel(10.0, rho, 1.5, contact_kappa(rho)), 0.0, 4.0);
    }
}

#[test]
fn barrels_up_to_60_degrees_off_their_best_direction() {
    for rho in [60.0, 250.0, 1000.0] {
        for off in [20f64, 40.0, 60.0] {
            check(&Tool::barrel(10.0, rho, 1.5, contact_kappa(rho)), off.to_radians(), 4.0);
        }
    }
}

/// The middle of the arc between the tip ball and the cylinder.
fn contact_kappa(rho: f64) -> f64 {
    let kj = ((rho - 5.0) / (rho - 1.5)).asin();
    0.5 * (kj + std::f64::consts::FRAC_PI_2)
}
