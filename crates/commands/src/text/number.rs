//! Numbers as people read them: so many digits, no exponent, a thin gap between thousands.

/// `value` to so many significant digits; plain digits, trailing zeros kept off.
pub(crate) fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".to_owned() } else { value.to_string() };
    }
    let order = value.abs().log10().floor() as i32;
    let decimals = (digits as i32 - 1 - order).clamp(0, 12) as usize;
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    };
    grouped(&text)
}

/// `value` with so many decimals.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let zero = text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.');
    grouped(if zero { text.trim_start_matches('-') } else { &text })
}

/// Puts a space between groups of three digits before the point, from five digits on.
fn grouped(text: &str) -> String {
    let (sign, rest) = text.strip_prefix('-').map_or(("", text), |r| ("-", r));
    let (whole, fraction) = rest.split_once('.').map_or((rest, None), |(w, f)| (w, Some(f)));
    let mut out = String::from(sign);
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && whole.len() > 4 && (whole.len() - i).is_multiple_of(3) {
            out.push(' ');
        }
        out.push(digit);
    }
    if let Some(fraction) = fraction {
        out.push('.');
        out.push_str(fraction);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_and_groups() {
        assert_eq!(significant(3.334_260_123, 7), "3.33426");
        assert_eq!(significant(0.000_123_456_7, 4), "0.0001235");
        assert_eq!(significant(1_234_567.0, 4), "1 234 567");
        assert_eq!(significant(-1500.0, 6), "-1500");
        assert_eq!(fixed(-0.001, 1), "0.0");
        assert_eq!(fixed(12345.678, 1), "12 345.7");
    }
}
