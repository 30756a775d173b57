//! Cutters that cannot exist are refused with the reason.

use cutter::{Assembly, BodyKind, Cutter, CutterError, CutterSpec, Form, HolderSegment};

fn good() -> CutterSpec {
    CutterSpec {
        arc_radius_mm: Some(250.0),
        corner_radius_mm: Some(1.5),
        flute_length_mm: Some(26.0),
        overall_length_mm: Some(83.0),
        shank_diameter_mm: Some(10.0),
        stickout_mm: Some(45.0),
        teeth: Some(4),
        ..CutterSpec::new(Form::TangentBarrel, 10.0)
    }
}

fn refused(change: impl FnOnce(&mut CutterSpec)) -> CutterError {
    let mut spec = good();
    change(&mut spec);
    Cutter::new(&spec).expect_err("impossible")
}

#[test]
fn the_unchanged_cutter_is_possible() {
    let c = Cutter::new(&good()).expect("possible");
    // its flutes end before the arc reaches the diameter, and that is said
    assert_eq!(c.notes().len(), 1);
    assert!(c.notes()[0].contains("does not reach its diameter"));
}

#[test]
fn arcs_that_do_not_fit() {
    assert!(matches!(
        refused(|s| s.arc_radius_mm = Some(4.0)),
        CutterError::ArcDoesNotMeetShank { .. }
    ));
    assert!(matches!(
        refused(|s| s.arc_radius_mm = Some(1.0)),
        CutterError::ArcDoesNotMeetShank { .. }
    ));
    assert!(matches!(
        refused(|s| s.corner_radius_mm = Some(5.5)),
        CutterError::CornerTooLarge { .. }
    ));
    assert!(matches!(
        refused(|s| s.corner_offset_mm = Some(4.0)),
        CutterError::CornerTooLarge { .. }
    ));
    assert!(matches!(
        refused(|s| s.flute_length_mm = Some(1.0)),
        CutterError::FlutesTooShort { .. }
    ));
    let barrel = refused(|s| {
        s.form = Form::Barrel;
        s.arc_radius_mm = Some(30.0);
        s.flute_length_mm = Some(50.0);
        s.stickout_mm = None;
    });
    assert!(matches!(barrel, CutterError::ArcDoesNotMeetShank { .. }), "{barrel}");
    let lens = refused(|s| {
        s.form = Form::Lens;
        s.arc_radius_mm = Some(4.0);
    });
    assert!(matches!(lens, CutterError::ArcDoesNotMeetShank { .. }));
}

#[test]
fn numbers_that_the_form_needs_or_does_not_know() {
    let missing = refused(|s| s.arc_radius_mm = None);
    assert_eq!(missing, CutterError::Missing { form: "tangent-barrel", quantity: "arc_radius_mm" });
    let unused = refused(|s| s.form = Form::Ball);
    assert_eq!(unused, CutterError::Unused { form: "ball", quantity: "arc_radius_mm" });
    assert!(matches!(refused(|s| s.taper_rad = Some(0.1)), CutterError::Unused { .. }));
    let corner = refused(|s| {
        s.form = Form::CornerRadius;
        s.arc_radius_mm = None;
        s.corner_radius_mm = Some(5.1);
    });
    assert!(matches!(corner, CutterError::CornerTooLarge { largest_mm: 5.0, .. }));
    let ball = refused(|s| {
        s.form = Form::Ball;
        s.arc_radius_mm = None;
        s.corner_radius_mm = Some(4.0);
    });
    assert!(matches!(ball, CutterError::Range(_)));
}

#[test]
fn lengths_in_the_wrong_order() {
    for change in [
        (|s: &mut CutterSpec| s.flute_length_mm = Some(90.0)) as fn(&mut CutterSpec),
        |s| s.stickout_mm = Some(20.0),
        |s| s.stickout_mm = Some(90.0),
        |s| s.neck_diameter_mm = Some(11.0),
        |s| s.usable_length_mm = Some(20.0),
        |s| s.usable_length_mm = Some(100.0),
    ] {
        assert!(matches!(refused(change), CutterError::Order { .. }));
    }
}

#[test]
fn units_mistaken_and_not_a_number() {
    let spec = CutterSpec::new(Form::Ball, 1200.0);
    let error = Cutter::new(&spec).expect_err("too large");
    assert!(matches!(error, CutterError::UnitsMistaken { .. }));
    assert!(error.to_string().contains("another unit"));
    for bad in [0.0, -3.0, f64::NAN, f64::INFINITY] {
        assert!(Cutter::new(&CutterSpec::new(Form::Ball, bad)).is_err(), "{bad}");
        assert!(matches!(refused(|s| s.arc_radius_mm = Some(bad)), CutterError::Range(_)));
        assert!(matches!(refused(|s| s.flute_length_mm = Some(bad)), CutterError::Range(_)));
        assert!(matches!(refused(|s| s.stickout_mm = Some(bad)), CutterError::Range(_)));
    }
    assert!(matches!(refused(|s| s.teeth = Some(0)), CutterError::Teeth { teeth: 0 }));
}

#[test]
fn the_assembly_is_laid_out_from_below() {
    let mut spec = good();
    spec.neck_diameter_mm = Some(9.0);
    spec.usable_length_mm = Some(35.0);
    spec.holder = vec![
        HolderSegment { diameter_mm: 28.0, length_mm: 25.0, top_diameter_mm: Some(32.0) },
        HolderSegment { diameter_mm: 50.0, length_mm: 40.0, top_diameter_mm: None },
    ];
    let a = Assembly::new(&spec).expect("possible");
    let kinds: Vec<_> = a.bodies.iter().map(|b| (b.kind, b.z_lo_mm, b.z_hi_mm)).collect();
    assert_eq!(
        kinds,
        [
            (BodyKind::Neck, 26.0, 35.0),
            (BodyKind::Shank, 35.0, 45.0),
            (BodyKind::Holder, 45.0, 70.0),
            (BodyKind::Holder, 70.0, 110.0),
        ]
    );
    assert_eq!(a.top_mm(), 110.0);
    let cone = &a.bodies[2];
    // 3 mm off the cone's side at half height, along its normal
    let half = (2.0_f64).atan2(25.0);
    let d = cone.shape().signed_distance(15.0 + 3.0 * half.cos(), 57.5 - 3.0 * half.sin());
    assert!((d.value_mm - 3.0).abs() < 1e-12, "{d:?}");
}
