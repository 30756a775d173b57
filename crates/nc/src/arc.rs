//! Circles from IJK or R.

use crate::fault::{Complaint, complaint};
use geom::Vec3;
use geom::tolerance::COINCIDENT_MM;
use std::f64::consts::TAU;

/// A plane by the axis that stands on it: first and second axis, right-handed about the third.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Plane {
    pub(crate) first: usize,
    pub(crate) second: usize,
    pub(crate) normal: usize,
}

impl Plane {
    pub(crate) fn about(normal: u8) -> Self {
        let normal = usize::from(normal);
        Self { first: (normal + 1) % 3, second: (normal + 2) % 3, normal }
    }

    pub(crate) fn axis(self) -> Vec3 {
        Vec3::AXES[self.normal]
    }

    fn flat(self, v: Vec3) -> [f64; 2] {
        [v[self.first], v[self.second]]
    }
}

/// A circle in programmed coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Circle {
    pub(crate) centre: Vec3,
    pub(crate) sweep_rad: f64,
    /// How far the end misses the circle, mm.
    pub(crate) miss_mm: f64,
}

fn same(a: [f64; 2], b: [f64; 2]) -> bool {
    (a[0] - b[0]).abs() <= COINCIDENT_MM && (a[1] - b[1]).abs() <= COINCIDENT_MM
}

/// The circle about `centre` from `start` to `end`.
pub(crate) fn about(
    plane: Plane,
    clockwise: bool,
    [start, end, centre]: [Vec3; 3],
    tolerance_mm: f64,
) -> Result<Circle, Complaint> {
    let (s, e) = (plane.flat(start - centre), plane.flat(end - centre));
    let (near, far) = (s[0].hypot(s[1]), e[0].hypot(e[1]));
    if near <= COINCIDENT_MM {
        let expected = "a centre away from the start of the arc";
        return Err(complaint(b'I', "the arc has no radius", expected, "correct I, J and K"));
    }
    let miss_mm = (far - near).abs();
    if miss_mm > tolerance_mm {
        return Err(complaint(
            b'I',
            format!(
                "the end of the arc misses its circle by {miss_mm:.4} mm: radius {near:.4} mm at the \
                 start, {far:.4} mm at the end"
            ),
            format!("at most {tolerance_mm} mm"),
            "check whether I, J, K count from the start or from program zero, and the plane \
             (G17, G18, G19)",
        ));
    }
    let mut sweep_rad =
        if same(s, e) { TAU } else { (s[0] * e[1] - s[1] * e[0]).atan2(s[0] * e[0] + s[1] * e[1]) };
    if clockwise && sweep_rad != TAU {
        sweep_rad = -sweep_rad;
    }
    if sweep_rad <= 0.0 {
        sweep_rad += TAU;
    }
    let mut centre = centre;
    centre[plane.normal] = start[plane.normal];
    Ok(Circle { centre, sweep_rad, miss_mm })
}

/// The circle of radius `r` from `start` to `end`; a negative one goes the long way round.
pub(crate) fn of_radius(
    plane: Plane,
    clockwise: bool,
    [start, end]: [Vec3; 2],
    r: f64,
    tolerance_mm: f64,
) -> Result<Circle, Complaint> {
    let (s, e) = (plane.flat(start), plane.flat(end));
    if same(s, e) {
        return Err(complaint(
            b'R',
            "an arc with R ends where it begins",
            "an end elsewhere, or a full circle with I, J, K",
            "write the centre with I, J and K",
        ));
    }
    let chord = [e[0] - s[0], e[1] - s[1]];
    let half = 0.5 * chord[0].hypot(chord[1]);
    let short = half - r.abs();
    if short > tolerance_mm {
        return Err(complaint(
            b'R',
            format!(
                "the arc's ends lie {:.4} mm apart, {:.4} mm more than twice R",
                2.0 * half,
                2.0 * short
            ),
            format!("R of at least {half:.4} mm"),
            "correct R or the end",
        ));
    }
    let height = (r * r - half * half).max(0.0).sqrt();
    // to the left of the chord for the short way counter-clockwise
    let side = if clockwise == (r > 0.0) { -1.0 } else { 1.0 };
    let across = [-chord[1] / (2.0 * half), chord[0] / (2.0 * half)];
    let mut centre = start;
    centre[plane.first] = 0.5 * (s[0] + e[0]) + side * height * across[0];
    centre[plane.second] = 0.5 * (s[1] + e[1]) + side * height * across[1];
    let circle = about(plane, clockwise, [start, end, centre], tolerance_mm)?;
    Ok(Circle { miss_mm: short.max(0.0), ..circle })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::f64::consts::{FRAC_PI_2, PI};

    const XY: Plane = Plane { first: 0, second: 1, normal: 2 };

    #[test]
    fn planes_are_right_handed() {
        for normal in 0..3 {
            let plane = Plane::about(normal);
            let cross = Vec3::AXES[plane.first].cross(Vec3::AXES[plane.second]);
            assert_eq!(cross, plane.axis());
        }
    }

    #[test]
    fn quarters_halves_and_full_circles() {
        let [a, b, o] = [Vec3::X, Vec3::Y, Vec3::ZERO];
        let sweep = |clockwise, e| about(XY, clockwise, [a, e, o], 0.01).unwrap().sweep_rad;
        assert!((sweep(false, b) - FRAC_PI_2).abs() < 1e-12);
        assert!((sweep(true, b) - 3.0 * FRAC_PI_2).abs() < 1e-12);
        assert!((sweep(true, -a) - PI).abs() < 1e-12);
        assert_eq!(sweep(false, a), TAU);
        assert_eq!(sweep(true, a), TAU);
        assert!(about(XY, false, [a, a * 1.02, o], 0.01).is_err());
    }

    #[test]
    fn the_sign_of_r_chooses_the_way_round() {
        let ends = [Vec3::X, Vec3::Y];
        let short = of_radius(XY, false, ends, 1.0, 0.01).unwrap();
        let long = of_radius(XY, false, ends, -1.0, 0.01).unwrap();
        assert!(short.centre.length() < 1e-12 && (short.sweep_rad - FRAC_PI_2).abs() < 1e-12);
        assert!((long.sweep_rad - 3.0 * FRAC_PI_2).abs() < 1e-12);
        let right = of_radius(XY, true, ends, 1.0, 0.01).unwrap();
        assert!((right.centre - Vec3::new(1.0, 1.0, 0.0)).length() < 1e-12);
        assert!(of_radius(XY, true, ends, 0.5, 0.01).is_err());
        assert!(of_radius(XY, true, ends, 0.704, 0.01).is_ok());
    }

    proptest! {
        #[test]
        fn r_gives_back_the_circle_that_it_came_from(
            from in 0.0..TAU, sweep in 0.05..6.2f64, r in 0.5..500.0f64, clockwise: bool,
        ) {
            let at = |angle: f64| Vec3::new(3.0 + r * angle.cos(), r * angle.sin() - 7.0, 2.0);
            let to = if clockwise { from - sweep } else { from + sweep };
            let signed = if sweep > PI { -r } else { r };
            let circle = of_radius(XY, clockwise, [at(from), at(to)], signed, 0.001).unwrap();
            // near half a circle the centre follows the chord weakly
            let slack = if (sweep - PI).abs() < 0.01 { 0.1 } else { 1e-7 };
            prop_assert!((circle.sweep_rad - sweep).abs() < slack);
            prop_assert!(circle.centre.distance(Vec3::new(3.0, -7.0, 2.0)) < slack * r);
        }
    }
}
