//! Properties that hold for every cutter.

use cutter::{Cutter, CutterSpec, Form, Relative, tip_at};
use geom::{Site, Sym2, TangentTensor, Vec3};
use proptest::prelude::*;
use std::f64::consts::PI;

fn cutters() -> impl Strategy<Value = Cutter> {
    (0..8_usize, 4.0..20.0_f64, 30.0..1000.0_f64, 0.05..0.45_f64, 0.0..0.3_f64, 2.0..30.0_f64)
        .prop_filter_map("possible", |(form, d, arc, corner, offset, taper)| {
            let form = Form::ALL[form];
            let mut s = CutterSpec::new(form, d);
            if form.has_large_arc() {
                s.arc_radius_mm = Some(arc);
            }
            if form != Form::Flat && form != Form::Ball {
                s.corner_radius_mm = Some(corner * d);
            }
            if form.has_large_arc() && form != Form::Lens {
                s.corner_offset_mm = Some(offset * (0.5 - corner) * d);
            }
            if matches!(form, Form::TaperedBall | Form::TaperBarrel) {
                s.taper_rad = Some(taper.to_radians());
            }
            Cutter::new(&s).ok()
        })
}

/// Least distance from a point to the profile by dense sampling of its elements.
fn sampled_distance(c: &Cutter, r: f64, z: f64) -> f64 {
    let mut best = f64::INFINITY;
    for e in c.profile().closed() {
        let (lo, hi) = e.kappa_range();
        for i in 0..=4000 {
            let t = f64::from(i) / 4000.0;
            let p = match e {
                cutter::Element::Arc(a) => a.point(lo + t * (hi - lo)),
                cutter::Element::Line(l) => (
                    l.from_mm.0 + t * (l.to_mm.0 - l.from_mm.0),
                    l.from_mm.1 + t * (l.to_mm.1 - l.from_mm.1),
                ),
            };
            best = best.min((p.0 - r).hypot(p.1 - z));
        }
    }
    best
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn the_chain_is_closed_and_convex(c in cutters()) {
        let chain = c.profile().closed();
        let start = chain[0].start();
        prop_assert!(start.0.abs() < 1e-12 && start.1.abs() < 1e-12);
        for w in chain.windows(2) {
            let (a, b) = (w[0].end(), w[1].start());
            prop_assert!((a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9, "{:?}", w);
            prop_assert!(w[1].kappa_range().0 >= w[0].kappa_range().1 - 1e-9);
        }
        prop_assert!((chain[chain.len() - 1].kappa_range().1 - PI).abs() < 1e-12);
        prop_assert!(c.profile().largest_radius_mm() <= 0.5 * c.spec().diameter_mm + 1e-9);
    }

    #[test]
    fn the_distance_is_that_of_the_nearest_sample(c in cutters(), x in 0.0..2.0_f64, y in -0.5..1.5_f64) {
        let p = c.profile();
        let (r, z) = (x * p.largest_radius_mm(), y * p.top_mm());
        let d = p.signed_distance(r, z);
        let sampled = sampled_distance(&c, r, z);
        // the samples lie at most a few hundredths apart
        prop_assert!(d.value_mm.abs() <= sampled + 1e-9, "{} {}", d.value_mm, sampled);
        prop_assert!(sampled <= d.value_mm.abs() + 0.02 * p.top_mm().max(1.0) , "{} {}", d.value_mm, sampled);
        prop_assert!((p.kernel().value(r, z) - d.value_mm).abs() < 1e-12);
        let foot = p.signed_distance(d.foot_mm.0, d.foot_mm.1);
        prop_assert!(foot.value_mm.abs() < 1e-8, "foot {} off", foot.value_mm);
    }

    #[test]
    fn distances_are_one_lipschitz_and_grow_with_the_allowance(
        c in cutters(),
        a in (0.0..15.0_f64, -5.0..60.0_f64),
        b in (0.0..15.0_f64, -5.0..60.0_f64),
        by in 0.0..2.0_f64,
    ) {
        let p = c.profile();
        let (da, db) = (p.kernel().value(a.0, a.1), p.kernel().value(b.0, b.1));
        prop_assert!((da - db).abs() <= (a.0 - b.0).hypot(a.1 - b.1) + 1e-9);
        if da > 0.0 {
            let grown = p.grown(by).kernel().value(a.0, a.1);
            prop_assert!((grown - (da - by)).abs() < 1e-9 || da < by);
        }
    }

    #[test]
    fn the_support_bounds_the_body(c in cutters(), k in 0.0..PI) {
        let p = c.profile();
        let h = p.support(k);
        let (s, co) = k.sin_cos();
        let mut reached = f64::NEG_INFINITY;
        for e in p.closed() {
            let (lo, hi) = e.kappa_range();
            for i in 0..=200 {
                let t = f64::from(i) / 200.0;
                let q = match e {
                    cutter::Element::Arc(a) => a.point(lo + t * (hi - lo)),
                    cutter::Element::Line(l) => if i == 0 { l.from_mm } else { l.to_mm },
                };
                reached = reached.max(q.0 * s - q.1 * co);
            }
        }
        prop_assert!(reached <= h + 1e-9 && reached >= h - 0.02 * p.top_mm().max(1.0));
    }

    #[test]
    fn a_placed_cutter_touches_its_site(c in cutters(), share in 0.02..0.98_f64, turn in 0.0..6.0_f64) {
        let (lo, hi) = match c.usable_kappa_rad() {
            Some((lo, hi)) => (lo, hi.min(1.7)),
            None => (0.1, 1.4),
        };
        let kappa = lo + share * (hi - lo);
        let normal = Vec3::new(0.3, -0.5, 0.8).normalize();
        let e1 = normal.any_orthonormal_vector();
        let e2 = normal.cross(e1);
        let curvature = TangentTensor { e1, e2, entries: Sym2::default() };
        let site = Site { point: Vec3::new(40.0, -3.0, 17.0), normal, curvature };
        let axis = normal * kappa.cos() + (e1 * turn.cos() + e2 * turn.sin()) * kappa.sin();
        let at = c.profile().contact(kappa).expect("reached");
        let tip = tip_at(&site, axis, &at);
        // on the profile, with the tool's normal against the surface's
        prop_assert!(c.profile().distance_at(tip, axis, site.point).abs() < 1e-9);
        let above = c.profile().distance_at(tip, axis, site.point - normal * 0.01);
        prop_assert!((above - 0.01).abs() < 1e-9, "{above}");
        let beside = c.profile().distance_at(tip, axis, site.point + e1 * 0.01);
        prop_assert!(beside >= -1e-9);
    }

    /// What a pass leaves, from the tensors, is what a sweep of the exact body leaves.
    #[test]
    fn the_residual_is_that_of_a_brute_force_sweep(
        form in 0..4_usize, arc in 60.0..400.0_f64, share in 0.2..0.8_f64,
        s1 in -0.004..0.002_f64, s2 in -0.004..0.002_f64, sxy in -0.001..0.001_f64, angle in -1.0..1.0_f64,
    ) {
        let mut spec = CutterSpec::new([Form::Ball, Form::TangentBarrel, Form::Lens, Form::CornerRadius][form], 12.0);
        if matches!(spec.form, Form::TangentBarrel | Form::Lens) { spec.arc_radius_mm = Some(arc); }
        if spec.form != Form::Ball { spec.corner_radius_mm = Some(2.0); }
        let c = Cutter::new(&spec).expect("possible");
        let (lo, hi) = c.usable_kappa_rad().expect("an arc");
        let kappa = lo + share * (hi - lo);
        let at = c.profile().arc_contact(kappa).expect("on the arc");
        let curvature = TangentTensor { e1: Vec3::X, e2: Vec3::Y, entries: Sym2::new(s1, sxy, s2) };
        let site = Site { point: Vec3::ZERO, normal: Vec3::Z, curvature };
        let axis = Vec3::new(kappa.sin(), 0.0, kappa.cos());
        let tip = tip_at(&site, axis, &at);
        let r = Relative::at(&site, axis, &at).expect("regular");
        prop_assume!(r.m.eigen().small > 1e-3);
        let feed = Vec3::new(angle.sin(), angle.cos(), 0.0);
        let across = Vec3::Z.cross(feed);
        // gap along the normal at a tangent offset, from the exact body's signed distance
        let gap = |u: Vec3| {
            let floor = 0.5 * curvature.entries.form(u.x, u.y);
            let mut z = floor;
            for _ in 0..60 {
                z += c.profile().distance_at(tip, axis, Vec3::new(u.x, u.y, z)).max(-1.0);
            }
            z - floor
        };
        let w = (0.3 * at.shorter_side_mm()).min(0.05);
        // least gap over all shifts along the feed, by golden section on both sides at once
        let least = |w: f64| {
            let (mut a, mut b) = (-30.0 * w.abs(), 30.0 * w.abs());
            for _ in 0..80 {
                let (m1, m2) = (a + 0.382 * (b - a), a + 0.618 * (b - a));
                if gap(across * w + feed * m1) < gap(across * w + feed * m2) { b = m2 } else { a = m1 }
            }
            gap(across * w + feed * (0.5 * (a + b)))
        };
        let k = r.residual(feed).expect("free");
        prop_assume!(k * w * w > 1e-7);
        let measured = (least(w) + least(-w)) / (w * w);
        prop_assert!((measured / k - 1.0).abs() < 0.02, "{} against {}", measured, k);
    }

    /// Leading order and exact circle geometry agree for small steps.
    #[test]
    fn exact_and_leading_order_agree(arc in 3.0..1000.0_f64, sx in -0.01..0.0005_f64, sy in -0.01..0.0005_f64, h in 1e-5..2e-4_f64) {
        let curvature = TangentTensor { e1: Vec3::X, e2: Vec3::Y, entries: Sym2::diagonal(sx, sy) };
        let site = Site { point: Vec3::ZERO, normal: Vec3::Z, curvature };
        let mut spec = CutterSpec::new(Form::Lens, 5.0);
        spec.arc_radius_mm = Some(arc);
        let c = Cutter::new(&spec).expect("possible");
        let kappa = 0.02_f64.min(0.4 * c.usable_kappa_rad().expect("an arc").1);
        let axis = Vec3::new(kappa.sin(), 0.0, kappa.cos());
        let at = c.profile().arc_contact(kappa).expect("on the arc");
        let r = Relative::at(&site, axis, &at).expect("regular");
        prop_assume!(r.is_free());
        let s = r.stepover_for_cusp(Vec3::Y, h).expect("meets");
        let leading = (8.0 * h / r.residual(Vec3::Y).expect("free")).sqrt();
        prop_assert!((s / leading - 1.0).abs() < 1e-3);
        prop_assert!((r.cusp_for_stepover(Vec3::Y, s).expect("meets") / h - 1.0).abs() < 1e-10);
    }
}
