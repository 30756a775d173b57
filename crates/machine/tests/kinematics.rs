//! Forward and inverse kinematics: closed values, identity, both solutions.

mod shop;

use geom::Vec3;
use machine::{AxisName, AxisPosition, Kinematics, Machine, Mounting};
use proptest::prelude::*;
use toolpath::Pose;

fn kinematics(layout: &str) -> Kinematics {
    Kinematics::new(&shop::machine(layout), &Mounting::default())
}

#[test]
fn a_trunnion_puts_a_tip_where_the_rotations_say() {
    // derived: A 35, C 110, tip (40, -12, 25), A axis 60 mm below program zero
    let mut spec = shop::spec("XYZ-AC");
    spec.axes.get_mut("A").unwrap().rotary_centre_mm = Some([0.0, 0.0, -60.0]);
    let k = Kinematics::new(&Machine::new(&spec).unwrap(), &Mounting::default());
    let axis = Vec3::new(0.538_985_5, 0.196_174_7, 0.819_152_0).normalize();
    let pose = Pose { tip: Vec3::new(40.0, -12.0, 25.0), axis };
    let found = k.inverse(&pose, [0.0; 2]).unwrap();
    let first = found.iter().find(|p| p.rotary[1] > 0.0).unwrap();
    assert!((first.rotary[1].to_degrees() - 35.0).abs() < 1e-4, "{first:?}");
    assert!((first.rotary[0].to_degrees() - 110.0).abs() < 1e-4, "{first:?}");
    let exact = AxisPosition { rotary: [110f64.to_radians(), 35f64.to_radians()], ..*first };
    let expected = Vec3::new(-24.957_12, 21.325_95, 28.833_25);
    let at = AxisPosition { linear: expected, ..exact };
    assert!(k.forward(&at).tip.distance(pose.tip) < 2e-5);
    assert!(first.linear.distance(expected) < 2e-5, "{first:?}");
}

#[test]
fn a_head_swings_about_its_pivot() {
    // derived: P = p + L (a - z), L 180, A 35, C 110
    let k = kinematics("XYZ+AC");
    let at = AxisPosition {
        linear: Vec3::new(137.0174, 23.311_45, -7.552_632),
        rotary: [110f64.to_radians(), 35f64.to_radians()],
    };
    assert!(k.forward(&at).tip.distance(Vec3::new(40.0, -12.0, 25.0)) < 1e-4);
}

#[test]
fn the_tool_length_lengthens_the_lever_of_a_head() {
    let mounting = Mounting { tool_length_mm: 100.0, ..Mounting::default() };
    let k = Kinematics::new(&shop::machine("XYZ-C+B"), &mounting);
    let at = AxisPosition { linear: Vec3::ZERO, rotary: [0.0, 90f64.to_radians()] };
    // derived: tool along +x, tip 280 mm off the pivot, which stays 280 mm above zero
    assert!(k.forward(&at).tip.distance(Vec3::new(-280.0, 0.0, 280.0)) < 1e-9);
}

#[test]
fn signs_follow_the_motion_of_the_tool() {
    let (b, c) = (0.4f64, 1.1f64);
    let at = AxisPosition { linear: Vec3::ZERO, rotary: [c, b] };
    let expected = Vec3::new(b.sin() * c.cos(), b.sin() * c.sin(), b.cos());
    for layout in ["XYZ-BC", "XYZ+BC", "XYZ-C+B"] {
        assert!(kinematics(layout).forward(&at).axis.distance(expected) < 1e-14, "{layout}");
    }
    let mut spec = shop::spec("XYZ-BC");
    spec.axes.get_mut("C").unwrap().direction = Some(-1.0);
    let turned = Kinematics::new(&Machine::new(&spec).unwrap(), &Mounting::default());
    let other = AxisPosition { rotary: [-c, b], ..at };
    assert!(turned.forward(&other).axis.distance(expected) < 1e-14);
}

#[test]
fn what_cannot_tilt_says_so() {
    let tilted = Pose { tip: Vec3::ZERO, axis: Vec3::new(0.3, 0.0, 1.0).normalize() };
    let message = kinematics("XYZ").inverse(&tilted, [0.0; 2]).unwrap_err().to_string();
    assert!(message.contains("no rotary axis") && message.contains("16.69"), "{message}");
    assert!(kinematics("XYZ-A").inverse(&tilted, [0.0; 2]).is_err());
    assert_eq!(kinematics("XYZ-B").inverse(&tilted, [0.0; 2]).unwrap().len(), 1);
    // a head's C turns the spindle about itself: B alone tilts
    let found = kinematics("XYZ-B+C").inverse(&tilted, [0.0, 0.7]).unwrap();
    assert_eq!(found[0].rotary[1], 0.7);
    assert_eq!(shop::machine("XYZ-B+C").axes[4].name, AxisName::C);
}

const FIVE_AXES: [&str; 8] =
    ["XYZ-AC", "XYZ-BC", "XYZ+AC", "XYZ+BC", "XYZ-C+B", "XYZ-C+A", "XYZ-A+B", "XYZ-B+A"];

fn unit() -> impl Strategy<Value = Vec3> {
    (-1.0f64..1.0, 0.0f64..6.3).prop_map(|(z, phi)| {
        let r = (1.0 - z * z).sqrt();
        Vec3::new(r * phi.cos(), r * phi.sin(), z).normalize()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn forward_undoes_inverse_for_both_solutions(
        which in 0usize..8, axis in unit(), x in -200.0..200.0f64, y in -200.0..200.0f64, z in -100.0..100.0f64,
        centre in -50.0..50.0f64, sense in prop::bool::ANY, turn in -3.0..3.0f64,
    ) {
        let layout = FIVE_AXES[which];
        let mut spec = shop::spec(layout);
        for (letter, axis) in spec.axes.iter_mut().filter(|(l, _)| "ABC".contains(l.as_str())) {
            axis.rotary_centre_mm = Some([centre, -centre, if letter == "C" { 3.0 } else { centre }]);
            axis.direction = Some(if sense { 1.0 } else { -1.0 });
        }
        let mut mounting = Mounting::from_degrees([5.0, -3.0, 20.0], [10.0 * turn, 20.0, 40.0 * turn]);
        mounting.tool_length_mm = 90.0;
        let k = Kinematics::new(&Machine::new(&spec).unwrap(), &mounting);
        let pose = Pose { tip: Vec3::new(x, y, z), axis };
        let found = k.inverse(&pose, [0.0; 2]).unwrap();
        prop_assert_eq!(found.len(), 2);
        for at in found {
            let back = k.forward(&at);
            prop_assert!(back.tip.distance(pose.tip) < 1e-10, "{:?}", back);
            prop_assert!(back.axis.distance(pose.axis) < 1e-12, "{:?}", back);
        }
    }

    #[test]
    fn derivatives_agree_with_differences(
        which in 0usize..8, t in prop::array::uniform9(-1.0..1.0f64), p in prop::array::uniform9(-1.0..1.0f64),
    ) {
        let mut spec = shop::spec(FIVE_AXES[which]);
        spec.rotary_centre_mm = Some([10.0, -20.0, 30.0]);
        let k = Kinematics::new(&Machine::new(&spec).unwrap(), &Mounting::default());
        let at = |s: f64| {
            let taylor = |c: [f64; 3]| [c[0] + s * (c[1] + 0.5 * s * c[2]), c[1] + s * c[2], c[2]];
            let (tx, ty, tz) = (taylor([p[0], p[1], p[2]]), taylor([p[3], p[4], p[5]]), taylor([p[6], p[7], p[8]]));
            let (a, b) = (taylor([t[0], t[1], t[2]]), taylor([t[3], t[4], t[5]]));
            let jet = machine::kinematics::Jet {
                tip: std::array::from_fn(|o| 50.0 * Vec3::new(tx[o], ty[o], tz[o])),
                theta: std::array::from_fn(|o| [a[o], b[o]]),
            };
            k.linear_jet(&jet).linear
        };
        let h = 1e-4;
        let (before, here, after) = (at(-h), at(0.0), at(h));
        let first = (after[0] - before[0]) / (2.0 * h);
        let second = (after[1] - before[1]) / (2.0 * h);
        prop_assert!(first.distance(here[1]) < 1e-4, "{first} {}", here[1]);
        prop_assert!(second.distance(here[2]) < 1e-3, "{second} {}", here[2]);
    }
}
