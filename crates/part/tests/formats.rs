//! Every format gives the same part; what a file says about units, names and placement is heard.

mod shapes;

use geom::{TriMesh, Vec2, Vec3};
use part::{DefectKind, FaceKind, LengthUnit, Part, ReadError, ReadOptions, read};
use shapes::Ply;

fn block() -> TriMesh {
    shapes::pocketed(Vec2::new(30.0, 20.0), 20.0, Vec2::new(18.0, 12.0), 5.0, 8.0, 0.0, 9)
}

fn take(bytes: &[u8], name: &str) -> Part {
    read(bytes, name, &ReadOptions::default()).unwrap_or_else(|e| panic!("{e}"))
}

fn refuse(bytes: &[u8], name: &str) -> String {
    read(bytes, name, &ReadOptions::default()).expect_err("must be refused").to_string()
}

fn files(mesh: &TriMesh) -> Vec<(&'static str, Vec<u8>)> {
    let object = shapes::threemf_object(mesh, 1, "block");
    vec![
        ("b.stl", shapes::stl_binary(mesh)),
        ("a.stl", shapes::stl_ascii(mesh, "block").into_bytes()),
        ("b.obj", shapes::obj(mesh).into_bytes()),
        ("a.ply", shapes::ply(mesh, Ply::Ascii)),
        ("l.ply", shapes::ply(mesh, Ply::Little)),
        ("g.ply", shapes::ply(mesh, Ply::Big)),
        ("b.3mf", shapes::threemf("millimeter", &object, "<item objectid=\"1\"/>")),
    ]
}

#[test]
fn all_formats_give_the_same_block() {
    let mesh = block();
    for (name, bytes) in files(&mesh) {
        let part = take(&bytes, name);
        let solid = &part.solids[0];
        assert_eq!(part.mesh.vertices.len(), mesh.vertices.len(), "{name}");
        assert_eq!((part.solids.len(), part.faces.len()), (1, 15), "{name}");
        let volume = solid.volume_mm3.expect("closed");
        assert!((volume - mesh.volume_mm3()).abs() < 0.02, "{name}: {volume}");
        assert!(part.defects.is_empty(), "{name}: {:?}", part.defects);
        let cylinders = part.faces.iter().filter(|f| f.kind == FaceKind::Cylinder).count();
        assert_eq!(cylinders, 4, "{name}");
    }
}

#[test]
fn a_missing_unit_is_noted_and_inches_are_honoured() {
    let mesh = block();
    for (name, bytes) in files(&mesh).into_iter().take(6) {
        let plain = take(&bytes, name);
        assert!(plain.notes.iter().any(|n| n.contains("taken as mm")), "{name}");
        let options = ReadOptions { unit: Some(LengthUnit::Inch), ..ReadOptions::default() };
        let inch = read(&bytes, name, &options).expect("reads");
        assert!(!inch.notes.iter().any(|n| n.contains("taken as mm")));
        let (lo, hi) = inch.mesh.bounds().expect("vertices");
        assert!(((hi - lo).x - 60.0 * 25.4).abs() < 1e-3, "{name}");
    }
    let object = shapes::threemf_object(&mesh, 1, "block");
    let bytes = shapes::threemf("inch", &object, "<item objectid=\"1\"/>");
    let (lo, hi) = take(&bytes, "b.3mf").mesh.bounds().expect("vertices");
    assert!(((hi - lo).y - 40.0 * 25.4).abs() < 1e-9);
}

#[test]
fn components_are_placed_and_mirrored_ones_stay_outside_out() {
    let mesh = shapes::cuboid(Vec3::new(4.0, 3.0, 2.0));
    let parts = "<object id=\"2\" type=\"model\" name=\"pair\"><components>\
        <component objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 1 10 0 0\"/>\
        <component objectid=\"1\" transform=\"-1 0 0 0 1 0 0 0 1 0 0 0\"/></components></object>";
    let resources = shapes::threemf_object(&mesh, 1, "cube") + parts;
    let build = "<item objectid=\"2\" transform=\"0 1 0 -1 0 0 0 0 1 0 0 5\"/>";
    let part = take(&shapes::threemf("millimeter", &resources, build), "p.3mf");
    assert_eq!(part.solids.len(), 2);
    for solid in &part.solids {
        assert!((solid.volume_mm3.expect("closed") - 24.0).abs() < 1e-9);
    }
    assert_eq!(part.solids[0].name, "cube-1");
    // (4, 3, 2) of the first: shifted to (14, 3, 2), turned a quarter to (-3, 14, 2), lifted
    let (lo, hi) = part.mesh.bounds().expect("vertices");
    assert!((lo - Vec3::new(-3.0, -4.0, 5.0)).length() < 1e-12, "{lo}");
    assert!((hi - Vec3::new(0.0, 14.0, 7.0)).length() < 1e-12, "{hi}");
}

#[test]
fn components_inside_themselves_are_refused() {
    let loops = "<object id=\"1\" type=\"model\"><components><component objectid=\"1\"/><component objectid=\"1\"/></components></object>";
    let text = refuse(&shapes::threemf("millimeter", loops, "<item objectid=\"1\"/>"), "p.3mf");
    assert!(text.contains("inside itself"), "{text}");
}

#[test]
fn a_binary_stl_that_begins_with_solid_is_binary() {
    let mut bytes = shapes::stl_binary(&block());
    bytes[..10].copy_from_slice(b"solid name");
    assert_eq!(take(&bytes, "b.stl").faces.len(), 15);
}

#[test]
fn a_wrong_ending_is_refused_and_an_unknown_one_is_not() {
    let bytes = shapes::stl_binary(&block());
    let error = part::read(&bytes, "b.obj", &ReadOptions::default()).unwrap_err().to_string();
    assert!(error.contains("STL (binary)") && error.contains("obj"), "{error}");
    assert_eq!(take(&bytes, "b.old").faces.len(), 15);
    assert_eq!(take(&bytes, "B.STL").faces.len(), 15);
}

#[test]
fn groups_name_faces_and_polygons_keep_their_shape() {
    // an L of one hexagon on top, walls of quads: 8 faces
    let text = "v 0 0 0\nv 4 0 0\nv 4 1 0\nv 1 1 0\nv 1 3 0\nv 0 3 0\nv 0 0 1\nv 4 0 1\nv 4 1 1\nv 1 1 1\nv 1 3 1\nv 0 3 1\n\
        g top\nf 7 8 9 10 11 12\ng bottom\nf 6/1 5/1 4 3 2 1\ng walls\nf 1 2 8 7\nf 2 3 9 8\nf 3 4 10 9\nf 4 5 11 10\nf 5 6 12 11\nf -7 -12 -6 -1\n";
    let part = take(text.as_bytes(), "l.obj");
    assert_eq!(part.faces.len(), 8);
    assert_eq!(part.faces.iter().filter(|f| f.name == "walls").count(), 6);
    assert!((part.solids[0].volume_mm3.expect("closed") - 6.0).abs() < 1e-12);
    assert!(part.faces.iter().any(|f| f.name == "top" && (f.area_mm2 - 6.0).abs() < 1e-12));
}

#[test]
fn an_inverted_part_is_turned_over_and_a_hollow_stays() {
    let outer = shapes::cuboid(Vec3::splat(10.0));
    let inner = shapes::moved(&shapes::cuboid(Vec3::splat(4.0)), Vec3::splat(3.0));
    let hollow = shapes::joined(&outer, &shapes::inside_out(&inner));
    for (mesh, noted) in [(hollow.clone(), false), (shapes::inside_out(&hollow), true)] {
        let part = take(&shapes::stl_binary(&mesh), "h.stl");
        assert_eq!(part.solids.len(), 1);
        assert!((part.solids[0].volume_mm3.expect("closed") - 936.0).abs() < 1e-3);
        assert_eq!(part.notes.iter().any(|n| n.contains("inside out")), noted, "{:?}", part.notes);
        assert!((part.mesh.volume_mm3() - 936.0).abs() < 1e-3);
    }
    let part = take(
        &shapes::stl_binary(&shapes::joined(&outer, &shapes::moved(&outer, Vec3::X * 20.0))),
        "two.stl",
    );
    assert_eq!(part.solids.len(), 2);
}

#[test]
fn single_triangles_that_face_inwards_are_turned_over() {
    let mut mesh = shapes::cuboid(Vec3::new(3.0, 2.0, 1.0));
    mesh.triangles[3].swap(0, 1);
    mesh.triangles[8].swap(0, 1);
    let part = take(&shapes::stl_binary(&mesh), "m.stl");
    assert!((part.mesh.volume_mm3() - 6.0).abs() < 1e-6);
    assert!(part.notes.iter().any(|n| n.starts_with("2 triangles faced")), "{:?}", part.notes);
    assert!(part.defects.is_empty());
}

#[test]
fn an_open_part_lists_its_defect_and_only_the_faces_touched() {
    let mut mesh = shapes::cuboid(Vec3::new(3.0, 2.0, 1.0));
    mesh.triangles.pop();
    let part = take(&shapes::stl_binary(&mesh), "o.stl");
    assert!(part.solids[0].volume_mm3.is_none());
    assert!(!part.defects.is_empty() && part.defects.iter().all(|d| d.kind == DefectKind::Open));
    let touched: Vec<usize> = part.defects.iter().flat_map(|d| d.faces.clone()).collect();
    let clean: Vec<usize> = (0..part.faces.len()).filter(|f| !touched.contains(f)).collect();
    assert!(!clean.is_empty() && part.defects_touching(&clean).is_empty());
    assert!(!part.defects_touching(&touched).is_empty());
}

#[test]
fn walls_that_run_through_each_other_are_found() {
    // two bars in one body, crossing like a plus: joined in one corner so that they are one piece
    let bar = shapes::cuboid(Vec3::new(10.0, 2.0, 2.0));
    let across =
        shapes::moved(&shapes::cuboid(Vec3::new(2.0, 10.0, 2.0)), Vec3::new(4.0, -4.0, 0.5));
    let object = shapes::threemf_object(&shapes::joined(&bar, &across), 1, "plus");
    let part = take(&shapes::threemf("millimeter", &object, "<item objectid=\"1\"/>"), "p.3mf");
    assert!(
        part.defects.iter().any(|d| d.kind == DefectKind::SelfIntersection),
        "{:?}",
        part.defects
    );
    // as two solids in one STL they may touch and cross without being a defect of either
    let part = take(&shapes::stl_binary(&shapes::joined(&bar, &across)), "p.stl");
    assert_eq!(part.solids.len(), 2);
    assert!(part.defects.is_empty());
}

#[test]
fn twice_the_same_triangle_and_a_third_wing_are_found() {
    let mut mesh = shapes::cuboid(Vec3::new(3.0, 2.0, 1.0));
    mesh.triangles.push(mesh.triangles[0]);
    mesh.face_of.push(0);
    let part = take(&shapes::stl_binary(&mesh), "d.stl");
    let kinds: Vec<DefectKind> = part.defects.iter().map(|d| d.kind).collect();
    assert!(kinds.contains(&DefectKind::Duplicate) && kinds.contains(&DefectKind::NonManifold));
}

#[test]
fn triangles_without_area_leave_no_hole() {
    // the middle of an edge of the cuboid, used on one side only: a flat triangle closes the gap
    let mut mesh = shapes::cuboid(Vec3::new(4.0, 2.0, 1.0));
    let [a, b, c] = mesh.triangles[0];
    let middle = 0.5 * (mesh.vertices[a as usize] + mesh.vertices[b as usize]);
    mesh.vertices.push(middle);
    let m = (mesh.vertices.len() - 1) as u32;
    mesh.triangles[0] = [a, m, c];
    mesh.triangles.extend([[m, b, c], [a, b, m], [a, a, c]]);
    mesh.face_of = vec![0; mesh.triangles.len()];
    let part = take(&shapes::stl_binary(&mesh), "f.stl");
    assert!(part.defects.is_empty(), "{:?}", part.defects);
    assert!((part.mesh.volume_mm3() - 8.0).abs() < 1e-6);
    assert!(
        part.notes.iter().any(|n| n.starts_with("1 triangles without area")),
        "{:?}",
        part.notes
    );
    assert!(
        part.notes.iter().any(|n| n.starts_with("1 triangles whose corners")),
        "{:?}",
        part.notes
    );
}

#[test]
fn bad_files_are_refused_with_place_and_remedy() {
    let whole = shapes::stl_binary(&block());
    assert!(refuse(b"", "e.stl").contains("empty"));
    assert!(refuse(b" \n ", "e.obj").contains("empty"));
    assert!(refuse(b"\x00\x01\x02garbage", "e.bin").contains("neither the content"));
    assert!(refuse(&whole[..whole.len() - 7], "t.stl").contains("byte"));
    assert!(refuse(b"solid x\nendsolid x\n", "n.stl").contains("no surface"));
    assert!(refuse(b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n", "f.obj").contains("line 4"));
    assert!(refuse(b"v 0 0 zero\n", "f.obj").contains("line 1"));
    assert!(refuse(b"v 0 0 0\nv nan 0 0\nv 0 1 0\nf 1 2 3\n", "f.obj").contains("line 2"));
    let huge = "v 0 0 0\nv 2e6 0 0\nv 0 1 0\nf 1 2 3\n";
    assert!(refuse(huge.as_bytes(), "f.obj").contains("unit"));
    let ply = shapes::ply(&block(), Ply::Ascii);
    assert!(refuse(&ply[..ply.len() / 2], "t.ply").contains("line"));
    let ply = shapes::ply(&block(), Ply::Big);
    assert!(refuse(&ply[..ply.len() / 2], "t.ply").contains("byte"));
    let flat = b"v 0 0 0\nv 1 0 0\nv 2 0 0\nf 1 2 2\n";
    assert!(refuse(flat, "f.obj").contains("no area"));
    let object = shapes::threemf_object(&block(), 1, "block");
    assert!(refuse(&shapes::threemf("furlong", &object, ""), "u.3mf").contains("furlong"));
    let package = shapes::threemf("millimeter", &object, "<item objectid=\"7\"/>");
    assert!(refuse(&package, "u.3mf").contains("object 7"));
    assert!(refuse(&package[..package.len() / 2], "u.3mf").contains("ZIP"));
}

#[test]
fn huge_numbers_in_headers_cost_nothing() {
    let ply = b"ply\nformat ascii 1.0\nelement vertex 4000000000\nproperty float x\nproperty float y\nproperty float z\nend_header\n0 0 0\n";
    assert!(refuse(ply, "h.ply").contains("the file ends"));
    let mut stl = vec![0; 84];
    stl[80..84].copy_from_slice(&u32::MAX.to_le_bytes());
    assert!(matches!(
        read(&stl, "h.stl", &ReadOptions::default()),
        Err(ReadError::Malformed { .. })
    ));
}
