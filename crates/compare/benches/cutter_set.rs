//! The set of forty cutters for twenty pockets and twenty-four places: reading the part left out, all else
//! as `cutter-set` does it.

#![allow(clippy::unwrap_used, reason = "a bench may unwrap")]

use compare::cutter_set::{Objective, choose};
use divan::{Bencher, black_box};
use part::{Part, ReadOptions};
use std::f64::consts::FRAC_PI_2;
use std::fmt::Write as _;
use study::Study;
use study::read::NoFiles;

fn main() {
    divan::main();
}

/// Chords of a corner.
const CHORDS: usize = 12;
/// Side of the field that a pocket stands in, mm.
const FIELD_MM: f64 = 60.0;

/// A rounded rectangle about (x, y), anticlockwise from its right end.
fn rounded([x, y]: [f64; 2], [a, b]: [f64; 2], r: f64) -> Vec<[f64; 2]> {
    let signs = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)];
    let corner = |(k, (sx, sy)): (usize, (f64, f64))| {
        (0..=CHORDS).map(move |i| {
            let (sin, cos) = (FRAC_PI_2 * (k as f64 + i as f64 / CHORDS as f64)).sin_cos();
            [x + sx * (a - r) + r * cos, y + sy * (b - r) + r * sin]
        })
    };
    signs.into_iter().enumerate().flat_map(corner).collect()
}

/// The border of a field in as many points, from the middle of its right side on; the corners among them.
fn border([x, y]: [f64; 2]) -> Vec<[f64; 2]> {
    let n = CHORDS + 1;
    let h = 0.5 * FIELD_MM;
    let quarter = |k: usize| {
        let (sin, cos) = ([0.0, 1.0, 0.0, -1.0][k], [1.0, 0.0, -1.0, 0.0][k]);
        (0..n).map(move |i| {
            let t = 2.0 * (i as f64 + 0.5) / n as f64;
            let (u, v) = (h * (2.0 - t).min(1.0), h * t.min(1.0));
            [x + cos * u - sin * v, y + sin * u + cos * v]
        })
    };
    (0..4).flat_map(quarter).collect()
}

/// A plate of 5 by 4 fields with a pocket in each.
fn plate() -> String {
    let mut text = String::new();
    let mut vertices = 0;
    let mut ring = |text: &mut String, points: &[[f64; 2]], z: f64| {
        // writing to a string cannot fail
        points.iter().for_each(|[x, y]| writeln!(text, "v {x:.6} {y:.6} {z}").unwrap());
        vertices += points.len();
        vertices - points.len() + 1
    };
    let n = 4 * (CHORDS + 1);
    for k in 0..20usize {
        let (i, j) = (k % 5, k / 5);
        let middle = [FIELD_MM * i as f64, FIELD_MM * j as f64];
        let half = [10.0 + 0.7 * k as f64, 9.0 + 0.9 * ((k * 7) % 20) as f64 / 2.0];
        let corner = 1.6 + 0.35 * ((k * 3) % 20) as f64;
        let depth = 4.0 + 0.6 * ((k * 11) % 20) as f64;
        let (outer, inner) = (border(middle), rounded(middle, half, corner));
        let low = ring(&mut text, &outer, 0.0);
        let top = ring(&mut text, &outer, 25.0);
        let rim = ring(&mut text, &inner, 25.0);
        let floor = ring(&mut text, &inner, 25.0 - depth);
        let [below, centre] = [0.0, 25.0 - depth].map(|z| ring(&mut text, &[middle], z));
        for a in 0..n {
            let b = (a + 1) % n;
            // a side of the field that lies on the plate's own border
            let side = (a / (CHORDS + 1) + usize::from(a % (CHORDS + 1) >= CHORDS / 2)) % 4;
            let outside = [i == 4, j == 3, i == 0, j == 0][side];
            let strips = [(low, top, outside), (top, rim, true), (rim, floor, true)];
            for (from, to, _) in strips.iter().filter(|s| s.2) {
                writeln!(text, "f {} {} {} {}", from + a, from + b, to + b, to + a).unwrap();
            }
            writeln!(text, "f {} {} {}", below, low + b, low + a).unwrap();
            writeln!(text, "f {} {} {}", centre, floor + a, floor + b).unwrap();
        }
    }
    text
}

fn study() -> (Study, Part) {
    let mut text = "[study]\nname = \"Plate\"\nmachine = \"trunnion-15k\"\n\n[part]\n\
        file = \"plate.obj\"\nunit = \"mm\"\nmaterial = \"en-aw-7075-t651\"\n"
        .to_owned();
    for k in 0..40 {
        let d = 20.0 - 0.47 * f64::from(k);
        let (teeth, price) = (2 + k % 3, 30 + (k * 13) % 40);
        write!(
            text,
            "\n[[cutter]]\nid = \"flat-{k}\"\nform = \"flat\"\ndiameter_mm = {d:.2}\nteeth = {teeth}\n\
             flute_length_mm = 20.0\noverall_length_mm = 80.0\nshank_diameter_mm = {d:.2}\n\
             helix_deg = 30.0\nstickout_mm = 40.0\nprice = {price}.0\nedges = 1\n"
        )
        .unwrap();
    }
    let study = study::read::study(text.as_bytes(), "study.toml", &NoFiles).unwrap();
    let part = part::read(plate().as_bytes(), "plate.obj", &ReadOptions::default()).unwrap();
    (study, part)
}

#[divan::bench(args = [Objective::Time, Objective::Cost], sample_count = 5, sample_size = 1)]
fn forty_cutters_twenty_pockets(bencher: Bencher<'_, '_>, objective: Objective) {
    let (study, part) = study();
    bencher.bench_local(|| {
        let set = choose(black_box(&study), &part, objective, Some(24)).unwrap();
        assert_eq!((set.access.len(), set.sets.len()), (800, 4));
        assert!(set.stages.len() > 10_000);
        set
    });
}
