//! The readings: `test,seconds`, one line for each stretch.

use thiserror::Error;

/// A time that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Name of the stretch, as the program's messages have it.
    pub test: String,
    /// Seconds between its two stops.
    pub seconds: f64,
}

/// A fault in the readings, with its place.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{name}:{line}:{column}: {message}; expected {expected}; {remedy}")]
pub struct ReadingError {
    /// Name of the file.
    pub name: String,
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// What is wrong.
    pub message: String,
    /// What was expected.
    pub expected: String,
    /// What to do.
    pub remedy: String,
}

/// Longest time of a stretch that is believed, s.
const LONGEST_S: f64 = 3600.0;

/// Reads the text of a file of readings; `known` are the names of the stretches.
///
/// A head `test,seconds` may stand first, remarks begin with `#`; a comma, a semicolon or a tab
/// parts the two. A stretch that was read several times counts with the mean of its readings.
///
/// # Errors
/// A line that is no reading, a name that no stretch has, a time that cannot be.
pub fn read(bytes: &[u8], name: &str, known: &[&str]) -> Result<Vec<Reading>, ReadingError> {
    let text = std::str::from_utf8(bytes).map_err(|error| ReadingError {
        name: name.into(),
        line: 1 + bytes[..error.valid_up_to()].iter().filter(|b| **b == b'\n').count(),
        column: 1,
        message: "the file is not UTF-8 text".into(),
        expected: "lines of the form test,seconds".into(),
        remedy: "save it as plain text".into(),
    })?;
    let mut sums: Vec<(String, f64, u32)> = Vec::new();
    for (index, line) in text.trim_start_matches('\u{feff}').lines().enumerate() {
        let trimmed = line.trim();
        let head = index == 0 && trimmed.to_lowercase().starts_with("test");
        if trimmed.is_empty() || trimmed.starts_with('#') || head {
            continue;
        }
        let place = Place { name, line: index + 1, text: line };
        let (test, seconds) = place.reading(known)?;
        match sums.iter_mut().find(|(t, ..)| *t == test) {
            Some((_, sum, count)) => {
                *sum += seconds;
                *count += 1;
            }
            None => sums.push((test, seconds, 1)),
        }
    }
    let mean =
        |(test, sum, count): (String, f64, u32)| Reading { test, seconds: sum / f64::from(count) };
    Ok(sums.into_iter().map(mean).collect())
}

struct Place<'a> {
    name: &'a str,
    line: usize,
    text: &'a str,
}

impl Place<'_> {
    fn fault(&self, column: usize, message: String, expected: &str, remedy: &str) -> ReadingError {
        ReadingError {
            name: self.name.into(),
            line: self.line,
            column,
            message,
            expected: expected.into(),
            remedy: remedy.into(),
        }
    }

    fn reading(&self, known: &[&str]) -> Result<(String, f64), ReadingError> {
        let Some((test, seconds)) = self.text.split_once([',', ';', '\t']) else {
            let message = "the line has one field".to_owned();
            let remedy = "write the name of the stretch, a comma and the seconds";
            return Err(self.fault(1, message, "two fields: test,seconds", remedy));
        };
        let column = self.text.len() - seconds.len() + 1;
        let (test, seconds) = (test.trim().trim_matches('"'), seconds.trim().trim_matches('"'));
        if !known.contains(&test) {
            let names = format!("one of {}", known.join(", "));
            let message = format!("there is no stretch \"{test}\"");
            let remedy = "write the names as the program's messages show them";
            return Err(self.fault(1, message, &names, remedy));
        }
        let value: f64 = seconds.parse().map_err(|_| {
            let message = format!("\"{seconds}\" is no number");
            let remedy = "write seconds with a point: 21.4; 1 min 21.4 s are 81.4";
            self.fault(column, message, "seconds", remedy)
        })?;
        if !(value > 0.0 && value <= LONGEST_S) {
            let message = format!("{value} s is no time of a stretch");
            let remedy = "correct it, or drop the line";
            return Err(self.fault(column, message, "more than 0 and at most 3600 s", remedy));
        }
        Ok((test.to_owned(), value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const KNOWN: [&str; 2] = ["x-short", "blocks"];

    #[test]
    fn heads_remarks_and_repeated_readings_are_understood() {
        let text = "\u{feff}test,seconds\r\n# with a stopwatch\r\nx-short, 21.0\r\nblocks;30\n\nx-short\t22.0\n";
        let read = read(text.as_bytes(), "times.csv", &KNOWN).expect("sound");
        assert_eq!(read.len(), 2);
        assert_eq!((read[0].test.as_str(), read[0].seconds), ("x-short", 21.5));
    }

    #[test]
    fn faults_name_their_place() {
        for (text, line, column, words) in [
            ("x-short\n", 1, 1, "one field"),
            ("test,seconds\nx-shrt,20\n", 2, 1, "no stretch"),
            ("x-short,2o.1\n", 1, 9, "no number"),
            ("x-short,-3\n", 1, 9, "no time"),
            ("x-short,NaN\n", 1, 9, "no time"),
            ("blocks,20\nx-short,1e9\n", 2, 9, "no time"),
        ] {
            let error = read(text.as_bytes(), "t.csv", &KNOWN).expect_err(text);
            assert_eq!((error.line, error.column), (line, column), "{error}");
            assert!(error.to_string().contains(words), "{error}");
        }
        let error = read(b"x-short,2\n\xff\n", "t.csv", &KNOWN).expect_err("not UTF-8");
        assert_eq!(error.line, 2);
    }
}
