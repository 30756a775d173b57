//! Decimal numbers from bytes, correctly rounded.

/// A number with where it ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Number {
    pub(crate) value: f64,
    pub(crate) pointed: bool,
    pub(crate) end: usize,
}

/// Powers of ten that are exact.
const POWERS: [f64; 16] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/// The number at `start`: sign, digits, point, digits; at least one digit. `None` where there is
/// none, or it is too large to be one.
#[inline]
pub(crate) fn at(bytes: &[u8], start: usize) -> Option<Number> {
    let mut at = start;
    let negative = match bytes.get(at) {
        Some(b'-') => {
            at += 1;
            true
        }
        Some(b'+') => {
            at += 1;
            false
        }
        _ => false,
    };
    let digits_from = at;
    let mut mantissa = 0u64;
    while let Some(digit) = bytes.get(at).map(|b| b.wrapping_sub(b'0')).filter(|d| *d < 10) {
        mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(digit));
        at += 1;
    }
    let mut digits = at - digits_from;
    let pointed = bytes.get(at) == Some(&b'.');
    let mut decimals = 0;
    if pointed {
        at += 1;
        let from = at;
        while let Some(digit) = bytes.get(at).map(|b| b.wrapping_sub(b'0')).filter(|d| *d < 10) {
            mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(digit));
            at += 1;
        }
        decimals = at - from;
        digits += decimals;
    }
    if digits == 0 {
        return None;
    }
    // up to 15 digits and a power of ten up to 15 are exact, so that one division rounds once
    let size = if digits <= 15 {
        mantissa as f64 / POWERS[decimals]
    } else {
        std::str::from_utf8(&bytes[digits_from..at]).ok()?.parse().ok()?
    };
    let value = if negative { -size } else { size };
    value.is_finite().then_some(Number { value, pointed, end: at })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn signs_points_and_lone_digits() {
        let of = |text: &str| at(text.as_bytes(), 0);
        assert_eq!(of("-.5 "), Some(Number { value: -0.5, pointed: true, end: 3 }));
        assert_eq!(of("+12."), Some(Number { value: 12.0, pointed: true, end: 4 }));
        assert_eq!(of("007Y"), Some(Number { value: 7.0, pointed: false, end: 3 }));
        assert_eq!(of("-."), None);
        assert_eq!(of(""), None);
        assert_eq!(of(&"9".repeat(400)), None, "no number of a machine");
    }

    proptest! {
        #[test]
        fn rounds_as_the_standard_library(text in "-?[0-9]{1,20}(\\.[0-9]{0,20})?") {
            let parsed: f64 = text.parse().unwrap();
            prop_assert_eq!(at(text.as_bytes(), 0).unwrap().value.to_bits(), parsed.to_bits());
        }
    }
}
