//! The set of cutters at the command line: its sums from its own stages, and what a wrong call is
//! told.

#![allow(clippy::unwrap_used, reason = "a test may unwrap")]

mod program;

use program::call_in;
use serde_json::Value;
use std::f64::consts::FRAC_PI_2;
use std::fs;
use tempfile::TempDir;

/// Points of each corner's arc, less one.
const CHORDS: usize = 12;

/// A rounded rectangle about the origin, anticlockwise.
fn rounded(x: f64, y: f64, r: f64) -> Vec<[f64; 2]> {
    let signs = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)];
    let corner = |(k, (sx, sy)): (usize, (f64, f64))| {
        (0..=CHORDS).map(move |i| {
            let (sin, cos) = (FRAC_PI_2 * (k as f64 + i as f64 / CHORDS as f64)).sin_cos();
            [sx * (x - r) + r * cos, sy * (y - r) + r * sin]
        })
    };
    signs.into_iter().enumerate().flat_map(corner).collect()
}

/// A block of 100 × 80 × 20 mm with a pocket of 60 × 40 × 8 mm whose corners have a radius of 6 mm.
fn block() -> String {
    let (outer, inner) = (rounded(50.0, 40.0, 10.0), rounded(30.0, 20.0, 6.0));
    let rings = [(&outer, 0.0), (&outer, 20.0), (&inner, 20.0), (&inner, 12.0)];
    let n = outer.len();
    let mut text = String::new();
    for (ring, z) in rings {
        ring.iter().for_each(|[x, y]| text += &format!("v {x} {y} {z}\n"));
    }
    text += "v 0 0 0\nv 0 0 12\n";
    for i in 0..n {
        let j = (i + 1) % n;
        for ring in 0..3 {
            let (a, b) = (ring * n + 1, (ring + 1) * n + 1);
            text += &format!("f {} {} {} {}\n", a + i, a + j, b + j, b + i);
        }
        text += &format!("f {} {} {}\n", 4 * n + 1, 1 + j, 1 + i);
        text += &format!("f {} {} {}\n", 4 * n + 2, 3 * n + 1 + i, 3 * n + 1 + j);
    }
    text
}

fn folder(diameters: &[f64]) -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("block.obj"), block()).unwrap();
    let mut text = "[study]\nname = \"Block\"\nmachine = \"trunnion-15k\"\n\n[part]\n\
        file = \"block.obj\"\nunit = \"mm\"\nmaterial = \"en-aw-7075-t651\"\n"
        .to_owned();
    for d in diameters {
        text += &format!(
            "\n[[cutter]]\nid = \"flat-{d}\"\nform = \"flat\"\ndiameter_mm = {d:.1}\nteeth = 3\n\
             flute_length_mm = 20.0\noverall_length_mm = 80.0\nshank_diameter_mm = {d:.1}\n\
             helix_deg = 30.0\nstickout_mm = 40.0\nprice = 40.0\nedges = 1\n"
        );
    }
    fs::write(folder.path().join("study.toml"), text).unwrap();
    folder
}

#[test]
fn the_best_set_is_the_least_of_all_that_its_stages_allow() {
    let folder = folder(&[20.0, 10.0, 1.5, 25.0]);
    let told = call_in(folder.path(), &["cutter-set", "study.toml", "--json"]);
    assert_eq!(told.status, 0, "{}", told.error);
    let document: Value = serde_json::from_str(&told.output).unwrap();
    let change = document["tool_change_s"].as_f64().unwrap();
    let stage = |after: Option<&str>, cutter: &str| {
        let stages = document["stages"].as_array().unwrap();
        let one = stages.iter().find(|s| s["after"].as_str() == after && s["cutter"] == cutter);
        one.unwrap()["time_s"].as_f64().unwrap()
    };
    let ids = ["flat-25", "flat-20", "flat-10", "flat-1.5"];
    let mut times = Vec::new();
    for set in 1u32..16 {
        let members: Vec<usize> = (0..4).filter(|c| set >> c & 1 == 1).collect();
        let mut cheapest = [f64::INFINITY; 4];
        for (k, c) in members.iter().enumerate() {
            cheapest[*c] = stage(None, ids[*c]);
            for a in &members[..k] {
                cheapest[*c] = cheapest[*c].min(cheapest[*a] + stage(Some(ids[*a]), ids[*c]));
            }
        }
        // 10 mm and less go into a corner of 6 mm at a ratio of 0.9
        times.push(change * members.len() as f64 + cheapest[2].min(cheapest[3]));
    }
    times.sort_by(f64::total_cmp);
    let runners = document["runners_up"].as_array().unwrap();
    assert_eq!(runners.len(), 3);
    let sets = std::iter::once(&document["best"]).chain(runners);
    for (set, time) in sets.zip(times) {
        assert!((set["time_s"].as_f64().unwrap() - time).abs() < 1e-9 * time, "{set} {time}");
    }
    // what 20 mm leaves in four corners of 6 mm: (4 − π)(10² − 6²)
    let access = document["access"].as_array().unwrap();
    let wide = access.iter().find(|a| a["cutter"] == "flat-20").unwrap();
    let left = (4.0 - std::f64::consts::PI) * (100.0 - 36.0);
    assert!((wide["rest_mm2"].as_f64().unwrap() - left).abs() < 0.5, "{wide}");
}

#[test]
fn too_large_cutters_are_refused_with_the_diameter_that_would_do() {
    let folder = folder(&[20.0]);
    let told = call_in(folder.path(), &["cutter-set", "study.toml"]);
    assert_eq!((told.status, told.output.as_str()), (2, ""));
    assert!(told.error.contains("10.8"), "{}", told.error);
}
