//! `calc chip`, `calc feed` and `calc force` at the command line.

mod program;

use program::{call, json};

/// A call from its words.
fn words(line: &str) -> Vec<&str> {
    line.split_whitespace().collect()
}

fn close(document: &serde_json::Value, path: &str, expected: f64, relative: f64) {
    let at = path.split('/').fold(&document["results"], |d, key| &d[key]);
    let value = at.as_f64().unwrap_or_else(|| panic!("{path} in {document}"));
    assert!((value / expected - 1.0).abs() < relative, "{path} is {value}, expected {expected}");
}

const CUT: &str = "calc force --diameter 12 --teeth 3 --helix-deg 38 --ae 2.4 --ap 9 \
                   --feed-per-tooth 0.07 --rpm 12000";

#[test]
fn a_thin_cut_has_a_thin_chip_and_the_feed_makes_up_for_it() {
    // derived: circular tooth path
    let chip = json(&words("calc chip --diameter 12 --ae 1.3 --feed-per-tooth 0.08"));
    close(&chip, "engagement_deg", 38.433_21, 1e-6);
    close(&chip, "chip_max_um", 49.728_15, 1e-6);
    close(&chip, "chip_mean_um", 25.840_33, 1e-6);
    let wide = json(&words("calc chip --diameter 12 --ae 9 --feed-per-tooth 0.08 --kappa-deg 30"));
    close(&wide, "chip_max_um", 40.0, 1e-9);
    let feed =
        json(&words("calc feed --diameter 12 --teeth 4 --rpm 12000 --ae 1.3 --chip-max-um 50"));
    close(&feed, "feed_per_tooth_mm", 0.080_437_34, 1e-6);
    close(&feed, "feed_mm_min", 3860.9923, 1e-6);
}

#[test]
fn forces_of_a_cut_with_its_own_coefficients() {
    // derived: averages in closed form
    let law = "--ktc 800 --krc 260 --kac 120 --kte 12 --kre 15 --kae 2";
    let down = json(&words(&format!("{CUT} {law}")));
    close(&down, "mean/fx_n", 74.984_19, 1e-6);
    close(&down, "mean/fy_n", 151.0385, 1e-6);
    close(&down, "mean/fz_n", 22.408_05, 1e-6);
    close(&down, "mean/torque_nm", 0.864_444, 1e-6);
    close(&down, "mean/power_kw", 1.086_292, 1e-6);
    close(&down, "teeth_in_cut_max", 2.0, 1e-12);
    let up = json(&words(&format!("{CUT} {law} --up")));
    close(&up, "mean/fx_n", -161.5328, 1e-6);
    close(&up, "mean/fy_n", -2.147_448, 1e-6);
    let runout = json(&words(&format!("{CUT} {law} --runout-um 8 --runout-deg 20")));
    let peak = |d: &serde_json::Value| d["results"]["peak"]["resultant_n"].as_f64().unwrap();
    assert!(peak(&runout) > peak(&down));
}

#[test]
fn forces_in_a_material_name_their_source() {
    let found = json(&words(&format!("{CUT} --material en-aw-7075-t651")));
    assert!(found["results"]["scatter"].as_f64().unwrap() > 0.1);
    let notes = found["results"]["warnings"].to_string();
    assert!(notes.contains("coefficients: "), "{notes}");
}

#[test]
fn forces_by_a_power_of_the_chip_are_those_of_a_numeric_integral() {
    let found = json(&words(&format!("{CUT} --material c45")));
    let given = |key: &str| found["inputs"][key].as_f64().unwrap_or_else(|| panic!("{found}"));
    assert!(found["inputs"]["ktc_n_mm2"].is_null(), "{found}");
    let (kc11, power) = (given("kc11_n_mm2"), 1.0 - given("mc"));
    // midpoints of the chip's sine over the cut, 3 teeth, ae 2.4 on D 12, ap 9, fz 0.07
    let (n, exit) = (200_000, (1.0_f64 - 2.0 * 2.4 / 12.0).acos());
    let sum: f64 =
        (0..n).map(|i| (exit * (f64::from(i) + 0.5) / f64::from(n)).sin().powf(power)).sum();
    let per_tooth = kc11 * 0.07_f64.powf(power) * sum * exit / f64::from(n);
    let torque_nm = 1e-3 * 3.0 * 9.0 * 6.0 * per_tooth / std::f64::consts::TAU;
    close(&found, "mean/torque_nm", torque_nm, 1e-5);
}

#[test]
fn deflection_of_a_stepped_cutter() {
    // derived: stepped cantilever
    let line =
        "calc deflection --diameter 12 --flute-length 26 --shank 12 --stickout 45 --force 200";
    let found = json(&words(line));
    close(&found, "tip_um", 12.712_65, 1e-6);
    close(&found, "stiffness_n_per_um", 15.732_36, 1e-6);
    let own = json(&words(&format!("{line} --core-ratio 1 --modulus 600000")));
    close(&own, "tip_um", 9.947_184, 1e-6);
    for (more, why) in [("--core-ratio 1.2", "--core-ratio"), ("--modulus 0", "--modulus")] {
        let told = call(&words(&format!("{line} {more}")));
        assert!(told.status == 2 && told.error.contains(why), "{more} says {}", told.error);
    }
    let long =
        "calc deflection --diameter 12 --flute-length 50 --shank 12 --stickout 45 --force 200";
    assert_eq!(call(&words(long)).status, 2);
}

#[test]
fn bad_cuts_are_refused_with_the_remedy() {
    for (line, why) in [
        ("calc chip --diameter 12 --ae 13 --feed-per-tooth 0.08", "from 0 to 12"),
        ("calc chip --diameter 12 --ae 0 --feed-per-tooth 0.08", "greater than 0"),
        ("calc chip --diameter 12 --ae 1 --feed-per-tooth nan", "finite"),
        ("calc chip --diameter 12 --ae 1 --feed-per-tooth 0.1 --kappa-deg 0", "contact angle"),
        ("calc feed --diameter 12 --teeth 0 --rpm 9000 --ae 1 --chip-max-um 50", "--teeth"),
        ("calc feed --diameter 12 --teeth 2 --rpm -1 --ae 1 --chip-max-um 50", "--rpm"),
    ] {
        let told = call(&words(line));
        assert_eq!((told.status, told.output.as_str()), (2, ""), "{line}");
        assert!(told.error.contains(why), "{line} says {}", told.error);
    }
    for (more, why) in [
        ("--ktc -5", "--ktc"),
        ("--ktc 0", "--ktc"),
        ("--ktc 800 --kte -1", "--kte"),
        ("--ktc 800 --krc 260 --kac 0 --kte 12", "--kre, --kae left out"),
        ("--material en-aw-7057", "did you mean"),
        ("--ktc 800 --runout-um -1", "--runout-um"),
        ("", "--material"),
        ("--material c45 --ktc 800", "cannot be used with"),
    ] {
        let told = call(&words(&format!("{CUT} {more}")));
        assert_eq!((told.status, told.output.as_str()), (2, ""), "{more}");
        assert!(told.error.contains(why), "{more} says {}", told.error);
    }
}

/// 922 Hz, ζ 0.011, 0.03993 kg, two teeth, Kt 600, Kr 1/3: parameters seen in several open research
/// codes, after Ding et al., Int. J. Mach. Tools Manuf. 2010.
const LOBES: &str = "calc lobes --teeth 2 --diameter 10 --kt 600 --kr 0.333333333333 \
                     --mode-x 922,0.011,1.340050";

#[test]
fn lobes_of_the_classic_cutter() {
    let one = |more: &str| json(&words(&format!("{LOBES} {more}")));
    let at = |d: &serde_json::Value| d["results"]["points"][0]["ap_limit_mm"].as_f64().unwrap();
    // derived: zeroth order by two independent codes; full variation by Chebyshev collocation
    let zeroth = at(&one("--ae 0.5 --rpm 17500:17500:1"));
    assert!((zeroth / 6.288_409 - 1.0).abs() < 1e-4, "{zeroth}");
    let full = at(&one("--ae 0.5 --rpm 17500:17500:1 --method semi-discretisation"));
    assert!((full / 2.283_08 - 1.0).abs() < 1e-3, "{full}");
    let many = one("--ae 5 --rpm 5000:10000:21");
    let points = many["results"]["points"].as_array().unwrap();
    assert_eq!(points.len(), 21);
    assert!(points.iter().all(|p| p["chatter_hz"].as_f64().unwrap() > 600.0));
    assert!(
        one("--ae 0.5 --rpm 17500:17500:1")["results"]["warnings"].to_string().contains("semi")
    );
}

#[test]
fn lobes_from_a_measured_response_and_bad_ones() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("tip.csv");
    let omega = |f: f64| f / 922.0;
    let rows: String = (0..4000)
        .map(|i| {
            let f = 300.0 + 0.5 * f64::from(i);
            let (a, b) = (1.0 - omega(f).powi(2), 2.0 * 0.011 * omega(f));
            let scale = 1.0 / (1.340_050e6 * (a * a + b * b));
            format!("{f},{:e},{:e}\n", a * scale, -b * scale)
        })
        .collect();
    std::fs::write(&path, &rows).unwrap();
    let shown = path.display().to_string();
    let base = "calc lobes --teeth 2 --diameter 10 --ae 5 --kt 600 --kr 0.333 --rpm 9000:9000:1";
    let measured = json(&words(&format!("{base} --response-x {shown}")));
    let modal = json(&words(&format!("{base} --mode-x 922,0.011,1.34005")));
    let at = |d: &serde_json::Value| d["results"]["points"][0]["ap_limit_mm"].as_f64().unwrap();
    assert!((at(&measured) / at(&modal) - 1.0).abs() < 0.01);
    // full time variation by modes fitted to the same table
    let fitted = json(&words(&format!("{base} --frf-x {shown} --method semi-discretisation")));
    let modal =
        json(&words(&format!("{base} --mode-x 922,0.011,1.34005 --method semi-discretisation")));
    assert!((at(&fitted) / at(&modal) - 1.0).abs() < 1e-4);
    let mode = &fitted["results"]["fitted_x"][0];
    assert!((mode["stiffness_n_per_um"].as_f64().unwrap() / 1.34005 - 1.0).abs() < 1e-4, "{mode}");
    std::fs::write(&path, "300,1e-6,-1e-7\n200,1e-6,-1e-7\n").unwrap();
    for (more, why) in [
        (format!("--response-x {shown}"), "tip.csv, line 2"),
        (String::new(), "rigid"),
        ("--mode-x 922,0.011".to_owned(), "three numbers"),
        ("--mode-x 922,-0.011,1".to_owned(), "damping"),
        ("--mode-x 922,0.011,1 --method best".to_owned(), "zeroth-order"),
        ("--mode-x 922,0.011,1 --kr -1".to_owned(), "cannot be used"),
    ] {
        let told = call(&words(&format!("{base} {more}")));
        assert_eq!((told.status, told.output.as_str()), (2, ""), "{more}");
        assert!(told.error.contains(why), "{more} says {}", told.error);
    }
}
