//! Tables that are no measured response, and some that are: place, expectation, remedy.

#![allow(clippy::unwrap_used, reason = "a test may")]

use proptest::prelude::*;
use stability::{fit, frf};

macro_rules! corpus {
    ($name:literal) => {
        (include_bytes!(concat!("corpus/", $name)).as_slice(), $name)
    };
}

#[test]
fn all_ways_to_write_a_table_give_the_same_response() {
    let read = |(bytes, name): (&[u8], &str)| frf::read(bytes, name).unwrap();
    let plain = read(corpus!("plain.csv"));
    assert_eq!(plain.omegas_rad_s().len(), 20);
    let tau = std::f64::consts::TAU;
    assert!(
        (plain.band_hz().low - 300.0).abs() < 1e-9 && (plain.band_hz().high - 490.0).abs() < 1e-9
    );
    // 1/(k((1 − r²) + 2iζr)) at resonance: 2e7 N/m, ζ 0.05, 400 Hz: −i/(2ζk)
    let peak = plain.response(400.0 * tau).unwrap();
    assert!(peak.re.abs() < 1e-12 && (peak.im + 5e-4).abs() < 1e-10, "{peak}");
    for other in [corpus!("named.csv"), corpus!("blanks.csv"), corpus!("semicolons.csv")] {
        assert_eq!(read(other), plain);
    }
    let headed = |head: &str| {
        let text = [head.as_bytes(), corpus!("plain.csv").0].concat();
        frf::read(&text, "headed.csv").map_err(|e| e.found)
    };
    assert_eq!(headed("Hz,real m/N,imaginary m/N\n").unwrap(), plain);
    assert_eq!(headed("kHz,real,imaginary\n"), Err("the unit \"kHz\"".to_owned()));
    assert_eq!(headed("Hz,real mm/N,imaginary mm/N\n"), Err("the unit \"mm/N\"".to_owned()));
    assert_eq!(plain.response(299.0 * tau), None);
    assert_eq!(plain.response(491.0 * tau), None);
}

#[test]
fn a_cubic_between_rows_is_kept() {
    // rows of r³ − i r² at uneven frequencies: the parabola's slopes are exact for the square
    let row = |i: u32| {
        let hz = 100.0 + 7.0 * f64::from(i) + f64::from(i % 3);
        let r = hz / 400.0;
        format!("{hz},{:e},{:e}\n", 1e-8 * r, -1e-8 * r * r)
    };
    let text: String = (0..40).map(row).collect();
    let read = frf::read(text.as_bytes(), "made.csv").unwrap();
    for hz in [103.3, 211.7, 255.5, 371.0] {
        let g = read.response(std::f64::consts::TAU * hz).unwrap();
        let r: f64 = hz / 400.0;
        assert!(
            (g.re / (1e-5 * r) - 1.0).abs() < 1e-9 && (g.im / (-1e-5 * r * r) - 1.0).abs() < 1e-9
        );
    }
}

#[test]
fn every_fault_names_its_place_and_what_to_do() {
    let faults = [
        (corpus!("empty-cell.csv"), 8, 5, "an empty cell", "leave out the row"),
        (corpus!("nan.csv"), 10, 18, "\"NaN\"", "finite"),
        (corpus!("unsorted.csv"), 6, 1, "340 Hz after 350 Hz", "sort the rows"),
        (corpus!("twice.csv"), 6, 1, "340 Hz after 340 Hz", "keep each frequency once"),
        (corpus!("gap.csv"), 9, 1, "no row between 370 and 420 Hz", "fill the gap"),
        (corpus!("um-per-n.csv"), 11, 1, "a peak of", "check the unit"),
        (corpus!("named-um.csv"), 1, 8, "the unit \"µm/N\"", "m/N"),
        (corpus!("khz.csv"), 1, 1, "the unit \"kHz\"", "Hz"),
        (corpus!("two-columns.csv"), 1, 5, "2 values", "three"),
        (corpus!("four-columns.csv"), 1, 32, "4 values", "three"),
        (corpus!("short.csv"), 5, 1, "ends after 5 rows", "at least 16"),
        (corpus!("comma-decimals.csv"), 1, 5, "\"1,", "finite number"),
        (corpus!("leads.csv"), 11, 1, "leads the force", "sign"),
        (corpus!("negative-hz.csv"), 1, 1, "-5", "from 0 to"),
        (corpus!("empty.csv"), 1, 1, "ends after 0 rows", "export the whole"),
        (corpus!("binary.csv"), 2, 1, "not text", "UTF-8"),
    ];
    for ((bytes, name), line, column, found, told) in faults {
        let error = frf::read(bytes, name).unwrap_err();
        assert_eq!((error.line, error.column), (line, column), "{error}");
        let text = error.to_string();
        assert!(text.starts_with(&format!("{name}, line {line}, column {column}: ")), "{text}");
        assert!(text.contains(found) && text.contains(told), "{text}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Bytes put into a sound table: read and fitted, or refused with a place; never a panic.
    #[test]
    fn no_bytes_make_it_panic(
        start in 0usize..1200,
        length in 0usize..60,
        put in prop::collection::vec(
            prop::sample::select(b"0123456789.,;-+eEnaif \t\r\n#\"\xc2\xb5[/N]".to_vec()), 0..40),
    ) {
        let mut bytes = corpus!("named.csv").0.to_vec();
        let from = start.min(bytes.len());
        let to = (from + length).min(bytes.len());
        bytes.splice(from..to, put);
        match frf::read(&bytes, "tip.csv") {
            Ok(response) => {
                if let Ok(fit) = fit::modes(&response) {
                    prop_assert!(fit.misfit().is_finite() && !fit.modes().is_empty());
                }
            }
            Err(error) => prop_assert!(error.line > 0 && error.column > 0),
        }
    }
}
