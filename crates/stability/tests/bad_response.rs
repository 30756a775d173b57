//! Tables that are no measured response, and some that are: place, expectation, remedy.

#![allow(clippy::unwrap_used, reason = "a test may")]

use stability::frf;

macro_rules! file {
    ($name:literal) => {
        (include_bytes!(concat!("corpus/", $name)).as_slice(), $name)
    };
}

#[test]
fn all_ways_to_write_a_table_give_the_same_response() {
    let read = |(bytes, name): (&[u8], &str)| frf::read(bytes, name).unwrap();
    let plain = read(file!("plain.csv"));
    assert_eq!(plain.omegas_rad_s().len(), 20);
    let tau = std::f64::consts::TAU;
    assert!(
        (plain.band_hz().low - 300.0).abs() < 1e-9 && (plain.band_hz().high - 490.0).abs() < 1e-9
    );
    // 1/(k((1 − r²) + 2iζr)) at resonance: 2e7 N/m, ζ 0.05, 400 Hz: −i/(2ζk)
    let peak = plain.response(400.0 * tau).unwrap();
    assert!(peak.re.abs() < 1e-12 && (peak.im + 5e-4).abs() < 1e-10, "{peak}");
    for other in [file!("named.csv"), file!("blanks.csv"), file!("semicolons.csv")] {
        assert_eq!(read(other), plain);
    }
    let headed = |head: &str| {
        let text = [head.as_bytes(), file!("plain.csv").0].concat();
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
        (file!("empty-cell.csv"), 8, 5, "an empty cell", "leave out the row"),
        (file!("nan.csv"), 10, 18, "\"NaN\"", "finite"),
        (file!("unsorted.csv"), 6, 1, "340 Hz after 350 Hz", "sort the rows"),
        (file!("twice.csv"), 6, 1, "340 Hz after 340 Hz", "keep each frequency once"),
        (file!("gap.csv"), 9, 1, "no row between 370 and 420 Hz", "fill the gap"),
        (file!("um-per-n.csv"), 11, 1, "a peak of", "check the unit"),
        (file!("named-um.csv"), 1, 8, "the unit \"µm/N\"", "m/N"),
        (file!("khz.csv"), 1, 1, "the unit \"kHz\"", "Hz"),
        (file!("two-columns.csv"), 1, 5, "2 values", "three"),
        (file!("four-columns.csv"), 1, 32, "4 values", "three"),
        (file!("short.csv"), 5, 1, "ends after 5 rows", "at least 16"),
        (file!("comma-decimals.csv"), 1, 5, "\"1,", "finite number"),
        (file!("leads.csv"), 11, 1, "leads the force", "sign"),
        (file!("negative-hz.csv"), 1, 1, "-5", "from 0 to"),
        (file!("empty.csv"), 1, 1, "ends after 0 rows", "export the whole"),
        (file!("binary.csv"), 2, 1, "not text", "UTF-8"),
    ];
    for ((bytes, name), line, column, found, told) in faults {
        let error = frf::read(bytes, name).unwrap_err();
        assert_eq!((error.line, error.column), (line, column), "{error}");
        let text = error.to_string();
        assert!(text.starts_with(&format!("{name}, line {line}, column {column}: ")), "{text}");
        assert!(text.contains(found) && text.contains(told), "{text}");
    }
}
