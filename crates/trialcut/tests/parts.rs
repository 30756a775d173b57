//! Parts of every sort at the command line: a mesh from file to claim, meshes with defects in every
//! format, and assemblies of which one solid is meant.

#![allow(clippy::unwrap_used, reason = "a test may unwrap")]

mod program;

use program::{Told, call_in};
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

type Point = [f64; 3];
type Triangle = [Point; 3];

/// Both radii of the dome's top, mm.
const DOME_RADIUS_MM: f64 = 120.0;
/// Diameter of the ball, mm.
const BALL_MM: f64 = 12.0;
/// Large arc, mm.
const ARC_MM: f64 = 250.0;
const STEP_MM: [f64; 2] = [0.6, 2.4];

/// A block of 40 × 30 mm whose top is z = 20 − (x² + y²) / (2 R).
fn dome() -> Vec<Triangle> {
    const N: [usize; 2] = [32, 24];
    let at = |i: usize, j: usize| {
        [-20.0 + 40.0 * i as f64 / N[0] as f64, -15.0 + 30.0 * j as f64 / N[1] as f64]
    };
    let top = |i, j| {
        let [x, y] = at(i, j);
        [x, y, 20.0 - (x * x + y * y) / (2.0 * DOME_RADIUS_MM)]
    };
    let floor = |i, j| {
        let [x, y] = at(i, j);
        [x, y, 0.0]
    };
    let mut out: Vec<Triangle> = Vec::new();
    let mut quad = |[a, b, c, d]: [Point; 4]| out.extend([[a, b, c], [a, c, d]]);
    for i in 0..N[0] {
        for j in 0..N[1] {
            quad([top(i, j), top(i + 1, j), top(i + 1, j + 1), top(i, j + 1)]);
            quad([floor(i, j), floor(i, j + 1), floor(i + 1, j + 1), floor(i + 1, j)]);
        }
        quad([floor(i, 0), floor(i + 1, 0), top(i + 1, 0), top(i, 0)]);
        quad([floor(i + 1, N[1]), floor(i, N[1]), top(i, N[1]), top(i + 1, N[1])]);
    }
    for j in 0..N[1] {
        quad([floor(0, j + 1), floor(0, j), top(0, j), top(0, j + 1)]);
        quad([floor(N[0], j), floor(N[0], j + 1), top(N[0], j + 1), top(N[0], j)]);
    }
    out
}

/// A cuboid, its triangles facing outwards.
fn cuboid([x0, y0, z0]: Point, [x1, y1, z1]: Point) -> Vec<Triangle> {
    let p = |k: usize| [[x0, x1][k & 1], [y0, y1][k >> 1 & 1], [z0, z1][k >> 2 & 1]];
    let quads =
        [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let split = |[a, b, c, d]: [usize; 4]| [[p(a), p(b), p(c)], [p(a), p(c), p(d)]];
    quads.into_iter().flat_map(split).collect()
}

fn stl(triangles: &[Triangle]) -> String {
    let mut text = "solid part\n".to_owned();
    for t in triangles {
        text.push_str("facet normal 0 0 0\nouter loop\n");
        for [x, y, z] in t {
            writeln!(text, "vertex {x:?} {y:?} {z:?}").unwrap();
        }
        text.push_str("endloop\nendfacet\n");
    }
    text + "endsolid part\n"
}

/// Vertices made one where they coincide, and the triangles by number.
fn welded(triangles: &[Triangle]) -> (Vec<Point>, Vec<[usize; 3]>) {
    let mut vertices: Vec<Point> = Vec::new();
    let mut number = |p: &Point| {
        vertices.iter().position(|q| q == p).unwrap_or_else(|| {
            vertices.push(*p);
            vertices.len() - 1
        })
    };
    let numbered = triangles.iter().map(|t| [0, 1, 2].map(|k| number(&t[k]))).collect();
    (vertices, numbered)
}

fn obj(triangles: &[Triangle]) -> String {
    let (vertices, numbered) = welded(triangles);
    let v = vertices.iter().map(|[x, y, z]| format!("v {x:?} {y:?} {z:?}\n"));
    let f = numbered.iter().map(|[a, b, c]| format!("f {} {} {}\n", a + 1, b + 1, c + 1));
    v.chain(f).collect()
}

fn ply(triangles: &[Triangle]) -> String {
    let (vertices, numbered) = welded(triangles);
    let head = format!(
        "ply\nformat ascii 1.0\nelement vertex {}\nproperty double x\nproperty double y\n\
         property double z\nelement face {}\nproperty list uchar int vertex_indices\nend_header\n",
        vertices.len(),
        numbered.len()
    );
    let v = vertices.iter().map(|[x, y, z]| format!("{x:?} {y:?} {z:?}\n"));
    let f = numbered.iter().map(|[a, b, c]| format!("3 {a} {b} {c}\n"));
    head + &v.chain(f).collect::<String>()
}

fn in_each_format(triangles: &[Triangle]) -> [(&'static str, String); 3] {
    [("p.stl", stl(triangles)), ("p.obj", obj(triangles)), ("p.ply", ply(triangles))]
}

fn cutters() -> String {
    format!(
        r#"
[[cutter]]
id = "ball"
form = "ball"
diameter_mm = {BALL_MM:?}
teeth = 3
flute_length_mm = 26.0
overall_length_mm = 100.0
shank_diameter_mm = 12.0
stickout_mm = 60.0

[[cutter]]
id = "arc"
form = "taper-barrel"
diameter_mm = 12.0
arc_radius_mm = {ARC_MM:?}
corner_radius_mm = 2.0
corner_offset_mm = 0.5
taper_deg = 20.0
teeth = 3
flute_length_mm = 12.0
overall_length_mm = 100.0
shank_diameter_mm = 12.0
stickout_mm = 60.0
"#
    )
}

fn process(name: &str, cutter: &str, stepover_mm: f64) -> String {
    format!(
        r#"
[[process]]
name = "{name}"
[[process.operation]]
name = "Finish"
feature = "top"
kind = "finish-face"
cutter = "{cutter}"
axis = "tilted"
stepover_mm = {stepover_mm:?}
rpm = 12000
feed_per_tooth_mm = 0.1
chord_um = 0.1
"#
    )
}

/// A study of `file` with a ball and a large arc on the face near `near_mm`.
fn study(part: &str, near_mm: Point) -> String {
    format!(
        r#"
[study]
name = "Part"
machine = "trunnion-15k"

[part]
{part}
material = "c45"

[[feature]]
name = "top"
kind = "face"
select = {{ near_mm = {near_mm:?} }}
cusp_um = 10.0
"#
    ) + &process("today", "ball", STEP_MM[0])
        + &process("large arc", "arc", STEP_MM[1])
        + &cutters()
}

fn compare(folder: &Path, study: &str) -> Told {
    fs::write(folder.join("study.toml"), study).unwrap();
    call_in(folder, &["compare", "study.toml", "--json"])
}

fn json(told: &Told) -> serde_json::Value {
    assert_eq!(told.status, 0, "{}", told.error);
    serde_json::from_str(&told.output).unwrap()
}

#[test]
fn a_mesh_dome_is_compared_from_file_to_claim() {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("dome.stl"), stl(&dome())).unwrap();
    let told =
        compare(folder.path(), &study("file = \"dome.stl\"\nunit = \"mm\"", [0.0, 0.0, 20.0]));
    let found = json(&told);
    for (k, radius) in [0.5 * BALL_MM, ARC_MM].into_iter().enumerate() {
        let operation = &found["processes"][k]["operations"][0];
        // a convex face: the curvatures of cutter and surface add up; h = s² k / 8 to the first
        // order, exact to 0.1 % here; chords lift the ridges by half of their 0.1 µm
        let formula = 1e3 * STEP_MM[k].powi(2) * (1.0 / radius + 1.0 / DOME_RADIUS_MM) / 8.0;
        let cut = operation["cusp_um"]["cut_max"].as_f64().unwrap();
        let predicted = operation["cusp_um"]["predicted_max"].as_f64().unwrap();
        assert!((cut / formula - 1.0).abs() < 0.01, "{k}: cut {cut}, by hand {formula}");
        assert!((predicted / formula - 1.0).abs() < 0.01, "{k}: {predicted} for {formula}");
        assert!(operation["gouge_um"].as_f64().unwrap() < 0.1, "{operation}");
        assert!(operation["uncut_mm2"].as_f64().unwrap() < 1.0, "{operation}");
        let warnings = operation["warnings"].to_string();
        assert!(warnings.contains("the feature is a mesh"), "{warnings}");
    }
    let time = |k: usize| found["processes"][k]["time_s"].as_f64().unwrap();
    let claims = found["claims"].as_array().unwrap();
    let saved = claims.iter().find(|c| c["quantity"] == "time_saved_s").unwrap();
    assert!(saved["like_for_like"].as_bool().unwrap(), "{saved}");
    assert!((saved["value"].as_f64().unwrap() - (time(0) - time(1))).abs() < 1e-6, "{saved}");
    assert!(saved["low"].as_f64() < saved["high"].as_f64() && time(1) < time(0));
}

#[test]
fn meshes_with_defects_are_inspected_in_every_format() {
    let block = || cuboid([0.0; 3], [20.0, 12.0, 6.0]);
    let inverted: Vec<Triangle> = block().into_iter().map(|[a, b, c]| [a, c, b]).collect();
    let open = block()[1..].to_vec();
    // three walls on one edge
    let mut winged = block();
    winged.push([[0.0, 0.0, 6.0], [20.0, 0.0, 6.0], [10.0, -5.0, 9.0]]);
    // one corner pulled through the opposite wall
    let pierced: Vec<Triangle> = block()
        .into_iter()
        .map(|t| t.map(|p| if p == [20.0, 12.0, 6.0] { [-9.0, 5.0, 2.0] } else { p }))
        .collect();
    let cases: [(&str, Vec<Triangle>, &str, &str); 4] = [
        ("inverted", inverted, "notes", "inside out"),
        ("open", open, "defects", "open edges"),
        ("non-manifold", winged, "defects", "non-manifold edges"),
        ("self-intersecting", pierced, "defects", "intersect"),
    ];
    for (case, triangles, key, words) in &cases {
        for (name, text) in in_each_format(triangles) {
            let folder = TempDir::new().unwrap();
            fs::write(folder.path().join(name), text).unwrap();
            let found = json(&call_in(folder.path(), &["inspect", name, "--json"]));
            let told = found[*key].to_string();
            assert!(told.contains(words), "{case} as {name}: {found}");
        }
    }
}

#[test]
fn giants_and_empty_meshes_are_refused_in_every_format() {
    let giant = cuboid([0.0; 3], [5e6, 12.0, 6.0]);
    let empty = ["no surface", "is empty", "no surface"];
    for (triangles, words) in [(giant, ["check the unit"; 3]), (Vec::new(), empty)] {
        for ((name, text), words) in in_each_format(&triangles).into_iter().zip(words) {
            let folder = TempDir::new().unwrap();
            fs::write(folder.path().join(name), text).unwrap();
            let told = call_in(folder.path(), &["inspect", name, "--json"]);
            assert_eq!(told.status, 2, "{name}: {}", told.output);
            assert!(told.error.contains(words), "{name}: {}", told.error);
            assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is written");
        }
    }
}

fn pair() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../part/tests/step/pair_ap242.step")
}

/// A folder with the assembly, and what `[part]` says of it.
fn assembly(solid: &str) -> (TempDir, String) {
    let folder = TempDir::new().unwrap();
    fs::copy(pair(), folder.path().join("pair.step")).unwrap();
    let part = format!("file = \"pair.step\"\n{solid}");
    // beside the pin that stands in the base
    let text = study(&part, [-10.0, 0.0, 10.0]);
    (folder, text)
}

#[test]
fn of_an_assembly_one_solid_must_be_named() {
    let (folder, text) = assembly("");
    let told = compare(folder.path(), &text);
    assert_eq!(told.status, 2, "{}", told.output);
    for choice in ["\"base\"", "\"pin:1\"", "\"pin:2\""] {
        assert!(told.error.contains(choice), "{choice}: {}", told.error);
    }
    let (folder, text) = assembly("solid = \"bolt\"");
    let told = compare(folder.path(), &text);
    assert_eq!(told.status, 2, "{}", told.output);
    assert!(told.error.contains("bolt") && told.error.contains("pin:2"), "{}", told.error);
}

#[test]
fn a_solid_is_named_by_name_or_number() {
    let folder = TempDir::new().unwrap();
    fs::copy(pair(), folder.path().join("pair.step")).unwrap();
    let list = json(&call_in(folder.path(), &["inspect", "pair.step", "--json"]));
    let solids = list["solids"].as_array().unwrap();
    assert_eq!(solids.len(), 3);
    let number = format!("#{}", solids[0]["step_id"]);
    let mut outputs = Vec::new();
    for name in ["base", &number] {
        let (folder, text) = assembly(&format!("solid = \"{name}\""));
        let found = json(&compare(folder.path(), &text));
        let operation = &found["processes"][0]["operations"][0];
        outputs.push(operation["path_mm"].as_f64().unwrap());
        // 40 × 30 mm less a hole of 9 mm, in strips of at most 0.6 mm
        assert!((1800.0..2300.0).contains(&outputs[0]), "{operation}");
    }
    assert_eq!(outputs[0], outputs[1]);
    // the pin that lies: its highest point is 54 mm up
    let inspected =
        json(&call_in(folder.path(), &["inspect", "pair.step", "--solid", "pin:2", "--json"]));
    assert_eq!(inspected["faces"].as_array().unwrap().len(), 3);
    assert!((inspected["lowest_mm"][2].as_f64().unwrap() - 46.0).abs() < 0.01);
}
