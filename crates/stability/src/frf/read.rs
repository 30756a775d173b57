//! Reads a measured response from the bytes of a table.
//!
//! Three columns: frequency in Hz, real and imaginary part of displacement over force in m/N, parted by
//! commas, semicolons or blanks, with a point as decimal sign. A first row of names is allowed; where it
//! names units they must be these. Lines that start with `#` and empty lines are skipped.

use super::MeasuredResponse;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// Fewest rows of a response.
const FEWEST_ROWS: usize = 16;
/// Most rows that are taken.
const MOST_ROWS: usize = 2_000_000;
/// A step of frequency that is this many times as long as both its neighbours is a gap.
const GAP: f64 = 2.5;
/// Largest and smallest peak of a response, m/N, that a tool or a machine has. From memory: tips of
/// slender cutters reach some 1e-5 m/N at resonance; stiff noses stay above some 1e-9 m/N.
const SOFTEST_M_N: f64 = 1e-3;
const STIFFEST_M_N: f64 = 1e-11;
/// Highest frequency that is taken, Hz.
const HIGHEST_HZ: f64 = 1e6;
/// m/N to mm/N.
const MM_PER_M: f64 = 1000.0;

/// Why a table is no response.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{file}, line {line}, column {column}: {found}, expected {expected}; {remedy}")]
pub struct FrfError {
    /// Name of the file.
    pub file: String,
    /// Line, counted from 1.
    pub line: usize,
    /// Column of characters, counted from 1.
    pub column: usize,
    /// What stands there.
    pub found: String,
    /// What was expected.
    pub expected: String,
    /// What to do.
    pub remedy: String,
}

/// Reads a response.
///
/// # Errors
/// The first row that is not three finite numbers in rising order of frequency, a gap in frequency, a
/// unit other than Hz and m/N, or values that no displacement over force has.
pub fn read(bytes: &[u8], file: &str) -> Result<MeasuredResponse, FrfError> {
    let blame = Blame { file };
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let before = &bytes[..error.valid_up_to()];
        let line = 1 + before.iter().filter(|b| **b == b'\n').count();
        blame.at(line, 1, "bytes that are not text", "a table as UTF-8", "export it as CSV")
    })?;
    let mut rows: Vec<Row> = Vec::new();
    let mut named = false;
    for (index, raw) in text.trim_start_matches('\u{feff}').lines().enumerate() {
        let line = index + 1;
        let shown = raw.trim();
        if shown.is_empty() || shown.starts_with('#') {
            continue;
        }
        let cells = cells(raw);
        if rows.is_empty() && !named && is_heading(&cells) {
            blame.heading(line, &cells)?;
            named = true;
            continue;
        }
        if rows.len() == MOST_ROWS {
            let expected = format!("at most {MOST_ROWS} rows");
            return Err(blame.at(line, 1, "one row too many", &expected, "export it coarser"));
        }
        let row = blame.row(line, &cells)?;
        blame.rising(rows.last(), &row)?;
        rows.push(row);
    }
    blame.enough(&rows, text)?;
    blame.gaps(&rows)?;
    blame.plausible(&rows)?;
    Ok(MeasuredResponse {
        omegas_rad_s: rows.iter().map(|r| TAU * r.hz).collect(),
        values_mm_n: rows.iter().map(|r| MM_PER_M * r.value_m_n).collect(),
    })
}

struct Row {
    line: usize,
    hz: f64,
    value_m_n: Complex64,
}

/// A cell and the column at which it starts.
struct Cell<'a> {
    column: usize,
    text: &'a str,
}

/// The cells of a line: parted by semicolons, else commas, else blanks.
fn cells(line: &str) -> Vec<Cell<'_>> {
    let blank = |c: char| c == ' ' || c == '\t';
    let (parted, blanks) = match [';', ','].into_iter().find(|s| line.contains(*s)) {
        Some(separator) => (line.split(separator).collect::<Vec<_>>(), false),
        None => (line.split(blank).collect(), true),
    };
    let start = |part: &str| part.as_ptr() as usize - line.as_ptr() as usize;
    parted
        .into_iter()
        .filter(|part| !blanks || !part.trim().is_empty())
        .map(|part| {
            let text = part.trim();
            let lead = part.len() - part.trim_start().len();
            let column = 1 + line[..start(part) + lead].chars().count();
            Cell { column, text: text.trim_matches('"') }
        })
        .collect()
}

/// Whether the first row holds names: none of its cells is a number or looks like one.
fn is_heading(cells: &[Cell<'_>]) -> bool {
    cells.iter().all(|cell| {
        cell.text.parse::<f64>().is_err() && cell.text.starts_with(|c: char| c.is_alphabetic())
    })
}

struct Blame<'a> {
    file: &'a str,
}

impl Blame<'_> {
    fn at(
        &self,
        line: usize,
        column: usize,
        found: &str,
        expected: &str,
        remedy: &str,
    ) -> FrfError {
        FrfError {
            file: self.file.to_owned(),
            line,
            column,
            found: found.to_owned(),
            expected: expected.to_owned(),
            remedy: remedy.to_owned(),
        }
    }

    /// Units that a heading names must be Hz and m/N.
    fn heading(&self, line: usize, cells: &[Cell<'_>]) -> Result<(), FrfError> {
        for (index, cell) in cells.iter().enumerate() {
            let Some(unit) = unit_of(cell.text) else { continue };
            let expected = if index == 0 { "Hz" } else { "m/N" };
            if unit.eq_ignore_ascii_case(expected) {
                continue;
            }
            let remedy = format!("export the column in {expected}, or convert it");
            let found = format!("the unit {}", quoted(unit));
            return Err(self.at(line, cell.column, &found, expected, &remedy));
        }
        Ok(())
    }

    fn row(&self, line: usize, cells: &[Cell<'_>]) -> Result<Row, FrfError> {
        if cells.len() != 3 {
            let column = cells.get(3).or(cells.last()).map_or(1, |c| c.column);
            let found = format!("{} values", cells.len());
            let remedy = "one row for each frequency, a point as decimal sign, commas between";
            let expected = "three: Hz, real part, imaginary part";
            return Err(self.at(line, column, &found, expected, remedy));
        }
        let number = |cell: &Cell<'_>, what: &str| {
            let value = cell.text.parse::<f64>().ok().filter(|v| v.is_finite());
            value.ok_or_else(|| {
                let found = if cell.text.is_empty() {
                    "an empty cell".to_owned()
                } else {
                    quoted(cell.text)
                };
                let expected = format!("{what} as a finite number");
                let remedy = "fill the gap from the measurement, or leave out the row";
                self.at(line, cell.column, &found, &expected, remedy)
            })
        };
        let hz = number(&cells[0], "the frequency in Hz")?;
        if !(0.0..=HIGHEST_HZ).contains(&hz) {
            let expected = format!("a frequency from 0 to {HIGHEST_HZ} Hz");
            let remedy = "check the unit of the first column";
            return Err(self.at(line, cells[0].column, &format!("{hz}"), &expected, remedy));
        }
        let re = number(&cells[1], "the real part in m/N")?;
        let im = number(&cells[2], "the imaginary part in m/N")?;
        Ok(Row { line, hz, value_m_n: Complex64::new(re, im) })
    }

    fn rising(&self, before: Option<&Row>, row: &Row) -> Result<(), FrfError> {
        match before {
            Some(before) if !(row.hz > before.hz) => {
                let found = format!("{} Hz after {} Hz", row.hz, before.hz);
                let remedy = "sort the rows by frequency and keep each frequency once";
                Err(self.at(row.line, 1, &found, "rising frequencies", remedy))
            }
            _ => Ok(()),
        }
    }

    fn enough(&self, rows: &[Row], text: &str) -> Result<(), FrfError> {
        if rows.len() >= FEWEST_ROWS {
            return Ok(());
        }
        let line = rows.last().map_or_else(|| text.lines().count().max(1), |r| r.line);
        let found = format!("the table ends after {} rows", rows.len());
        let expected = format!("at least {FEWEST_ROWS} rows");
        Err(self.at(line, 1, &found, &expected, "export the whole response"))
    }

    /// A step of frequency much longer than both its neighbours is a hole in the table.
    fn gaps(&self, rows: &[Row]) -> Result<(), FrfError> {
        let steps: Vec<f64> = rows.windows(2).map(|r| r[1].hz - r[0].hz).collect();
        for (i, step) in steps.iter().enumerate() {
            let before = i.checked_sub(1).map(|j| steps[j]);
            let after = steps.get(i + 1).copied();
            let beside = before.into_iter().chain(after).fold(0.0, f64::max);
            if *step > GAP * beside {
                let (from, to) = (rows[i].hz, rows[i + 1].hz);
                let found = format!("no row between {from} and {to} Hz");
                let expected = format!("steps of about {beside} Hz");
                let remedy = "fill the gap from the measurement, or cut the table there";
                return Err(self.at(rows[i + 1].line, 1, &found, &expected, remedy));
            }
        }
        Ok(())
    }

    /// The peak must be one of displacement over force in m/N, and lag the force.
    fn plausible(&self, rows: &[Row]) -> Result<(), FrfError> {
        let larger = |a: &&Row, b: &&Row| a.value_m_n.norm().total_cmp(&b.value_m_n.norm());
        let Some(peak) = rows.iter().max_by(larger) else { return Ok(()) };
        let size = peak.value_m_n.norm();
        if !(STIFFEST_M_N..=SOFTEST_M_N).contains(&size) {
            let found = format!("a peak of {size:e} at {} Hz", peak.hz);
            let expected =
                format!("displacement over force from {STIFFEST_M_N:e} to {SOFTEST_M_N:e} m/N");
            let remedy =
                "check the unit: µm/N, mm/N, speed or acceleration over force must be converted";
            return Err(self.at(peak.line, 1, &found, &expected, remedy));
        }
        let most = rows.iter().map(|r| r.value_m_n.im).fold(f64::MIN, f64::max);
        let least = rows.iter().map(|r| r.value_m_n.im).fold(f64::MAX, f64::min);
        if most > -least {
            let found = format!("an imaginary part of {most:e} that leads the force");
            let expected = "displacement over force, whose imaginary part is negative at a peak";
            let remedy = "change the sign if the export counts time backwards; convert speed or acceleration \
                          over force";
            return Err(self.at(peak.line, 1, &found, expected, remedy));
        }
        Ok(())
    }
}

/// The unit that a name gives: what stands in brackets, as in `real (m/N)` or `f [Hz]`, else a word that
/// is one.
fn unit_of(name: &str) -> Option<&str> {
    if let Some(open) = name.find(['(', '[']) {
        let rest = &name[open + 1..];
        return rest.find([')', ']']).map(|close| rest[..close].trim());
    }
    let is_unit = |word: &&str| word.contains('/') || word.to_ascii_lowercase().ends_with("hz");
    name.split_whitespace().find(is_unit)
}

/// At most 40 characters, nothing unprintable.
fn quoted(text: &str) -> String {
    let short: String =
        text.chars().take(40).map(|c| if c.is_control() { '·' } else { c }).collect();
    format!("\"{short}\"")
}
