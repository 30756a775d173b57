//! Derivatives against differences, offsets against closed forms, closest points.

use super::*;

fn tilted() -> Frame {
    let x = Vec3::new(2.0, 1.0, -0.5).normalize();
    let y = x.cross(Vec3::new(0.3, -0.2, 1.0)).normalize();
    Frame { origin: Vec3::new(3.0, -7.0, 11.0), x, y, z: x.cross(y) }
}

/// A wavy bicubic of 7 × 6 poles, its weights uneven where `rational`.
fn wavy(rational: bool) -> Surface {
    let uniform = |n: usize| {
        let inner = (1..n - 3).map(|i| i as f64 * 1.3);
        let end = (n - 3) as f64 * 1.3;
        [0.0; 4].into_iter().chain(inner).chain([end; 4]).collect::<Vec<_>>()
    };
    let mut poles = Vec::new();
    let mut weights = Vec::new();
    for i in 0..7 {
        for j in 0..6 {
            let (x, y) = (i as f64 * 9.0, j as f64 * 8.0);
            poles.push(Vec3::new(x, y, 3.0 * (x / 11.0).sin() * (y / 13.0).cos()));
            weights.push(1.0 + 0.3 * ((i * 5 + j * 3) % 4) as f64);
        }
    }
    let direction = |n: usize| Knots { degree: 3, knots: uniform(n), period: None };
    let weights = rational.then_some(weights.as_slice());
    Surface::Nurbs(Box::new(
        NurbsSurface::new(direction(7), direction(6), &poles, weights).expect("a valid surface"),
    ))
}

/// A full circle of radius `r` as a rational quadratic, closed with period 4.
fn nurbs_circle(frame: Frame, r: f64) -> Curve {
    let corner = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)];
    let poles: Vec<_> = corner
        .iter()
        .map(|(x, y)| frame.origin + frame.x * (r * f64::from(*x)) + frame.y * (r * f64::from(*y)))
        .collect();
    let half = std::f64::consts::FRAC_1_SQRT_2;
    let weights = [1.0, half, 1.0, half, 1.0, half, 1.0, half, 1.0];
    let knots = vec![0.0, 0.0, 0.0, 1.0, 1.0, 2.0, 2.0, 3.0, 3.0, 4.0, 4.0, 4.0];
    Curve::Nurbs(NurbsCurve::new(2, knots, &poles, Some(&weights), Some(4.0)).expect("a circle"))
}

/// One surface of every kind, with a point inside its range.
fn one_of_each() -> Vec<(&'static str, Surface, Vec2)> {
    let f = tilted();
    let ellipse = Curve::Ellipse { frame: f, a_mm: 12.0, b_mm: 7.0 };
    let meridian = Curve::Parabola {
        frame: Frame { origin: f.origin + f.x * 20.0, x: f.x, y: f.z, z: -f.y },
        focal_mm: 6.0,
    };
    let hyperbola = Curve::Hyperbola { frame: f, a_mm: 5.0, b_mm: 8.0 };
    let extrusion = |curve| {
        Surface::Extrusion(Box::new(Extrusion { curve, direction: f.z.lerp(f.x, 0.3).normalize() }))
    };
    vec![
        ("plane", Surface::Plane(f), Vec2::new(3.0, -4.0)),
        ("cylinder", Surface::cylinder(f, 8.0), Vec2::new(0.7, 5.0)),
        ("cone", Surface::cone(f, 8.0, 0.4), Vec2::new(0.7, 5.0)),
        ("sphere", Surface::sphere(f, 8.0), Vec2::new(0.7, 0.4)),
        ("torus", Surface::torus(f, 20.0, 6.0), Vec2::new(0.7, 2.0)),
        ("b-spline", wavy(false), Vec2::new(2.2, 1.7)),
        ("nurbs", wavy(true), Vec2::new(2.2, 1.7)),
        ("extruded ellipse", extrusion(ellipse), Vec2::new(0.9, 3.0)),
        ("extruded hyperbola", extrusion(hyperbola), Vec2::new(0.4, 3.0)),
        ("extruded circle", extrusion(nurbs_circle(f, 9.0)), Vec2::new(2.3, 1.0)),
        (
            "revolved parabola",
            Surface::Revolution(Box::new(Revolution {
                curve: meridian,
                origin: f.origin,
                axis: f.z,
            })),
            Vec2::new(1.1, 3.0),
        ),
        ("offset nurbs", Surface::offset(wavy(true), 2.5), Vec2::new(2.2, 1.7)),
        ("offset torus", Surface::offset(Surface::torus(f, 20.0, 6.0), -1.5), Vec2::new(0.7, 2.0)),
    ]
}

fn close(name: &str, what: &str, exact: Vec3, difference: Vec3, scale: f64) {
    let gap = (exact - difference).length();
    assert!(gap <= 3e-7 * scale, "{name} {what}: {exact} against {difference}, gap {gap:e}");
}

#[test]
fn derivatives_agree_with_differences_on_every_kind() {
    const H: f64 = 1e-5;
    for (name, s, at) in one_of_each() {
        let (u, v) = (at.x, at.y);
        let j = s.jet(u, v);
        let [right, left] = [s.jet(u + H, v), s.jet(u - H, v)];
        let [up, down] = [s.jet(u, v + H), s.jet(u, v - H)];
        let slope = |a: Vec3, b: Vec3| (a - b) / (2.0 * H);
        let scale = 1.0 + j.du.length() + j.dv.length() + j.duu.length() + j.dvv.length();
        close(name, "du", j.du, slope(right.p, left.p), scale);
        close(name, "dv", j.dv, slope(up.p, down.p), scale);
        close(name, "duu", j.duu, slope(right.du, left.du), scale);
        close(name, "duv", j.duv, slope(right.dv, left.dv), scale);
        close(name, "dvu", j.duv, slope(up.du, down.du), scale);
        close(name, "dvv", j.dvv, slope(up.dv, down.dv), scale);
        let Some(third) = s.jet3(u, v) else { continue };
        assert!(third.jet.p.distance(j.p) < 1e-12, "{name}");
        close(name, "duuu", third.duuu, slope(right.duu, left.duu), scale);
        close(name, "duuv", third.duuv, slope(up.duu, down.duu), scale);
        close(name, "duvv", third.duvv, slope(right.dvv, left.dvv), scale);
        close(name, "dvvv", third.dvvv, slope(up.dvv, down.dvv), scale);
    }
}

/// Principal curvatures, larger first.
fn principal(s: &Surface, uv: Vec2) -> [f64; 2] {
    let e = s.site(uv, false).expect("a regular point").curvature.entries.eigen();
    [e.large, e.small]
}

#[test]
fn curvature_of_round_surfaces() {
    let f = tilted();
    let at = Vec2::new(0.7, 0.4);
    let near = |a: [f64; 2], b: [f64; 2]| {
        assert!((a[0] - b[0]).abs() < 1e-14 && (a[1] - b[1]).abs() < 1e-14, "{a:?} {b:?}");
    };
    near(principal(&Surface::cylinder(f, 8.0), at), [0.0, -1.0 / 8.0]);
    near(principal(&Surface::sphere(f, 8.0), at), [-1.0 / 8.0; 2]);
    // derived: on the torus 1/minor and cos v/(major + minor cos v)
    let around = -0.4_f64.cos() / (20.0 + 6.0 * 0.4_f64.cos());
    near(principal(&Surface::torus(f, 20.0, 6.0), at), [around, -1.0 / 6.0]);
    // derived: on the cone cos α/r across, 0 along
    let r = 8.0 + 0.4 * 0.3_f64.sin();
    near(principal(&Surface::cone(f, 8.0, 0.3), at), [0.0, -0.3_f64.cos() / r]);
}

#[test]
fn an_offset_turns_radii_of_curvature_by_its_distance() {
    // derived: k' = k / (1 - d k) with k positive where the surface rises along its normal
    for (name, base, at) in one_of_each() {
        if matches!(base, Surface::Offset(_)) {
            continue;
        }
        let d = 1.25;
        let (k, moved) = (principal(&base, at), principal(&Surface::offset(base.clone(), d), at));
        for i in 0..2 {
            let expected = k[i] / (1.0 - d * k[i]);
            assert!((moved[i] - expected).abs() < 1e-13, "{name}: {} {expected}", moved[i]);
        }
    }
}

#[test]
fn an_offset_of_an_offset_is_one_offset() {
    let once = Surface::offset(wavy(false), 3.0);
    let twice = Surface::offset(Surface::offset(wavy(false), 1.0), 2.0);
    assert_eq!(once, twice);
}

#[test]
fn closest_points_are_found_from_a_guess_nearby() {
    for (name, s, at) in one_of_each() {
        let site = s.site(at, false).expect("a regular point");
        for height in [-0.8, 0.0, 1.4] {
            let p = site.point + site.normal * height;
            let foot = s.project(p, at + Vec2::new(0.07, -0.05)).expect(name);
            let gap = s.point(foot.x, foot.y).distance(site.point);
            assert!(gap < 1e-9, "{name} {height}: {gap:e}");
        }
    }
}

#[test]
fn a_periodic_parameter_comes_back_near_the_guess() {
    let s = Surface::cylinder(tilted(), 8.0);
    let turn = std::f64::consts::TAU;
    let p = s.point(0.2, 1.0);
    let foot = s.project(p, Vec2::new(turn + 0.1, 0.0)).expect("a foot");
    assert!((foot.x - turn - 0.2).abs() < 1e-12);
    let Surface::Extrusion(e) = &one_of_each()[9].1 else { panic!("the extruded circle") };
    assert!(e.curve.jet(0.3).p.distance(e.curve.jet(4.3).p) < 1e-12);
}

#[test]
fn a_closest_point_beyond_the_border_lies_on_it() {
    let s = wavy(false);
    let foot = s.project(Vec3::new(-5.0, 20.0, 0.0), Vec2::new(1.0, 2.0)).expect("a foot");
    assert_eq!(foot.x, 0.0);
}

#[test]
fn poles_and_apexes_have_a_normal_beside_them() {
    let f = Frame::WORLD;
    let pole = Surface::sphere(f, 8.0)
        .site(Vec2::new(0.0, std::f64::consts::FRAC_PI_2), false)
        .expect("a normal at the pole");
    assert!((pole.normal - Vec3::Z).length() < 1e-5);
    assert!((pole.point - Vec3::Z * 8.0).length() < 1e-12);
    let apex = Surface::cone(f, 8.0, -0.4);
    assert!(apex.site(Vec2::new(0.0, 8.0 / 0.4_f64.sin()), false).is_some());
}

#[test]
fn a_motion_carries_points_and_keeps_curvature() {
    let motion = Affine3::from_axis_angle(Vec3::new(1.0, 2.0, 3.0).normalize(), 0.9)
        * Affine3::from_translation(Vec3::new(5.0, -2.0, 1.0));
    for (name, s, at) in one_of_each() {
        let m = s.moved(&motion);
        let gap = m.point(at.x, at.y).distance(motion.transform_point3(s.point(at.x, at.y)));
        assert!(gap < 1e-11, "{name}: {gap:e}");
        let (a, b) = (principal(&s, at), principal(&m, at));
        assert!((a[0] - b[0]).abs() + (a[1] - b[1]).abs() < 1e-13, "{name}");
    }
}

#[test]
fn bad_splines_are_refused_with_the_place() {
    let poles = [Vec3::ZERO, Vec3::X, Vec3::Y];
    let curve = |degree, knots: &[f64], poles: &[Vec3], weights: Option<&[f64]>| {
        NurbsCurve::new(degree, knots.to_vec(), poles, weights, None)
    };
    let good = [0.0, 0.0, 0.0, 1.0, 1.0, 1.0];
    assert!(curve(2, &good, &poles, None).is_ok());
    assert_eq!(curve(0, &good, &poles, None), Err(NurbsError::Degree(0)));
    assert_eq!(
        curve(2, &good[1..], &poles, None),
        Err(NurbsError::Count { knots: 5, poles: 3, degree: 2 })
    );
    let falling = [0.0, 0.0, 0.0, 1.0, 0.5, 1.0];
    assert_eq!(curve(2, &falling, &poles, None), Err(NurbsError::Knots(4)));
    assert_eq!(curve(2, &[0.0; 6], &poles, None), Err(NurbsError::Knots(2)));
    let nan = [Vec3::ZERO, Vec3::X * f64::NAN, Vec3::Y];
    assert_eq!(curve(2, &good, &nan, None), Err(NurbsError::Pole(1)));
    assert_eq!(curve(2, &good, &poles, Some(&[1.0, 0.0, 1.0])), Err(NurbsError::Weight(1)));
    assert_eq!(curve(2, &good, &poles, Some(&[1.0])), Err(NurbsError::Weight(1)));
}
