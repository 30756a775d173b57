//! Cells near a stop under limited jerk, where s = J t³/6 and x grows as s^(4/3).
//!
//! There the time through a cell is longer than steady acceleration would give, and the mean
//! acceleration is met later than half-way. Both follow from s ∝ t³ and depend only on where the
//! cell lies; away from the stop they fade as the square of cell length over distance.

/// Cells shorter than this share of their distance from the stop are as good as steady.
const FAR: f64 = 1e-3;

/// Time through a cell over that at steady acceleration, and the share of it that passes before
/// the mean acceleration is met. `near` and `far` are the distances of its ends from the stop.
pub(super) fn pace(near: f64, far: f64) -> (f64, f64) {
    if far - near < FAR * far {
        return (1.0, 0.5);
    }
    let (a, b) = (near.cbrt(), far.cbrt());
    let sums = a * a + a * b + b * b; // (b³ − a³)/(b − a)
    let weight = 1.5 * (a * a + b * b) / sums;
    let met = 0.75 * (a + b) * (a * a + b * b) / sums;
    (weight, (met - a) / (b - a))
}

#[cfg(test)]
mod tests {
    use super::pace;

    #[test]
    fn the_first_cell_takes_half_as_long_again() {
        assert_eq!(pace(0.0, 8.0), (1.5, 0.75));
    }

    #[test]
    fn far_cells_are_steady() {
        let (weight, met) = pace(1000.0, 1010.0);
        assert!((weight - 1.0).abs() < 1e-5 && (met - 0.5).abs() < 1e-3, "{weight} {met}");
        assert_eq!(pace(1000.0, 1000.5), (1.0, 0.5));
    }
}
