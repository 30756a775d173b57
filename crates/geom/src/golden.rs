//! The golden-section search. Source: J. Kiefer, Sequential minimax search for a maximum (1953), from memory.

/// What a step of the search leaves of the range.
const LEFT: f64 = 0.618_033_988_749_894_9;

/// Where a value with one top over `[from, to]` is largest, and the value there, after `steps` steps, each of
/// which leaves 0.618 of the range; the first place that reaches `enough` ends the search at once.
pub fn largest(
    value: impl Fn(f64) -> f64,
    [mut from, mut to]: [f64; 2],
    steps: usize,
    enough: f64,
) -> (f64, f64) {
    let measured = |x: f64| (x, value(x));
    let lower = |from: f64, to: f64| measured(to - LEFT * (to - from));
    let upper = |from: f64, to: f64| measured(from + LEFT * (to - from));
    let mut inner = [lower(from, to), upper(from, to)];
    for _ in 0..steps {
        if let Some(found) = inner.into_iter().find(|(_, v)| *v >= enough) {
            return found;
        }
        if inner[0].1 >= inner[1].1 {
            to = inner[1].0;
            inner = [lower(from, to), inner[0]];
        } else {
            from = inner[0].0;
            inner = [inner[1], upper(from, to)];
        }
    }
    if inner[0].1 >= inner[1].1 { inner[0] } else { inner[1] }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_top_is_found_to_what_the_steps_leave() {
        let top = |x: f64| 2.0 - (x - 0.3).abs();
        let (at, value) = largest(top, [-1.0, 4.0], 40, f64::INFINITY);
        assert!((at - 0.3).abs() < 5.0 * LEFT.powi(40) && (value - 2.0).abs() < 1e-7);
        // at an end
        assert!(largest(|x| x, [0.0, 1.0], 40, f64::INFINITY).0 > 1.0 - 1e-8);
        assert!(largest(|x| -x, [0.0, 1.0], 40, f64::INFINITY).0 < 1e-8);
    }

    #[test]
    fn what_is_enough_ends_the_search() {
        let count = std::cell::Cell::new(0);
        let counted = |x: f64| {
            count.set(count.get() + 1);
            x
        };
        let (at, _) = largest(counted, [0.0, 1.0], 40, 0.5);
        assert!((at - LEFT).abs() < 1e-12 && count.get() == 2);
    }
}
