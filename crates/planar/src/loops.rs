//! Closed loops of points in the plane.

/// Whether an odd number of loops goes round a point.
pub fn holds(loops: &[Vec<[f64; 2]>], [x, y]: [f64; 2]) -> bool {
    let mut odd = false;
    for l in loops {
        let Some(mut before) = l.last() else { continue };
        for p in l {
            if (p[1] > y) != (before[1] > y) {
                let at = p[0] + (y - p[1]) / (before[1] - p[1]) * (before[0] - p[0]);
                odd ^= x < at;
            }
            before = p;
        }
    }
    odd
}

/// Twice the area inside a loop, positive where it runs anticlockwise.
pub fn twice_area(ring: &[[f64; 2]]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).map(|(a, b)| a[0] * b[1] - b[0] * a[1]).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hole_is_not_held_and_counts_against_the_area() {
        let square = |half: f64| vec![[-half, -half], [half, -half], [half, half], [-half, half]];
        let mut hole = square(1.0);
        hole.reverse();
        // derived: 4² and 2²
        assert_eq!((twice_area(&square(2.0)), twice_area(&hole)), (32.0, -8.0));
        let loops = [square(2.0), hole, Vec::new()];
        let held = [[1.5, 0.0], [0.0, 0.0], [3.0, 0.0]].map(|p| holds(&loops, p));
        assert_eq!(held, [true, false, false]);
    }
}
