//! Meshes of known shape, made in code, and their bytes in file formats.
#![allow(dead_code, reason = "each test and bench uses a part of it")]

use geom::{TriMesh, Vec2, Vec3};

/// A grid of `nu` × `nv` cells over the unit square mapped by `f`, with corners in the same place
/// made one; cells without area at poles become single triangles.
pub(crate) fn grid(nu: usize, nv: usize, f: impl Fn(f64, f64) -> Vec3) -> TriMesh {
    let mut mesh = TriMesh::default();
    let at = |i: usize, j: usize| f(i as f64 / nu as f64, j as f64 / nv as f64);
    let number = |p: Vec3, mesh: &mut TriMesh, seen: &mut Vec<(Vec3, u32)>| {
        if let Some((_, n)) = seen.iter().find(|(q, _)| (*q - p).length() < 1e-9) {
            return *n;
        }
        mesh.vertices.push(p);
        let n = (mesh.vertices.len() - 1) as u32;
        seen.push((p, n));
        n
    };
    // only border points can coincide
    let mut border = Vec::new();
    let mut index = vec![vec![0; nv + 1]; nu + 1];
    for i in 0..=nu {
        for j in 0..=nv {
            let inside = i > 0 && i < nu && j > 0 && j < nv;
            index[i][j] = if inside {
                mesh.vertices.push(at(i, j));
                (mesh.vertices.len() - 1) as u32
            } else {
                number(at(i, j), &mut mesh, &mut border)
            };
        }
    }
    for i in 0..nu {
        for j in 0..nv {
            let [a, b] = [index[i][j], index[i + 1][j]];
            let [c, d] = [index[i + 1][j + 1], index[i][j + 1]];
            // diagonals alternate
            let cut =
                if (i + j) % 2 == 0 { [[a, b, c], [a, c, d]] } else { [[a, b, d], [b, c, d]] };
            let whole = |t: &[u32; 3]| t[0] != t[1] && t[1] != t[2] && t[2] != t[0];
            mesh.triangles.extend(cut.into_iter().filter(whole));
        }
    }
    mesh.face_of = vec![0; mesh.triangles.len()];
    mesh
}

const TURN: f64 = std::f64::consts::TAU;

pub(crate) fn sphere(radius: f64, n: usize) -> TriMesh {
    grid(2 * n, n, |u, v| {
        let (a, b) = (u.fract() * TURN, (v - 0.5) * std::f64::consts::PI);
        let pole = v == 0.0 || v == 1.0;
        let c = if pole { 0.0 } else { b.cos() };
        Vec3::new(c * a.cos(), c * a.sin(), b.sin()) * radius
    })
}

pub(crate) fn torus(major: f64, minor: f64, nu: usize, nv: usize) -> TriMesh {
    grid(nu, nv, |u, v| {
        let (a, b) = (u.fract() * TURN, v.fract() * TURN);
        let r = major + minor * b.cos();
        Vec3::new(r * a.cos(), r * a.sin(), minor * b.sin())
    })
}

/// `z = (k1 x² + k2 y²) / 2` over a square of half side `half`, outward normal +z.
pub(crate) fn paraboloid(k1: f64, k2: f64, half: f64, n: usize) -> TriMesh {
    grid(n, n, |u, v| {
        let (x, y) = ((2.0 * u - 1.0) * half, (2.0 * v - 1.0) * half);
        Vec3::new(x, y, 0.5 * (k1 * x * x + k2 * y * y))
    })
}

/// Loops of equally many points joined one to the next, a fan over the first and the last. The
/// first loop runs clockwise seen from outside its cap.
pub(crate) fn stack(loops: &[Vec<Vec3>]) -> TriMesh {
    let n = loops[0].len();
    let mut mesh = TriMesh { vertices: loops.concat(), ..TriMesh::default() };
    let at = |l: usize, k: usize| (l * n + k % n) as u32;
    for l in 0..loops.len() - 1 {
        for k in 0..n {
            let (a, b, c, d) = (at(l, k), at(l, k + 1), at(l + 1, k + 1), at(l + 1, k));
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    for (l, forward) in [(0, false), (loops.len() - 1, true)] {
        let centre = loops[l].iter().sum::<Vec3>() / n as f64;
        mesh.vertices.push(centre);
        let c = (mesh.vertices.len() - 1) as u32;
        for k in 0..n {
            let (a, b) = (at(l, k), at(l, k + 1));
            mesh.triangles.push(if forward { [a, b, c] } else { [b, a, c] });
        }
    }
    mesh.face_of = vec![0; mesh.triangles.len()];
    mesh
}

fn lifted(points: &[Vec2], z: f64) -> Vec<Vec3> {
    points.iter().map(|p| p.extend(z)).collect()
}

pub(crate) fn circle(radius: f64, n: usize) -> Vec<Vec2> {
    (0..n).map(|k| Vec2::from_angle(TURN * k as f64 / n as f64) * radius).collect()
}

pub(crate) fn cylinder(radius: f64, height: f64, n: usize) -> TriMesh {
    let c = circle(radius, n);
    stack(&[lifted(&c, 0.0), lifted(&c, height)])
}

pub(crate) fn cone(bottom: f64, top: f64, height: f64, n: usize) -> TriMesh {
    stack(&[lifted(&circle(bottom, n), 0.0), lifted(&circle(top, n), height)])
}

pub(crate) fn cuboid(size: Vec3) -> TriMesh {
    prism(&[(0.0, 0.0), (size.x, 0.0), (size.x, size.y), (0.0, size.y)], size.z)
}

/// A convex outline, counter-clockwise, made `height` high.
pub(crate) fn prism(outline: &[(f64, f64)], height: f64) -> TriMesh {
    let points: Vec<Vec2> = outline.iter().map(|&(x, y)| Vec2::new(x, y)).collect();
    stack(&[lifted(&points, 0.0), lifted(&points, height)])
}

/// A rectangle of half sides `half` with corners of radius `r`, `arc` points to each corner.
pub(crate) fn rounded(half: Vec2, r: f64, arc: usize) -> Vec<Vec2> {
    let mut points = Vec::new();
    for (q, (sx, sy)) in [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)].iter().enumerate() {
        let centre = Vec2::new(sx * (half.x - r), sy * (half.y - r));
        for k in 0..arc {
            let a = (q as f64 + k as f64 / (arc - 1) as f64) * TURN / 4.0;
            points.push(centre + Vec2::from_angle(a) * r);
        }
    }
    points
}

/// Points on the border of a rectangle straight out from the middle through `inner`; the four
/// nearest to corners are the corners.
fn around(half: Vec2, inner: &[Vec2]) -> Vec<Vec2> {
    let mut points: Vec<Vec2> = inner
        .iter()
        .map(|p| {
            let t = (half.x / p.x.abs()).min(half.y / p.y.abs());
            *p * t
        })
        .collect();
    for (sx, sy) in [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)] {
        let corner = Vec2::new(sx * half.x, sy * half.y);
        let nearest = (0..points.len()).min_by(|&a, &b| {
            (points[a] - corner).length().total_cmp(&(points[b] - corner).length())
        });
        points[nearest.expect("points")] = corner;
    }
    points
}

/// A block `2 half` wide and `height` high, bottom at z = 0, with a rounded rectangular pocket in
/// its top: half sides `pocket`, corner radius `corner`, `depth` deep, floor fillet `fillet` (0:
/// sharp). A depth of the whole height makes it go through.
pub(crate) fn pocketed(
    half: Vec2,
    height: f64,
    pocket: Vec2,
    corner: f64,
    depth: f64,
    fillet: f64,
    arc: usize,
) -> TriMesh {
    let hole = rounded(pocket, corner, arc);
    let outer = around(half, &hole);
    let mut loops = vec![lifted(&outer, 0.0), lifted(&outer, height), lifted(&hole, height)];
    let floor = height - depth;
    if fillet > 0.0 {
        for k in 0..=arc {
            let a = TURN / 4.0 * k as f64 / arc as f64;
            let (inwards, z) = (fillet * (1.0 - a.cos()), floor + fillet * (1.0 - a.sin()));
            let loop_ = rounded(pocket - Vec2::splat(inwards), corner - inwards, arc);
            loops.push(lifted(&loop_, z));
        }
    } else {
        loops.push(lifted(&hole, floor));
    }
    stack(&loops)
}

/// A block with a rounded rectangular window through it.
pub(crate) fn windowed(half: Vec2, height: f64, window: Vec2, corner: f64, arc: usize) -> TriMesh {
    let hole = rounded(window, corner, arc);
    let outer = around(half, &hole);
    let loops =
        [lifted(&outer, 0.0), lifted(&outer, height), lifted(&hole, height), lifted(&hole, 0.0)];
    let n = hole.len();
    let mut mesh = TriMesh { vertices: loops.concat(), ..TriMesh::default() };
    let at = |l: usize, k: usize| ((l % 4) * n + k % n) as u32;
    for l in 0..4 {
        for k in 0..n {
            let (a, b, c, d) = (at(l, k), at(l, k + 1), at(l + 1, k + 1), at(l + 1, k));
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    mesh.face_of = vec![0; mesh.triangles.len()];
    mesh
}

/// Two meshes as one file holds them.
pub(crate) fn joined(a: &TriMesh, b: &TriMesh) -> TriMesh {
    let base = a.vertices.len() as u32;
    let mut mesh = a.clone();
    mesh.vertices.extend(&b.vertices);
    mesh.triangles.extend(b.triangles.iter().map(|t| t.map(|v| v + base)));
    mesh.face_of = vec![0; mesh.triangles.len()];
    mesh
}

pub(crate) fn moved(mesh: &TriMesh, by: Vec3) -> TriMesh {
    let mut mesh = mesh.clone();
    mesh.vertices.iter_mut().for_each(|v| *v += by);
    mesh
}

pub(crate) fn inside_out(mesh: &TriMesh) -> TriMesh {
    let mut mesh = mesh.clone();
    mesh.triangles.iter_mut().for_each(|t| t.swap(0, 1));
    mesh
}

pub(crate) fn stl_binary(mesh: &TriMesh) -> Vec<u8> {
    let mut bytes = vec![b' '; 80];
    bytes.extend((mesh.triangles.len() as u32).to_le_bytes());
    for t in 0..mesh.triangles.len() {
        bytes.extend([0; 12]);
        for p in mesh.corners(t) {
            p.to_array().iter().for_each(|x| bytes.extend((*x as f32).to_le_bytes()));
        }
        bytes.extend([0; 2]);
    }
    bytes
}

pub(crate) fn stl_ascii(mesh: &TriMesh, name: &str) -> String {
    let mut text = format!("solid {name}\n");
    for t in 0..mesh.triangles.len() {
        text += " facet normal 0 0 0\n  outer loop\n";
        for p in mesh.corners(t) {
            text += &format!("   vertex {:e} {:e} {:e}\n", p.x, p.y, p.z);
        }
        text += "  endloop\n endfacet\n";
    }
    text + &format!("endsolid {name}\n")
}

pub(crate) fn obj(mesh: &TriMesh) -> String {
    let mut text = String::from("# made in code\n");
    for p in &mesh.vertices {
        text += &format!("v {} {} {}\n", p.x, p.y, p.z);
    }
    for t in &mesh.triangles {
        text += &format!("f {} {} {}\n", t[0] + 1, t[1] + 1, t[2] + 1);
    }
    text
}

/// How the body of a PLY file is written.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Ply {
    Ascii,
    Little,
    Big,
}

pub(crate) fn ply(mesh: &TriMesh, kind: Ply) -> Vec<u8> {
    let format = match kind {
        Ply::Ascii => "ascii",
        Ply::Little => "binary_little_endian",
        Ply::Big => "binary_big_endian",
    };
    let mut bytes = format!(
        "ply\nformat {format} 1.0\ncomment made in code\nelement vertex {}\nproperty double x\n\
         property double y\nproperty double z\nproperty uchar red\nelement face {}\n\
         property list uchar int vertex_indices\nend_header\n",
        mesh.vertices.len(),
        mesh.triangles.len()
    )
    .into_bytes();
    for p in &mesh.vertices {
        for x in p.to_array() {
            match kind {
                Ply::Ascii => bytes.extend(format!("{x} ").bytes()),
                Ply::Little => bytes.extend(x.to_le_bytes()),
                Ply::Big => bytes.extend(x.to_be_bytes()),
            }
        }
        bytes.extend(if kind == Ply::Ascii { b"7\n".to_vec() } else { vec![7] });
    }
    for t in &mesh.triangles {
        bytes.extend(if kind == Ply::Ascii { b"3 ".to_vec() } else { vec![3] });
        for v in t.map(|v| v as i32) {
            match kind {
                Ply::Ascii => bytes.extend(format!("{v} ").bytes()),
                Ply::Little => bytes.extend(v.to_le_bytes()),
                Ply::Big => bytes.extend(v.to_be_bytes()),
            }
        }
        bytes.extend(if kind == Ply::Ascii { b"\n".to_vec() } else { Vec::new() });
    }
    bytes
}

/// The XML of a 3MF object with a mesh.
pub(crate) fn threemf_object(mesh: &TriMesh, id: u32, name: &str) -> String {
    let mut xml = format!("<object id=\"{id}\" type=\"model\" name=\"{name}\"><mesh><vertices>");
    for p in &mesh.vertices {
        xml += &format!("<vertex x=\"{}\" y=\"{}\" z=\"{}\"/>", p.x, p.y, p.z);
    }
    xml += "</vertices><triangles>";
    for t in &mesh.triangles {
        xml += &format!("<triangle v1=\"{}\" v2=\"{}\" v3=\"{}\"/>", t[0], t[1], t[2]);
    }
    xml + "</triangles></mesh></object>"
}

/// A 3MF package round a model.
pub(crate) fn threemf(unit: &str, resources: &str, build: &str) -> Vec<u8> {
    use std::io::Write;
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    let model = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?><model unit=\"{unit}\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\
         <resources>{resources}</resources><build>{build}</build></model>"
    );
    let relations = "<?xml version=\"1.0\" encoding=\"UTF-8\"?><Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\">\
         <Relationship Target=\"/3D/part.model\" Id=\"r1\" Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/></Relationships>";
    for (name, text) in [("_rels/.rels", relations), ("3D/part.model", &model)] {
        zip.start_file(name, options).expect("in memory");
        zip.write_all(text.as_bytes()).expect("in memory");
    }
    zip.finish().expect("in memory").into_inner()
}
