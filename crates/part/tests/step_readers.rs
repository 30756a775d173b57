//! Both readers on the same files: the same faces, the same surfaces, the same parts.
#![cfg(all(feature = "occt", feature = "step-io"))]
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test may panic")]

use geom::{MeshEdges, Site, Vec3};
use part::step::{Reader, read_by};
use part::{Face, Part, ReadOptions};

/// Relative difference of areas. The kernel's integral of half an elliptic cylinder is 1.1e-4 off
/// its closed form, though asked for 1e-6; everywhere else both agree to 1e-5.
const AREA: f64 = 2e-4;
/// Relative difference of volumes: integrals over borders that the readers divide in their own ways.
const VOLUME: f64 = 1e-5;
/// Points of each face at which both surfaces are compared.
const POINTS: usize = 40;

fn file(name: &str) -> Vec<u8> {
    let path = format!("{}/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read(&path).expect(&path)
}

/// The part by the kernel and by the reader in Rust; `None` where this build has only one.
fn both(name: &str) -> Option<[Part; 2]> {
    if Reader::available().len() < 2 {
        return None;
    }
    let bytes = file(name);
    let by = |reader| read_by(reader, &bytes, name, &ReadOptions::default()).expect("a part");
    Some([by(Reader::Kernel), by(Reader::Exchange)])
}

fn near(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs())
}

/// Middles of a face's triangles: place in the parameters and point.
fn middles(part: &Part, face: usize) -> Vec<(geom::Vec2, Vec3)> {
    let own = (0..part.mesh.triangles.len()).filter(|t| part.mesh.face_of[*t] as usize == face);
    let middle = |t: usize| {
        let (uv, p) = (part.corner_uv[t], part.mesh.corners(t));
        ((uv[0] + uv[1] + uv[2]) / 3.0, (p[0] + p[1] + p[2]) / 3.0)
    };
    own.map(middle).collect()
}

fn site(face: &Face, uv: geom::Vec2) -> Site {
    face.surface.as_ref().expect("exact").site(uv, face.flip).expect("a normal")
}

/// The foot of `p`, from the triangles nearest to it.
fn foot_on(surface: &geom::surface::Surface, p: Vec3, near: &[(geom::Vec2, Vec3)]) -> geom::Vec2 {
    let mut near = near.to_vec();
    near.sort_by(|x, y| x.1.distance(p).total_cmp(&y.1.distance(p)));
    let feet = near.iter().take(4).filter_map(|(guess, _)| surface.project(p, *guess));
    let gap = |uv: &geom::Vec2| surface.point(uv.x, uv.y).distance(p);
    feet.min_by(|x, y| gap(x).total_cmp(&gap(y))).expect("a foot")
}

fn agree_at_points(parts: &[Part; 2], a: usize, b: usize) {
    let [kernel, other] = parts;
    let (fa, fb) = (&kernel.faces[a], &other.faces[b]);
    let (theirs, all) = (middles(other, b), middles(kernel, a));
    let mut ranges = [[f64::INFINITY, f64::NEG_INFINITY]; 2];
    for (uv, _) in all.iter().step_by(all.len().div_ceil(POINTS)) {
        let s = site(fa, *uv);
        let surface = fb.surface.as_ref().expect("exact");
        let foot = foot_on(surface, s.point, &theirs);
        let t = site(fb, foot);
        assert!(t.point.distance(s.point) < 1e-6, "#{:?}: {} {}", fa.step_id, s.point, t.point);
        assert!(t.normal.dot(s.normal) > 1.0 - 1e-9, "#{:?} at {}", fa.step_id, s.point);
        for (range, s) in ranges.iter_mut().zip([s, t]) {
            let k = s.curvature.entries.eigen();
            *range = [range[0].min(k.small), range[1].max(k.large)];
        }
    }
    for (x, y) in ranges[0].iter().zip(ranges[1]) {
        assert!((x - y).abs() <= 1e-9_f64.max(1e-6 * x.abs()), "#{:?}: {x} {y}", fa.step_id);
    }
}

fn agree(parts: &[Part; 2], a: usize, b: usize) {
    let (x, y) = (&parts[0].faces[a], &parts[1].faces[b]);
    assert_eq!((x.step_id, &x.name, x.kind), (y.step_id, &y.name, y.kind));
    assert_eq!((x.flip, x.solid), (y.flip, y.solid), "#{:?}", x.step_id);
    assert!(near(x.area_mm2, y.area_mm2, AREA), "#{:?}: {} {}", x.step_id, x.area_mm2, y.area_mm2);
    agree_at_points(parts, a, b);
}

fn is_closed(part: &Part) -> bool {
    let edges = MeshEdges::new(&part.mesh);
    (0..edges.len()).all(|e| edges.pair(e).is_some_and(|[a, b]| a.forward != b.forward))
}

fn same_parts(name: &str, closed: bool) {
    let Some(parts) = both(name) else { return };
    let [kernel, other] = &parts;
    assert_eq!((kernel.unit, kernel.name.as_str()), (other.unit, other.name.as_str()));
    assert_eq!(kernel.faces.len(), other.faces.len());
    for (x, y) in kernel.solids.iter().zip(&other.solids) {
        assert_eq!((x.step_id, &x.name), (y.step_id, &y.name));
        match (x.volume_mm3, y.volume_mm3) {
            (Some(a), Some(b)) => assert!(near(a, b, VOLUME), "{}: {a} {b}", x.name),
            (a, b) => assert_eq!(a, b),
        }
    }
    (0..kernel.faces.len()).for_each(|i| agree(&parts, i, i));
    for part in &parts {
        assert_eq!(is_closed(part), closed, "{:?}", part.defects);
        assert_eq!(part.defects.is_empty(), closed, "{:?}", part.defects);
        assert!(part.deviation_mm <= 0.01, "{}", part.deviation_mm);
    }
    let says = |p: &Part| p.notes.iter().any(|n| n.contains("without the CAD kernel"));
    assert!(!says(kernel) && says(other));
}

#[test]
fn the_demo_part() {
    same_parts("../../examples/mast-coupling/coupling.step", true);
}

#[test]
fn a_turned_part_in_inches() {
    same_parts("tests/step/turned_ap203_inch.step", true);
}

#[test]
fn an_assembly() {
    same_parts("tests/step/pair_ap242.step", true);
}

#[test]
fn closed_surfaces_with_holes_and_no_seam() {
    same_parts("tests/step/rounds_ap242.step", true);
}

#[test]
fn an_open_box() {
    same_parts("tests/step/open_ap214.step", false);
}

#[test]
fn what_one_reader_does_not_know_is_named_and_the_rest_agrees() {
    let Some(parts) = both("tests/step/kinds_ap214.step") else { return };
    let [kernel, other] = &parts;
    assert_eq!((kernel.faces.len(), other.faces.len()), (11, 10));
    for b in 0..other.faces.len() {
        let id = other.faces[b].step_id;
        let a = kernel.faces.iter().position(|f| f.step_id == id).expect("the same number");
        agree(&parts, a, b);
    }
    let named = |n: &String| n.contains("left out") && n.contains("RECTANGULAR_TRIMMED_SURFACE");
    let note = other.notes.iter().find(|n| named(n)).expect("named");
    assert!(note.contains("(line "), "{note}");
}
