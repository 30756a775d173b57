//! Numbers as words of a program have them.

/// Decimals of lengths in mm.
pub const LENGTH: usize = 4;

/// `value` with at most `decimals`, always with a point, never a negative zero.
pub fn pointed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = text.trim_end_matches('0');
    if text.trim_start_matches('-') == "0." { "0.".into() } else { text.to_owned() }
}

/// Five significant digits of a positive value, with a point.
pub fn feed(value: f64) -> String {
    let digits = value.abs().max(1e-9).log10().floor() as i32 + 1;
    pointed(value, (5 - digits).clamp(1, 9) as usize)
}

/// Letters, digits and a few signs: what every control takes in a comment.
pub fn upper(text: &str) -> String {
    let keep = |c: char| if c.is_ascii_alphanumeric() || " .,:-+/".contains(c) { c } else { ' ' };
    text.chars().map(keep).collect::<String>().to_ascii_uppercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_stay_and_zeros_go() {
        assert_eq!(pointed(-0.000_01, 4), "0.");
        assert_eq!(pointed(12.5, 4), "12.5");
        assert_eq!(pointed(-3.0, 4), "-3.");
        assert_eq!(pointed(0.0, 4), "0.");
        assert_eq!(pointed(1.5, 4), "1.5");
        assert_eq!(pointed(0.123_45, 4), "0.1235");
        assert_eq!(feed(7200.0), "7200.");
        assert_eq!(feed(123.456_7), "123.46");
        assert_eq!(feed(0.012_345_6), "0.012346");
    }
}
