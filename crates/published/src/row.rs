//! One row of the register, and the line by which a test hands it on.

use crate::fault::Fault;
use crate::printed::significant;
use crate::record::Check;

/// Most digits that a row shows of our value.
const MOST_DIGITS: usize = 9;
/// Deviations below this share are rounding and are shown as such: they differ between machines.
const ROUNDING: f64 = 1e-8;

/// A row; every cell is text, so that a register is the same on every machine.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Row {
    /// Heading.
    pub field: String,
    /// The claim that the row stands for.
    pub group: String,
    /// Crate that holds the record.
    pub krate: String,
    /// Name of the record.
    pub id: String,
    /// Number of the case with leading zeros, so that rows sort.
    pub case: String,
    /// What is computed.
    pub quantity: String,
    /// From what.
    pub inputs: String,
    /// Our value, with one digit more than the source prints.
    pub ours: String,
    /// What the source prints.
    pub theirs: String,
    /// Unit.
    pub unit: String,
    /// Ours less theirs.
    pub deviation: String,
    /// How far off we may be.
    pub tolerance: String,
    /// Why that far.
    pub because: String,
    /// Key of the source; empty for a derived value.
    pub source: String,
    /// Where in it, or how derived.
    pub place: String,
    /// How the value came to us.
    pub seen: String,
    /// Range of validity.
    pub domain: String,
}

impl Row {
    /// The row of a check and our value.
    pub(crate) fn new(krate: &str, check: &Check, ours: f64) -> Self {
        let because = match &check.no_better {
            Some(why) => format!("{}; {why}", check.because),
            None => check.because.clone(),
        };
        Self {
            field: check.field.clone(),
            group: check.group.clone(),
            krate: krate.to_owned(),
            id: check.id.clone(),
            case: format!("{:03}", check.case),
            quantity: check.quantity.clone(),
            inputs: check.inputs.in_words(),
            ours: significant(ours, (check.expected.digits + 1).clamp(4, MOST_DIGITS)),
            theirs: check.expected.text.clone(),
            unit: check.unit.clone(),
            deviation: deviation(ours, check.expected.value, &check.unit),
            tolerance: check.allowed.in_words(&check.unit),
            because,
            source: check.source.clone(),
            place: check.place.clone(),
            seen: check.seen.words().to_owned(),
            domain: check.domain.clone(),
        }
    }

    fn cells(&self) -> [&str; 17] {
        [
            &self.field,
            &self.group,
            &self.krate,
            &self.id,
            &self.case,
            &self.quantity,
            &self.inputs,
            &self.ours,
            &self.theirs,
            &self.unit,
            &self.deviation,
            &self.tolerance,
            &self.because,
            &self.source,
            &self.place,
            &self.seen,
            &self.domain,
        ]
    }

    /// As a line: cells between tabs.
    pub(crate) fn line(&self) -> String {
        self.cells().map(|c| c.replace(['\t', '\n'], " ")).join("\t")
    }

    /// From a line.
    ///
    /// # Errors
    /// The line has another number of cells.
    pub fn parse(line: &str) -> Result<Self, Fault> {
        let cells: Vec<String> = line.split('\t').map(str::to_owned).collect();
        let count = cells.len();
        let [
            field,
            group,
            krate,
            id,
            case,
            quantity,
            inputs,
            ours,
            theirs,
            unit,
            deviation,
            tolerance,
            because,
            source,
            place,
            seen,
            domain,
        ] = <[String; 17]>::try_from(cells)
            .map_err(|_| Fault::new("row", format!("{count} cells, expected 17: {line}")))?;
        Ok(Self {
            field,
            group,
            krate,
            id,
            case,
            quantity,
            inputs,
            ours,
            theirs,
            unit,
            deviation,
            tolerance,
            because,
            source,
            place,
            seen,
            domain,
        })
    }
}

/// Ours less theirs, as a share where theirs is not 0.
fn deviation(ours: f64, theirs: f64, unit: &str) -> String {
    let difference = ours - theirs;
    if theirs == 0.0 {
        if difference.abs() < ROUNDING {
            return "0".to_owned();
        }
        return format!("{} {unit}", significant(difference, 2)).trim_end().to_owned();
    }
    let share = difference / theirs.abs();
    if share.abs() < ROUNDING {
        return "< 1e-6 %".to_owned();
    }
    format!("{} %", significant(100.0 * share, 2))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn deviations_have_two_digits_and_rounding_is_called_so() {
        assert_eq!(deviation(1.0 + 1e-12, 1.0, "mm"), "< 1e-6 %");
        assert_eq!(deviation(1.02, 1.0, "mm"), "2.0 %");
        assert_eq!(deviation(-1.02, -1.0, "mm"), "-2.0 %");
        assert_eq!(deviation(0.003, 0.0, "mm"), "0.0030 mm");
        assert_eq!(deviation(0.0, 0.0, "mm"), "0");
    }

    #[test]
    fn a_row_comes_back_from_its_line() {
        let cells: Vec<String> = (0..17).map(|i| format!("cell {i}")).collect();
        let row = Row::parse(&cells.join("\t")).expect("a row");
        assert_eq!(Row::parse(&row.line()).expect("a row"), row);
        assert_eq!((row.field.as_str(), row.domain.as_str()), ("cell 0", "cell 16"));
        assert!(Row::parse("a\tb").is_err());
    }
}
