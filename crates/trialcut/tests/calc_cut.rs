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
