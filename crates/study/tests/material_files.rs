//! A study names its own material, and every fault of a material file is told with its place.

mod bad;

use bad::{Case, check};
use material::{Certainty, EdgeMaterial};

const STUDY: &str = include_str!("data/study.toml");
const MACHINE: &str = include_str!("data/machine.toml");
const CUTTERS: &str = include_str!("data/cutters.toml");
const MATERIAL: &str = include_str!("data/material.toml");

fn material_of(text: &str) -> Result<(), study::Rejected> {
    study::read::material_file(text.as_bytes(), "material.toml").map(drop)
}

fn study_with(text: &str, material: Option<&str>) -> Result<study::Study, study::Rejected> {
    let files = |path: &str| match path {
        "machine.toml" => Some(MACHINE.as_bytes().to_vec()),
        "cutters.toml" => Some(CUTTERS.as_bytes().to_vec()),
        "own.toml" => material.map(|m| m.as_bytes().to_vec()),
        _ => None,
    };
    study::read::study(text.as_bytes(), "study.toml", &files)
}

#[test]
fn a_whole_file_reads_into_what_it_states() {
    let m = study::read::material_file(MATERIAL.as_bytes(), "material.toml").unwrap();
    assert_eq!((m.id.as_str(), m.aliases.as_slice()), ("house-alloy", &["ha".to_owned()][..]));
    let kienzle = m.force.kienzle.as_ref().unwrap();
    assert_eq!((kienzle.value.kc11_n_mm2, kienzle.value.mc, kienzle.scatter), (650.0, 0.22, 0.3));
    assert_eq!(kienzle.source.certainty, Certainty::Published);
    assert_eq!(kienzle.source.citation, "Own trials of the shop, 2024");
    assert!((kienzle.value.rake_rad.unwrap() - 10.0_f64.to_radians()).abs() < 1e-15);
    let sets = m.force.mechanistic.as_ref().unwrap();
    assert!(!sets[0].value.axial && sets[0].value.coefficients.kac_n_mm2 == 0.0);
    assert_eq!(sets[0].value.validity.chip_mm.unwrap().high, 0.12);
    // a key of the literature becomes the citation
    assert!(m.chip.least_over_edge_radius.source.citation.contains("10.1007/s00170-018-2187-3"));
    let law = &m.life.as_ref().unwrap()[0];
    assert_eq!(law.value.edge, EdgeMaterial::CoatedCarbide);
    assert_eq!(law.value.width.unwrap().exponent, 0.5);
    assert_eq!(m.bright_speed_m_min.as_ref().unwrap_err().reason, "never tried");
}

#[test]
fn a_study_names_its_own_material() {
    let text = STUDY.replace("\"en-aw-7075-t651\"", "\"own.toml\"");
    let study = study_with(&text, Some(MATERIAL)).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(study.part.material.id, "house-alloy");
    assert!(study.sources.iter().any(|s| s.name == "own.toml"));
    let absent = study_with(&text, None).unwrap_err().to_string();
    assert!(absent.contains("no material file \"own.toml\""), "{absent}");
    let broken = MATERIAL.replace("mc = 0.22", "mc = 22.0");
    let faults = study_with(&text, Some(&broken)).unwrap_err().to_string();
    assert!(faults.contains("own.toml") && faults.contains("`mc` is 22"), "{faults}");
}

#[test]
fn faults_of_a_material_file() {
    material_of(MATERIAL).unwrap_or_else(|e| panic!("{e}"));
    let cases = [
        Case::new("kg_m3 = 2700.0", "kg_m3 = 2.7", "200 to 25000 kg/m3", "g/cm3"),
        Case::new("kc11_n_mm2 = 650.0", "kc11_n_mm2 = 0.0", "20 to 10000", "1 mm"),
        Case::new("kc11_n_mm2 = 650.0", "kc11_n_mm2 = -650.0", "20 to 10000", "minus sign"),
        Case::new("mc = 0.22", "mc = nan", "NaN", "finite"),
        Case::new("ktc_n_mm2 = 700.0", "ktc_n_mm2 = 700e6", "20000", "N/m2"),
        Case::new("ktc_n_mm2 = 700.0", "", "no `ktc_n_mm2`", "ktc_n_mm2"),
        Case::new("group = \"N\"", "group = \"n\"", "\"N\"", ""),
        Case::new("scale = \"HBW\"", "scale = \"HV\"", "\"HRC\"", ""),
        Case::new("chip_mm = [0.01, 0.12]", "chip_mm = [0.12, 0.01]", "smaller number", "swap"),
        Case::new("place = \"sheet 7\"", "", "no `place`", "lower the certainty"),
        Case::new(
            "scatter = 1.5\ncertainty = \"from memory\"",
            "scatter = 0.1\ncertainty = \"from memory\"",
            "a scatter of 1 or more",
            "widen",
        ),
        Case::new("bright_speed = \"never tried\"", "", "no `bright_speed`", "[missing]"),
        Case::new(
            "bright_speed = \"never tried\"",
            "bright_speed = \"never tried\"\nlife = \"no\"",
            "missing as well",
            "take out",
        ),
        Case::new("edge = \"coated carbide\"", "edge = \"carbide\"", "\"bright carbide\"", ""),
        Case::new("\"built-up edge\"", "\"built up edge\"", "built up edge", "\"built-up edge\""),
        Case::new("ends = [\"built-up edge\"]", "ends = []", "no `ends`", "flank wear"),
        Case::new("n = 0.25", "n = 0.0", "0.03 to 1.5", "v T^n"),
        Case::new("exponent = 0.5", "exponant = 0.5", "no `exponent`", "exponent"),
        Case::new("hazard = \"breathing\"", "hazard = \"smoke\"", "\"hydrogen\"", ""),
        Case::new("[chip.bulk_ratio]", "[chip.bulk]", "no `bulk_ratio`", "[bulk_ratio]"),
    ];
    for case in &cases {
        check(MATERIAL, case, material_of);
    }
}

/// Every line of the file taken out alone: read or refused with a place, never a panic.
#[test]
fn a_lost_line_never_panics() {
    let lines: Vec<&str> = MATERIAL.lines().collect();
    for lost in 0..lines.len() {
        let text: Vec<&str> =
            lines.iter().enumerate().filter(|(i, _)| *i != lost).map(|(_, l)| *l).collect();
        if let Err(rejected) = material_of(&text.join("\n")) {
            assert!(!rejected.diagnostics.is_empty(), "without line {}", lost + 1);
        }
    }
}
