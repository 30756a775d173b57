//! The range that a law was found over, and what is said where a cut leaves it.

use units::Interval;

/// What a cut does, as far as a law's range is stated in it. `None` is not checked.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Conditions {
    /// Largest chip thickness, mm.
    pub chip_mm: Option<f64>,
    /// Cutting speed at the contact, m/min.
    pub speed_m_min: Option<f64>,
    /// Feed per tooth, mm.
    pub feed_per_tooth_mm: Option<f64>,
    /// Depth of cut along the axis, mm.
    pub depth_mm: Option<f64>,
    /// Width of cut across the axis, mm.
    pub width_mm: Option<f64>,
    /// Width of cut over the cutter's diameter.
    pub width_over_diameter: Option<f64>,
}

/// Tested ranges of a law; `None` where the source does not state one.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Validity {
    /// Chip thickness, mm.
    pub chip_mm: Option<Interval>,
    /// Cutting speed, m/min.
    pub speed_m_min: Option<Interval>,
    /// Feed per tooth, mm.
    pub feed_per_tooth_mm: Option<Interval>,
    /// Depth of cut along the axis, mm.
    pub depth_mm: Option<Interval>,
    /// Width of cut across the axis, mm.
    pub width_mm: Option<Interval>,
    /// Width of cut over the cutter's diameter.
    pub width_over_diameter: Option<Interval>,
}

/// A quantity of a cut that lies outside the range of a law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// The quantity in words.
    pub quantity: &'static str,
    /// Its unit; empty for a ratio.
    pub unit: &'static str,
    /// Its value.
    pub value: f64,
    /// The range that it lies outside of.
    pub range: Interval,
}

impl Left {
    /// How far outside, as the natural logarithm of value over the nearer end; 0 where a value or
    /// end is not positive.
    pub fn distance(&self) -> f64 {
        let end = if self.value < self.range.low { self.range.low } else { self.range.high };
        let ratio = self.value / end;
        if ratio > 0.0 && ratio.is_finite() { ratio.ln().abs() } else { 0.0 }
    }
}

impl std::fmt::Display for Left {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { quantity, unit, value, range } = self;
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        let side = if *value < range.low { "below" } else { "above" };
        write!(
            f,
            "{quantity} {}{unit} is {side} the tested {} to {}{unit}",
            short(*value),
            short(range.low),
            short(range.high)
        )
    }
}

/// Four digits are enough to find a value again.
fn short(value: f64) -> String {
    let digits = if value == 0.0 { 0 } else { (3 - value.abs().log10().floor() as i32).max(0) };
    let text = format!("{value:.*}", digits.clamp(0, 12) as usize);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A range that is left by less than this share of its end is not left: rounding.
const ROUNDING: f64 = 1e-9;

impl Validity {
    /// Every range that a cut leaves, in the order of the fields.
    pub fn left_by(&self, cut: &Conditions) -> Vec<Left> {
        let rows = [
            ("chip thickness", "mm", self.chip_mm, cut.chip_mm),
            ("cutting speed", "m/min", self.speed_m_min, cut.speed_m_min),
            ("feed per tooth", "mm", self.feed_per_tooth_mm, cut.feed_per_tooth_mm),
            ("depth of cut", "mm", self.depth_mm, cut.depth_mm),
            ("width of cut", "mm", self.width_mm, cut.width_mm),
            ("width over diameter", "", self.width_over_diameter, cut.width_over_diameter),
        ];
        rows.into_iter()
            .filter_map(|(quantity, unit, range, value)| {
                let (range, value) = (range?, value?);
                let inside =
                    value >= range.low * (1.0 - ROUNDING) && value <= range.high * (1.0 + ROUNDING);
                (!inside).then_some(Left { quantity, unit, value, range })
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_stated_ranges_are_checked_and_the_message_names_them() {
        let validity = Validity {
            chip_mm: Some(Interval::new(0.01, 0.1)),
            speed_m_min: Some(Interval::new(100.0, 120.0)),
            ..Validity::default()
        };
        let cut = Conditions {
            chip_mm: Some(0.1),
            speed_m_min: Some(240.0),
            width_mm: Some(99.0),
            ..Conditions::default()
        };
        let left = validity.left_by(&cut);
        assert_eq!(left.len(), 1);
        assert_eq!(
            left[0].to_string(),
            "cutting speed 240 m/min is above the tested 100 to 120 m/min"
        );
        assert!((left[0].distance() - 2.0_f64.ln()).abs() < 1e-12);
        let thin = Conditions { chip_mm: Some(0.004), ..Conditions::default() };
        assert_eq!(
            validity.left_by(&thin)[0].to_string(),
            "chip thickness 0.004 mm is below the tested 0.01 to 0.1 mm"
        );
    }
}
