//! Every fault of a file is told with its line and column, what was expected, and what to do.

mod bad;

use bad::{Case, check, cutters_of, machine_of, study_of};

const STUDY: &str = include_str!("data/study.toml");
const MACHINE: &str = include_str!("data/machine.toml");
const CUTTERS: &str = include_str!("data/cutters.toml");

#[test]
fn study_files() {
    let cases = [
        Case::new("lot_size = 50", "lot_size = -3", "`lot_size` is -3", "minus sign"),
        Case::new("lot_size = 50", "lot_sise = 50", "`lot_sise` is not a key", "`lot_size`"),
        Case::new("confidence = 0.90", "confidence = 90", "0.5 to 0.999", "0.90 for 90 %"),
        Case::new("confidence = 0.90", "confidence = nan", "NaN", "finite"),
        Case::new("setup_min = 45.0", "setup_min = inf", "inf", "finite"),
        Case::new("setup_min = 45.0", "setup_min = \"45 min\"", "a number", "setup_min = 45"),
        Case::new(
            "machine = \"machine.toml\"",
            "machine = \"mashine.toml\"",
            "no machine file",
            "beside",
        ),
        Case::new(
            "material = \"en-aw-7075-t651\"",
            "material = \"en-aw-7075\"",
            "not known",
            "\"en-aw-7075-t651\"",
        ),
        Case::new("shape = \"block\"", "shape = \"blok\"", "\"cylinder\"", "\"block\""),
        Case::new(
            "margin_mm = [2.0, 2.0, 3.0]",
            "margin_mm = [2.0]",
            "list of 3 numbers",
            "3 numbers",
        ),
        Case::new(
            "near_mm = [0.0, 0.0, 41.0]",
            "near_mm = 41.0",
            "list of 3 numbers",
            "[brackets]",
        ),
        Case::new(
            "near_mm = [0.0, 0.0, 41.0]",
            "near = [0.0, 0.0, 41.0]",
            "near_mm",
            "did you mean `near_mm`",
        ),
        Case::new("faces = [12, 13]", "faces = []", "face numbers", "inspect"),
        Case::new("cusp_um = 3.0", "cusp_um = 3.0\nra_um = 0.8", "one of the two", "take out"),
        Case::new(
            "cusp_um = 3.0",
            "cusp_um = 0.003",
            "0.01 to 2000 um",
            "was the value meant in mm",
        ),
        Case::new("feature = \"crown\"", "feature = \"crwn\"", "no feature", "\"crown\""),
        Case::new("cutter = \"ball-12\"", "cutter = \"ball-21\"", "no cutter", "\"ball-12\""),
        Case::new(
            "kind = \"finish-face\"",
            "kind = \"finish\"",
            "\"rough-pocket\"",
            "\"finish-face\"",
        ),
        Case::new(
            "stepover_mm = 0.2",
            "",
            "neither `stepover_mm` nor `cusp_um`",
            "stepover_mm = 0.2",
        ),
        Case::new(
            "stepover_mm = 0.2",
            "stepover_mm = 0.2\ncusp_um = 3.0",
            "one of the two",
            "line 43",
        ),
        Case::new("rpm = 15000", "rpm = 15000\nvc_m_min = 300", "one of the two", "take out"),
        Case::new("feed_per_tooth_mm = 0.12", "feed_per_tooth_mm = 30000", "3 mm", "per tooth"),
        Case::new(
            "feed_per_tooth_mm = 0.12",
            "feed_per_tooth_mm = 0.1\nfeed_mm_min = 7000.0",
            "one of the two",
            "take out",
        ),
        Case::new(
            "axis = \"tilted\"\nkappa_deg = 15.0",
            "axis = \"normal\"\nkappa_deg = 15.0",
            "not tilted",
            "axis = \"tilted\"",
        ),
        Case::new(
            "depth_per_pass_mm = 6.0",
            "",
            "no `depth_per_pass_mm`",
            "add `depth_per_pass_mm",
        ),
        Case::new("name = \"large arc\"", "name = \"today\"", "stands twice", "rename"),
        Case::new("name = \"recess\"", "name = \"crown\"", "stands twice", "rename"),
        Case::new("diameter_mm = 12.0", "diameter_mm = 1200.0", "400 mm", "µm, inches"),
        Case::new("diameter_mm = 12.0", "diameter_mm = -12.0", "from 0.02", "minus sign"),
        Case::new("teeth = 4", "teeth = 3.5", "a whole number", "fraction"),
        Case::new("form = \"ball\"", "form = \"sphere\"", "\"tangent-barrel\"", "one of these"),
        Case::new(
            "flute_length_mm = 26.0",
            "flute_length_mm = 126.0",
            "cannot be",
            "check its lengths",
        ),
        Case::new("[part]", "[part", "not TOML", "mend the line"),
        Case::new(
            "[[process]]\nname = \"today\"",
            "[process]\nname = \"today\"",
            "",
            "mend the line",
        ),
        Case::new("[part]", "[parts]", "no `part`", "add [part]"),
    ];
    for case in cases {
        check(STUDY, &case, |text| study_of(text, MACHINE, CUTTERS));
    }
}

#[test]
fn machine_files() {
    let cases = [
        Case::new("layout = \"XYZ-AC\"", "layout = \"XZY-AC\"", "layout", "under the part"),
        Case::new("layout = \"XYZ-AC\"", "layout = \"XYZ-BC\"", "axis", ""),
        Case::new("id = \"trunnion-15k\"", "ident = 1", "no `id`", "add `id"),
        Case::new("block_time_ms = 0.5", "block_time_s = 0.5", "not a key", "`block_time_ms`"),
        Case::new("block_time_ms = 0.5", "block_time_ms = -0.5", "from 0 to", "minus sign"),
        Case::new("path_tolerance_mm = 0.01", "path_tolerance_mm = 10.0", "0 to 1 mm", "µm"),
        Case::new("magazine = 30", "magazine = 0", "from 1", "places"),
        Case::new("accel_m_s2 = 6.0", "accel_m_s2 = 6000.0", "200 m/s2", "mm/s2"),
        Case::new("accel_m_s2 = 6.0", "accel_m_s2 = nan", "NaN", "finite"),
        Case::new(
            "max_feed_mm_min = 40000.0",
            "max_feed_m_min = 40.0",
            "not a key",
            "`max_feed_mm_min`",
        ),
        Case::new("max_feed_mm_min = 40000.0", "max_feed_mm_min = 4.0", "from 10", "m/min"),
        Case::new(
            "travel_mm = [-300.0, 300.0]",
            "travel_mm = [300.0, -300.0]",
            "lower end first",
            "ends",
        ),
        Case::new("travel_deg = [-110.0, 110.0]", "travel_mm = [-110.0, 110.0]", "deg", "deg"),
        Case::new("rpm = 2400.0", "rpn = 2400.0", "not a key", "`rpm`"),
        Case::new("power_kw = 20.0", "power_kw = 20000.0", "1000 kW", "in W"),
        Case::new("[axis.X]", "[axis.W]", "axis", ""),
        Case::new("[spindle]", "[[spindle]]", "a table", "[spindle]"),
    ];
    for case in cases {
        check(MACHINE, &case, machine_of);
    }
}

#[test]
fn cutter_files() {
    let cases = [
        Case::new("id = \"flat-10\"", "id = \"tangent-12-r250\"", "stands twice", "rename"),
        Case::new("id = \"flat-10\"", "", "no `id`", "add `id"),
        Case::new("arc_radius_mm = 250.0", "arc_radius = 250.0", "not a key", "`arc_radius_mm`"),
        Case::new("arc_radius_mm = 250.0", "", "needs arc_radius_mm", "check its lengths"),
        Case::new("arc_radius_mm = 250.0", "arc_radius_mm = 4.0", "cannot be", "check its lengths"),
        Case::new(
            "corner_radius_mm = 2.0",
            "corner_radius_mm = 9.0",
            "cannot be",
            "check its lengths",
        ),
        Case::new(
            "overall_length_mm = 100.0",
            "overall_length_mm = 30.0",
            "cannot be",
            "check its lengths",
        ),
        Case::new("teeth = 4", "", "no `teeth`", "add `teeth"),
        Case::new("helix_deg = 30.0", "helix_deg = 300.0", "75 deg", "degrees"),
        Case::new("price = 140.0", "price = \"140 EUR\"", "a number", "price = 140"),
        Case::new("stickout_mm = 55.0", "stickout_mm = inf", "inf", "finite"),
        Case::new(
            "[[cutter]]\nid = \"flat-10\"",
            "[[cuter]]\nid = \"flat-10\"",
            "not a key",
            "`cutter`",
        ),
    ];
    for case in cases {
        check(CUTTERS, &case, cutters_of);
    }
}

#[test]
fn all_faults_of_a_study_and_its_companions_come_at_once() {
    let study = STUDY.replace("lot_size = 50", "lot_size = -1").replace("rpm = 15000", "rpm = 0");
    let machine = MACHINE.replace("magazine = 30", "magazine = 0.5");
    let cutters = CUTTERS.replace("teeth = 4", "teeth = 400");
    let rejected = study_of(&study, &machine, &cutters).unwrap_err();
    let files: Vec<&str> = rejected.diagnostics.iter().map(|d| d.file.as_str()).collect();
    assert_eq!(files, ["study.toml", "study.toml", "machine.toml", "cutters.toml"], "{rejected}");
}

#[test]
fn bytes_that_are_no_text_are_told_where_they_begin() {
    let mut bytes = b"[study]\nname = \"".to_vec();
    bytes.extend([0xff, 0xfe, 0x00]);
    let rejected = study::read::study(&bytes, "study.toml", &study::NoFiles).unwrap_err();
    let fault = &rejected.diagnostics[0];
    assert_eq!((fault.line, fault.column), (2, 9));
    assert!(fault.remedy.contains("UTF-8"));
    assert!(study::read::study(b"", "study.toml", &study::NoFiles).is_err());
    let deep = format!("a = {}", "[".repeat(100_000));
    assert!(study::read::study(deep.as_bytes(), "study.toml", &study::NoFiles).is_err());
}

#[test]
fn dialect_files() {
    for (line, text, says) in [
        (1, "name = 5", "`name` is a whole number"),
        (2, "name = \"x\"\nbased_on = \"c\"", "`based_on` is \"c\""),
        (3, "name = \"x\"\n[g]\nG999999 = \"rapid\"", "no G word"),
        (3, "name = \"x\"\n[g]\nG5 = \"rapit\"", "`G5` is \"rapit\""),
        (3, "name = \"x\"\n[m]\nX5 = \"end\"", "no M word"),
        (3, "name = \"x\"\n[dwell]\nXY = \"seconds\"", "no letter"),
        (3, "name = \"x\"\n[text]\nprogram_mark = \"OO\"", "`program_mark` is \"OO\""),
        (3, "name = \"x\"\n[text]\nlength_decimals = 2", "`length_decimals` is 2"),
        (3, "name = \"x\"\n[tool]\nlength_leter = \"H\"", "`length_leter` is not a key"),
        (2, "name = \"x\"\n[m]\nM6 = \"none\"", "means \"tool-change\""),
        (2, "name = \"x\"\n[g]\nG0 = \"none\"", "means \"rapid\""),
        (3, "name = \"x\"\n[variables]\ncommon = [200, 100]", "`common` is from 200 to 100"),
        (3, "name = \"x\"\n[variables]\nkept = [1.5, 7]", "`kept` is from 1.5 to 7"),
        (3, "name = \"x\"\n[variables]\nangles = \"half\"", "`angles` is \"half\""),
        (1, "nam = \"x\"", "no `name`"),
    ] {
        let rejected = study::read::dialect_file(text.as_bytes(), "d.toml").expect_err(text);
        let fault = rejected
            .diagnostics
            .iter()
            .find(|d| d.message.contains(says))
            .unwrap_or_else(|| panic!("{text}: {rejected}"));
        assert_eq!(fault.line, line, "{fault}");
        assert!(!fault.expected.is_empty() && !fault.remedy.is_empty());
    }
    let machine = "id = \"m\"\nlayout = \"XYZ\"\ndialect = \"none.toml\"\n[axis.X]\nmax_feed_mm_min = 1e4\n[axis.Y]\nmax_feed_mm_min = 1e4\n[axis.Z]\nmax_feed_mm_min = 1e4\n";
    let rejected = study::read::machine_and_dialect(machine.as_bytes(), "m.toml", &study::NoFiles)
        .expect_err("no such file");
    assert_eq!(rejected.diagnostics[0].line, 3, "{rejected}");
}
