//! Profiles, contacts and relative curvatures against values worked out by hand or by another way.

use cutter::relative::lever_mm;
use cutter::{Contact, Cutter, CutterSpec, Element, Form, Relative, Touch};
use geom::{Site, Sym2, TangentTensor, Vec3};

fn close(got: f64, want: f64, relative: f64) {
    assert!((got / want - 1.0).abs() <= relative, "{got} against {want}");
}

fn deg(x: f64) -> f64 {
    x.to_radians()
}

fn spec(form: Form, d: f64, arc: f64, corner: f64) -> CutterSpec {
    let some = |x: f64| (x > 0.0).then_some(x);
    CutterSpec {
        arc_radius_mm: some(arc),
        corner_radius_mm: some(corner),
        ..CutterSpec::new(form, d)
    }
}

fn tangent_barrel() -> Cutter {
    Cutter::new(&spec(Form::TangentBarrel, 10.0, 250.0, 1.5)).expect("possible")
}

fn contact(c: &Cutter, kappa_deg: f64) -> Contact {
    c.profile().contact(deg(kappa_deg)).expect("reached")
}

// derived: tangent circles
#[test]
fn tangent_barrel_geometry() {
    let c = tangent_barrel();
    let arc = c.profile().main_arc().expect("an arc");
    close(arc.kappa_lo_rad, deg(80.372_37), 1e-7);
    close(arc.z0_mm, 43.060_20, 1e-7);
    close(arc.point(arc.kappa_lo_rad).1, 1.249_134, 1e-6);
    close(arc.length_mm(), 42.008_47, 1e-6);
    close(arc.r0_mm, -245.0, 1e-12);
    let at = contact(&c, 84.0);
    close(at.r_mm, 3.630_474, 2e-7);
    close(at.z_mm, 16.928_08, 4e-7);
    close(at.around_radius_mm, 3.650_472, 2e-7);
    close(contact(&c, 86.0).around_radius_mm, 4.401_735, 2e-7);
    close(c.profile().support(deg(84.0)), 1.841_119, 3e-7);
    close(at.arc_below_mm + at.arc_above_mm, arc.length_mm(), 1e-12);
}

// derived: tangent circles
#[test]
fn other_forms_geometry() {
    let mut s = spec(Form::TaperBarrel, 12.0, 250.0, 2.0);
    s.corner_offset_mm = Some(0.5);
    s.taper_rad = Some(deg(20.0));
    let c = Cutter::new(&s).expect("possible");
    let arc = c.profile().main_arc().expect("an arc");
    close(arc.r0_mm, -228.923_2, 2e-7);
    close(arc.kappa_lo_rad, deg(67.682_44), 1e-7);
    close(arc.point(arc.kappa_hi_rad).1, 10.670_42, 5e-7);
    close(arc.point(arc.kappa_hi_rad).0, 6.0, 1e-13);
    close(arc.length_mm(), 10.112_27, 5e-7);
    close(contact(&c, 68.8).r_mm, 4.157_795, 2e-7);
    close(contact(&c, 68.8).z_mm, 5.769_310, 2e-7);

    let lens = Cutter::new(&spec(Form::Lens, 12.0, 40.0, 1.0)).expect("possible");
    let arc = lens.profile().main_arc().expect("an arc");
    close(arc.kappa_hi_rad, deg(7.365_886), 1e-7);
    close(contact(&lens, 5.0).around_radius_mm, 40.0, 1e-15);
    let corner = lens.profile().elements().iter().find_map(|e| match e {
        Element::Arc(a) if a.radius_mm == 1.0 => Some(*a),
        _ => None,
    });
    close(corner.expect("a corner").z0_mm, 1.321_841, 5e-7);

    let mut s = spec(Form::Barrel, 10.0, 85.0, 1.0);
    s.corner_offset_mm = Some(2.0);
    let arc = Cutter::new(&s).expect("possible").profile().main_arc().expect("an arc");
    close(arc.kappa_lo_rad, deg(77.472_09), 1e-7);
    close(arc.z0_mm, 19.220_87, 3e-7);

    let mut s = spec(Form::TaperedBall, 8.0, 0.0, 2.0);
    s.taper_rad = Some(deg(3.0));
    let c = Cutter::new(&s).expect("possible");
    let d = c.profile().signed_distance(2.946_085, 20.0);
    assert!(d.value_mm.abs() < 1e-6, "{d:?}");
    close(
        contact(&Cutter::new(&spec(Form::CornerRadius, 16.0, 0.0, 3.0)).expect("ok"), 8.0)
            .around_radius_mm,
        38.926_48,
        2e-7,
    );
}

// derived: arc geometry of a barrel whose belly stands at mid-flute
#[test]
fn a_barrel_with_its_belly_at_mid_flute() {
    for (d_max, r, delta, d, z) in [
        (10.0, 85.0, 2.0, 9.896_440_6, 2.966_457_2),
        (12.0, 85.0, -3.0, 11.767_021, -4.448_556_3),
        (16.0, 250.0, 1.5, 15.828_662, 6.544_237_1),
    ] {
        let mut s = spec(Form::Barrel, d_max, r, 1.0);
        s.flute_length_mm = Some(26.0);
        let c = Cutter::new(&s).expect("possible");
        let at = contact(&c, 90.0 + delta);
        close(at.effective_diameter_mm(), d, 5e-8);
        close(at.z_mm - 13.0, z, 5e-8);
        close(c.profile().largest_radius_mm(), 0.5 * d_max, 1e-14);
        close(c.profile().top_mm(), 26.0, 1e-13);
    }
    for (r, tilt, d) in
        [(20.0, 4.0, 2.790_258_9), (40.0, 3.0, 4.186_876_5), (60.0, 5.0, 10.458_689)]
    {
        let lens = Cutter::new(&spec(Form::Lens, 12.0, r, 0.3)).expect("possible");
        close(contact(&lens, tilt).effective_diameter_mm(), d, 5e-8);
    }
}

// derived: a ball that leans, its layer and its contact
#[test]
fn the_radius_that_cuts() {
    let ball = Cutter::new(&spec(Form::Ball, 12.0, 0.0, 0.0)).expect("possible");
    close(contact(&ball, 17.0).effective_diameter_mm(), 3.508_460, 2e-7);
    close(2.0 * ball.profile().layer_radius_mm(deg(17.0), 0.25), 6.640_322, 2e-7);
    close(2.0 * ball.profile().layer_radius_mm(0.0, 0.25), 3.427_827, 2e-7);
    close(2.0 * ball.profile().layer_radius_mm(deg(80.0), 3.0), 12.0, 1e-12);
    let torus = Cutter::new(&spec(Form::CornerRadius, 16.0, 0.0, 2.0)).expect("possible");
    close(2.0 * torus.profile().layer_radius_mm(0.0, 0.3), 14.107_131, 4e-8);
    let flat = Cutter::new(&spec(Form::Flat, 16.0, 0.0, 0.0)).expect("possible");
    close(flat.profile().layer_radius_mm(0.0, 0.3), 8.0, 1e-15);
}

#[test]
fn distance_to_the_flank() {
    let d = tangent_barrel().profile().signed_distance(6.2, 10.0);
    close(d.value_mm, 3.366_171, 3e-7);
    close(d.kappa_rad, deg(82.502_45), 1e-7);
}

#[test]
fn what_a_contact_lies_on() {
    let flat = Cutter::new(&spec(Form::Flat, 10.0, 0.0, 0.0)).expect("possible");
    assert_eq!(contact(&flat, 0.0).touch, Touch::Line);
    assert_eq!(contact(&flat, 0.0).r_mm, 0.0);
    assert_eq!(contact(&flat, 30.0).touch, Touch::Corner);
    assert_eq!(contact(&flat, 30.0).r_mm, 5.0);
    assert!(flat.profile().arc_contact(0.3).is_err());
    let c = tangent_barrel();
    assert!(c.profile().arc_contact(deg(80.0)).is_err());
    close(c.profile().arc_contact(deg(81.0)).expect("on the arc").profile_radius_mm, 250.0, 1e-15);
    close(contact(&c, 80.0).profile_radius_mm, 1.5, 1e-15);
    assert!(c.profile().contact(deg(91.0)).is_err());
    assert!(c.profile().contact(f64::NAN).is_err());
}

#[test]
fn the_tip_climbs_as_on_the_surface_set_off_by_the_cutter() {
    // derived: over a hollow of radius ρ a ball of R moves on ρ − R, on a bump on ρ + R; turned, the
    // two stay with their directions; (profile, around) is left-handed about the normal here
    let ball = relative((6.0, 6.0), (1.0 / 40.0, -1.0 / 100.0), 30.0).climb().expect("free");
    let own = ball.turned(deg(-30.0));
    close(own.xx, 1.0 / 34.0, 1e-12);
    close(own.yy, -1.0 / 106.0, 1e-12);
    assert!(own.xy.abs() < 1e-14);
    // a hollow of half the cutter's radius is not free
    assert!(relative((6.0, 6.0), (1.0 / 3.0, 0.0), 0.0).climb().is_none());
}

/// A site whose first tangent vector is turned by `turn_deg` from the profile's direction, on a
/// relative that stands with the profile along x.
fn relative(tool: (f64, f64), surface: (f64, f64), turn_deg: f64) -> Relative {
    let (s, c) = deg(turn_deg).sin_cos();
    let (e1, e2) = (Vec3::new(c, s, 0.0), Vec3::new(-s, c, 0.0));
    let curvature = TangentTensor { e1, e2, entries: Sym2::diagonal(surface.0, surface.1) };
    let site = Site { point: Vec3::ZERO, normal: Vec3::Z, curvature };
    // the axis leans along +x, so that the profile runs along x
    let axis = Vec3::new(deg(60.0).sin(), 0.0, deg(60.0).cos());
    let contact = Contact {
        kappa_rad: deg(60.0),
        r_mm: 1.0,
        z_mm: 1.0,
        profile_radius_mm: tool.0,
        around_radius_mm: tool.1,
        arc_below_mm: 3.0,
        arc_above_mm: 2.0,
        centre_mm: (0.0, 0.0),
        touch: Touch::Arc,
    };
    let r = Relative::at(&site, axis, &contact).expect("regular");
    assert!((r.along_profile - Vec3::X).length() < 1e-14);
    r
}

fn feed(angle_deg: f64) -> Vec3 {
    let (s, c) = deg(angle_deg).sin_cos();
    Vec3::new(c, s, 0.0)
}

// derived: by tensor algebra and by a brute-force sweep of the tool over the surface
#[test]
fn relative_curvature_and_what_a_pass_leaves() {
    let r = relative((120.0, 5.6 / deg(78.0).sin()), (-1.0 / 400.0, 1.0 / 900.0), 25.0);
    close(r.m.xx, 0.010_188_37, 4e-7);
    close(r.m.xy.abs(), 0.001_383_136, 4e-7);
    close(r.m.yy, 0.174_203_1, 4e-7);
    close(
        r.residual(feed(45.0)).expect("free").min(r.residual(feed(-45.0)).expect("free")),
        0.018_945_86,
        2e-2,
    );
    let aligned = [45.0, -45.0].map(|a| r.residual(feed(a)).expect("free"));
    assert!(aligned.iter().any(|k| (k / 0.018_945_86 - 1.0).abs() < 4e-7), "{aligned:?}");

    let plane = relative((180.0, 6.0), (0.0, 0.0), 0.0);
    for (angle, k) in [(75.0, 0.005_940_210), (50.0, 0.009_250_061), (20.0, 0.037_944_71)] {
        close(plane.residual(feed(angle)).expect("free"), k, 2e-7);
    }
    // loss by direction; the best feed runs around the axis
    for (off, share) in [
        (10.0, 0.985_317_9),
        (30.0, 0.870_823_4),
        (45.0, 0.718_795_3),
        (60.0, 0.524_404_4),
        (80.0, 0.249_963_8),
    ] {
        close(plane.share_of_best(feed(90.0 - off)).expect("free"), share, 2e-7);
    }
    assert!(plane.best_feed().dot(Vec3::Y).abs() > 1.0 - 1e-12);
}

// derived: swept radius of a torus that leads by 4° and tilts by 3°
#[test]
fn swept_radius_of_a_leaning_torus() {
    let torus = Cutter::new(&spec(Form::CornerRadius, 16.0, 0.0, 3.0)).expect("possible");
    let frame = cutter::axis::ContactFrame::new(Vec3::Z, Vec3::X).expect("a frame");
    let axis = frame.axis_leaning(deg(4.0), deg(3.0));
    let curvature = TangentTensor { e1: Vec3::X, e2: Vec3::Y, entries: Sym2::default() };
    let site = Site { point: Vec3::ZERO, normal: Vec3::Z, curvature };
    let at = torus.profile().contact(frame.lean(axis).kappa_rad).expect("reached");
    let r = Relative::at(&site, axis, &at).expect("regular");
    close(1.0 / r.residual(Vec3::X).expect("free"), 39.781_66, 2e-7);
}

#[test]
fn local_gouge() {
    let free = relative((250.0, 4.0), (1.0 / 400.0, 0.0), 0.0);
    assert!(free.is_free());
    close(free.m.xx, 0.0015, 1e-12);
    let digs = relative((250.0, 4.0), (1.0 / 200.0, 0.0), 0.0);
    assert!(!digs.is_free());
    assert!(digs.stepover_for_cusp(Vec3::Y, 0.005).is_err());
    assert!(digs.section(Vec3::Y).is_err());
}

// derived: equal normals after a small turn; rigid rotation
#[test]
fn migration_and_lever() {
    let error = deg(0.01);
    for (s, um) in [(0.0, 43.633_23), (1.0 / 400.0, 116.355_3), (-1.0 / 400.0, 26.851_22)] {
        let r = relative((250.0, 4.0), (s, 0.0), 0.0);
        close(r.migration_mm(Vec3::Y, error).expect("free") * 1e3, um, 2e-7);
    }
    let lever = lever_mm(Vec3::ZERO, Vec3::new(20.0, 0.0, 7.0), Vec3::Z, error);
    close(lever * 1e3, 3.490_658, 2e-7);
}

// derived: circle geometry
#[test]
fn tooth_marks_and_steps() {
    let ball = relative((6.0, 6.0), (0.0, 0.0), 0.0);
    close(ball.tooth_mark_mm(Vec3::Y, 0.2).expect("meets") * 1e3, 0.833_391_2, 2e-7);
    let at = contact(&tangent_barrel(), 84.0);
    let r = relative((at.profile_radius_mm, at.around_radius_mm), (0.0, 0.0), 0.0);
    close(r.tooth_mark_mm(Vec3::Y, 0.2).expect("meets") * 1e3, 1.369_943, 4e-7);
    let convex = relative((250.0, 4.0), (-1.0 / 500.0, -1.0 / 500.0), 0.0);
    close(convex.stepover_for_cusp(Vec3::Y, 0.005).expect("meets"), 2.581_964, 2e-7);
    close(convex.cusp_for_stepover(Vec3::Y, 3.7).expect("meets") * 1e3, 10.267_91, 4e-7);
    // lying the wrong way the arc shows its radius round the axis
    close(1.0 / r.residual(Vec3::X).expect("free"), 3.650_472, 2e-7);
}

#[test]
fn the_band_of_the_arc_bounds_the_step() {
    let mut r = relative((250.0, 4.0), (-1.0 / 500.0, -1.0 / 500.0), 0.0);
    r.side_mm = 1.2;
    close(r.band_stepover_mm(Vec3::Y).expect("free"), 2.399_972, 3e-7);
    close(r.usable_stepover_mm(Vec3::Y, 0.005).expect("free"), 2.399_972, 3e-7);
    // feeding along the profile no step needs the arc's ends
    assert!(r.band_stepover_mm(Vec3::X).expect("free") > 6.0);
}
