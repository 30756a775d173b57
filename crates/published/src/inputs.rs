//! The named inputs of a check; it is noted which of them a binding reads.

use crate::fault::Fault;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

/// What an input holds.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Quantity {
    /// A quantity in the unit at the end of its name.
    Real(f64),
    /// A count.
    Whole(i64),
    /// A word such as `up` or `down`.
    Word(String),
}

/// Inputs by name; a name ends in its unit.
#[derive(Debug, Clone, Default)]
pub struct Inputs {
    values: BTreeMap<String, Quantity>,
    read: RefCell<BTreeSet<String>>,
}

/// Units that a name may end in, longest first where one ends in another.
const UNITS: [(&str, &str); 44] = [
    ("_n_per_mm2", "N/mm²"),
    ("_n_per_mm", "N/mm"),
    ("_n_per_m2", "N/m²"),
    ("_n_per_m", "N/m"),
    ("_n_per_um", "N/µm"),
    ("_nmm_per_rad", "N mm/rad"),
    ("_mm_per_min", "mm/min"),
    ("_mm_per_s", "mm/s"),
    ("_mm_per_s2", "mm/s²"),
    ("_mm_per_s3", "mm/s³"),
    ("_mm_per_rev", "mm/rev"),
    ("_m_per_min", "m/min"),
    ("_m_per_s2", "m/s²"),
    ("_m_per_s3", "m/s³"),
    ("_cm3_per_min", "cm³/min"),
    ("_kg_per_m3", "kg/m³"),
    ("_per_mm", "1/mm"),
    ("_per_hour", "per h"),
    ("_per_min", "per min"),
    ("_ws_per_mm3", "W s/mm³"),
    ("_cm3", "cm³"),
    ("_mm3", "mm³"),
    ("_mm2", "mm²"),
    ("_mm", "mm"),
    ("_um", "µm"),
    ("_kg", "kg"),
    ("_rpm", "rpm"),
    ("_hz", "Hz"),
    ("_deg", "°"),
    ("_rad", "rad"),
    ("_months", "months"),
    ("_min", "min"),
    ("_ms", "ms"),
    ("_s", "s"),
    ("_kw", "kW"),
    ("_w", "W"),
    ("_nm", "N m"),
    ("_nmm", "N mm"),
    ("_gpa", "GPa"),
    ("_n", "N"),
    ("_percent", "%"),
    ("_ratio", ""),
    ("_count", ""),
    ("_price", ""),
];

/// Splits a name into words and unit; `None` where it does not end in a known unit.
pub(crate) fn unit_of(name: &str) -> Option<(&str, &'static str)> {
    let mut found: Option<(&str, &'static str)> = None;
    for (end, unit) in UNITS {
        if let Some(stem) = name.strip_suffix(end).filter(|s| !s.is_empty())
            && found.is_none_or(|(other, _)| stem.len() < other.len())
        {
            found = Some((stem, unit));
        }
    }
    found
}

impl Inputs {
    pub(crate) fn insert(&mut self, name: &str, quantity: Quantity) {
        self.values.insert(name.to_owned(), quantity);
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    fn get(&self, name: &str) -> Result<&Quantity, Fault> {
        self.read.borrow_mut().insert(name.to_owned());
        let names = || self.values.keys().cloned().collect::<Vec<_>>().join(", ");
        self.values.get(name).ok_or_else(|| {
            Fault::new(name, format!("the record has no such input; it has {}", names()))
        })
    }

    /// A quantity, in the unit of its name.
    ///
    /// # Errors
    /// The record has no such input, or it is a word.
    pub fn real(&self, name: &str) -> Result<f64, Fault> {
        match self.get(name)? {
            Quantity::Real(value) => Ok(*value),
            Quantity::Whole(_) | Quantity::Word(_) => {
                Err(Fault::new(name, "expected a number with a decimal point"))
            }
        }
    }

    /// A quantity that a record may leave out.
    ///
    /// # Errors
    /// It is there and not a number.
    pub fn real_or(&self, name: &str, left_out: f64) -> Result<f64, Fault> {
        if self.values.contains_key(name) { self.real(name) } else { Ok(left_out) }
    }

    /// A count, such as the teeth of a cutter.
    ///
    /// # Errors
    /// The record has no such input, or it is not a whole number from 0 up.
    pub fn count(&self, name: &str) -> Result<u32, Fault> {
        match self.get(name)? {
            Quantity::Whole(value) => u32::try_from(*value)
                .map_err(|_| Fault::new(name, format!("{value} is not a count"))),
            Quantity::Real(_) | Quantity::Word(_) => {
                Err(Fault::new(name, "expected a whole number without a decimal point"))
            }
        }
    }

    /// A word.
    ///
    /// # Errors
    /// The record has no such input, or it is a number.
    pub fn word(&self, name: &str) -> Result<&str, Fault> {
        match self.get(name)? {
            Quantity::Word(word) => Ok(word),
            Quantity::Real(_) | Quantity::Whole(_) => Err(Fault::new(name, "expected a word")),
        }
    }

    /// Names that no binding asked for.
    pub(crate) fn unread(&self) -> Vec<&str> {
        let read = self.read.borrow();
        self.values.keys().filter(|n| !read.contains(*n)).map(String::as_str).collect()
    }

    /// Names of the numbers.
    pub(crate) fn numbers(&self) -> impl Iterator<Item = &str> {
        let number = |q: &Quantity| !matches!(q, Quantity::Word(_));
        self.values.iter().filter(move |(_, q)| number(q)).map(|(n, _)| n.as_str())
    }

    /// The same inputs with one number changed: a quantity times `factor`, a count by one up
    /// (`factor` above 1) or down.
    pub(crate) fn nudged(&self, name: &str, factor: f64) -> Self {
        let mut values = self.values.clone();
        match values.get_mut(name) {
            Some(Quantity::Real(value)) if *value == 0.0 => *value = factor - 1.0,
            Some(Quantity::Real(value)) => *value *= factor,
            Some(Quantity::Whole(value)) => *value += if factor > 1.0 { 1 } else { -1 },
            Some(Quantity::Word(_)) | None => {}
        }
        Self { values, read: RefCell::default() }
    }

    /// The inputs in words for people: `radius 5 mm, step 0.5 mm`.
    pub(crate) fn in_words(&self) -> String {
        let one = |(name, quantity): (&String, &Quantity)| match quantity {
            Quantity::Real(value) => {
                let (stem, unit) = unit_of(name).unwrap_or((name, ""));
                format!("{} {value} {unit}", stem.replace('_', " ")).trim_end().to_owned()
            }
            Quantity::Whole(value) => {
                let stem = unit_of(name).map_or(name.as_str(), |(stem, _)| stem);
                format!("{} {value}", stem.replace('_', " "))
            }
            Quantity::Word(word) => format!("{} {word}", name.replace('_', " ")),
        };
        self.values.iter().map(one).collect::<Vec<_>>().join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn some() -> Inputs {
        let mut inputs = Inputs::default();
        inputs.insert("arc_radius_mm", Quantity::Real(5.0));
        inputs.insert("speed_m_per_min", Quantity::Real(0.0));
        inputs.insert("teeth", Quantity::Whole(4));
        inputs.insert("mode", Quantity::Word("up".to_owned()));
        inputs
    }

    #[test]
    fn units_are_read_from_the_end_of_a_name() {
        assert_eq!(unit_of("kt_n_per_mm2"), Some(("kt", "N/mm²")));
        assert_eq!(unit_of("feed_mm_per_min"), Some(("feed", "mm/min")));
        assert_eq!(unit_of("time_min"), Some(("time", "min")));
        assert_eq!(unit_of("radius"), None);
        assert_eq!(unit_of("_mm"), None);
    }

    #[test]
    fn what_is_read_is_noted_and_types_are_held() {
        let inputs = some();
        assert_eq!(inputs.real("arc_radius_mm"), Ok(5.0));
        assert_eq!(inputs.count("teeth"), Ok(4));
        assert_eq!(inputs.word("mode"), Ok("up"));
        assert_eq!(inputs.unread(), ["speed_m_per_min"]);
        assert!(inputs.real("teeth").is_err() && inputs.count("arc_radius_mm").is_err());
        let missing = inputs.real("step_mm").expect_err("not there").to_string();
        assert!(missing.contains("arc_radius_mm"), "{missing}");
        assert_eq!(inputs.real_or("step_mm", 2.0), Ok(2.0));
    }

    #[test]
    fn a_nudge_changes_one_number() {
        let inputs = some();
        assert_eq!(inputs.nudged("arc_radius_mm", 1.1).real("arc_radius_mm"), Ok(5.5));
        assert_eq!(inputs.nudged("teeth", 1.1).count("teeth"), Ok(5));
        assert!(inputs.nudged("speed_m_per_min", 1.5).real("speed_m_per_min") == Ok(0.5));
        assert_eq!(inputs.in_words(), "arc radius 5 mm, mode up, speed 0 m/min, teeth 4");
    }
}
