//! Seeds of every reader, replayed as they are and with bytes turned, cut and repeated: a reader
//! answers, it never panics and never takes forever.

use part::{Part, ReadError, ReadOptions, read};
use proptest::prelude::*;
use std::path::{Path, PathBuf};

fn seeds() -> Vec<(String, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("corpus");
    let mut paths: Vec<PathBuf> =
        std::fs::read_dir(folder).expect("corpus").map(|e| e.expect("entry").path()).collect();
    paths.sort();
    let named = |p: PathBuf| {
        let name = p.file_name().expect("a name").to_string_lossy().into_owned();
        (name, std::fs::read(p).expect("readable"))
    };
    paths.into_iter().map(named).collect()
}

/// What a reader promises of any part that it gives.
fn is_sound(part: &Part) {
    assert!(!part.mesh.triangles.is_empty() && !part.faces.is_empty());
    assert!(part.mesh.vertices.iter().all(|v| v.is_finite() && v.abs().max_element() <= 1e6));
    let vertices = part.mesh.vertices.len() as u32;
    assert!(part.mesh.triangles.iter().flatten().all(|v| *v < vertices));
    assert_eq!(part.mesh.face_of.len(), part.mesh.triangles.len());
    assert!(part.mesh.face_of.iter().all(|f| (*f as usize) < part.faces.len()));
    assert!(part.faces.iter().all(|f| f.area_mm2.is_finite() && f.solid < part.solids.len()));
    for t in 0..part.mesh.triangles.len().min(50) as u32 {
        if let Some(site) = part.site(t, [0.2, 0.3, 0.5]) {
            assert!(site.point.is_finite() && (site.normal.length() - 1.0).abs() < 1e-9);
            let k = site.curvature.entries;
            assert!(k.xx.is_finite() && k.xy.is_finite() && k.yy.is_finite());
        }
    }
}

fn answers(bytes: &[u8], name: &str) -> Result<Part, ReadError> {
    let answer = read(bytes, name, &ReadOptions::default());
    match &answer {
        Ok(part) => is_sound(part),
        Err(error) => assert!(error.to_string().starts_with(name), "{error}"),
    }
    answer
}

#[test]
fn seeds_answer_as_their_names_say() {
    let seeds = seeds();
    assert!(seeds.len() >= 12);
    for (name, bytes) in seeds {
        let answer = answers(&bytes, &name);
        assert_eq!(answer.is_ok(), name.starts_with("good"), "{name}: {:?}", answer.err());
    }
}

/// One change of a file.
#[derive(Debug, Clone)]
enum Change {
    Cut(f64),
    Turn(f64, u8),
    Put(f64, u8),
    Repeat(f64, f64),
    Number(f64, &'static str),
}

fn change() -> impl Strategy<Value = Change> {
    let place = 0.0..1.0_f64;
    let words = prop::sample::select(vec!["nan", "-1", "1e300", "4294967296", "", "0", "\u{0}"]);
    prop_oneof![
        place.clone().prop_map(Change::Cut),
        (place.clone(), any::<u8>()).prop_map(|(p, b)| Change::Turn(p, b)),
        (place.clone(), any::<u8>()).prop_map(|(p, b)| Change::Put(p, b)),
        (place.clone(), place.clone()).prop_map(|(p, q)| Change::Repeat(p, q)),
        (place, words).prop_map(|(p, w)| Change::Number(p, w)),
    ]
}

fn changed(mut bytes: Vec<u8>, change: &Change) -> Vec<u8> {
    let at = |share: f64, length: usize| (share * length as f64) as usize;
    let n = bytes.len();
    if n == 0 {
        return bytes;
    }
    match change {
        Change::Cut(p) => bytes.truncate(at(*p, n)),
        Change::Turn(p, b) => bytes[at(*p, n)] ^= b,
        Change::Put(p, b) => bytes.insert(at(*p, n), *b),
        Change::Repeat(p, q) => {
            let (lo, hi) = (at(p.min(*q), n), at(p.max(*q), n));
            let piece = bytes[lo..hi].to_vec();
            bytes.splice(lo..lo, piece);
        }
        Change::Number(p, word) => {
            let from = at(*p, n);
            let length = bytes[from..].iter().take_while(|b| b.is_ascii_digit()).count();
            bytes.splice(from..from + length, word.bytes());
        }
    }
    bytes
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn spoiled_seeds_still_answer(
        which in any::<prop::sample::Index>(),
        changes in prop::collection::vec(change(), 1..6),
    ) {
        let seeds: Vec<_> = seeds().into_iter().filter(|s| !s.0.ends_with("step")).collect();
        let (name, mut bytes) = seeds[which.index(seeds.len())].clone();
        for c in &changes {
            bytes = changed(bytes, c);
        }
        let _ = answers(&bytes, &name);
    }

    #[test]
    fn noise_is_refused(bytes in prop::collection::vec(any::<u8>(), 0..400), ending in 0..5_usize) {
        let name = ["n.stl", "n.obj", "n.ply", "n.3mf", "n"][ending];
        let _ = answers(&bytes, name);
    }
}
