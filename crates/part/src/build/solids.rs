//! Which triangles make up which solid, and which side of them is out.

use super::Soup;
use crate::model::Solid;
use geom::{Bvh, MeshEdges, TriMesh, Vec3};

/// A connected piece of the surface.
#[derive(Debug, Clone, Default)]
struct Shell {
    triangles: Vec<u32>,
    piece: u32,
    closed: bool,
    volume_mm3: f64,
    area_mm2: f64,
    bounds: (Vec3, Vec3),
    /// The closed shell of the same body that holds this one, innermost first.
    inside: Option<usize>,
}

/// The solids of a mesh and the solid of each triangle. A body of the file is one solid where the
/// format says so, else each of its connected pieces is; a hollow belongs to the solid round it.
/// Triangles that disagree with their neighbours are turned over, and pieces whose volume is
/// negative as a whole.
pub(super) fn find(soup: &mut Soup, notes: &mut Vec<String>) -> (Vec<Solid>, Vec<u32>) {
    let edges = MeshEdges::of_triangles(&soup.triangles);
    let turned = agree(&mut soup.triangles, &edges);
    if turned > 0 {
        notes.push(format!(
            "{turned} triangles faced the other way than their neighbours and were turned over"
        ));
    }
    let edges = MeshEdges::of_triangles(&soup.triangles);
    let mut shells = shells(soup, &edges);
    nest(&mut shells, soup);
    turn_inverted(&mut shells, soup, notes);
    group(&shells, soup)
}

/// Turns triangles over so that neighbours agree; in each connected piece the side that most
/// triangles were on wins. Gives how many were turned.
fn agree(triangles: &mut [[u32; 3]], edges: &MeshEdges) -> usize {
    let mut turn: Vec<Option<bool>> = vec![None; triangles.len()];
    let mut turned = 0;
    for seed in 0..triangles.len() {
        if turn[seed].is_some() {
            continue;
        }
        turn[seed] = Some(false);
        let mut piece = vec![seed];
        let mut next = 0;
        while next < piece.len() {
            let t = piece[next];
            next += 1;
            for k in 0..3 {
                let Some(side) = edges.across(t, k) else { continue };
                let n = side.triangle as usize;
                if turn[n].is_none() {
                    let here = edges.of_triangle(t)[k] as usize;
                    let same = edges.pair(here).is_some_and(|[a, b]| a.forward == b.forward);
                    turn[n] = turn[t].map(|turned| turned != same);
                    piece.push(n);
                }
            }
        }
        let over = piece.iter().filter(|&&t| turn[t] == Some(true)).count();
        let wanted = over * 2 <= piece.len();
        for &t in piece.iter().filter(|&&t| turn[t] == Some(wanted)) {
            triangles[t].swap(1, 2);
            turned += 1;
        }
    }
    turned
}

fn shells(soup: &Soup, edges: &MeshEdges) -> Vec<Shell> {
    let (shell_of, count) = connected(&soup.triangles, edges);
    let mut shells = vec![Shell { closed: true, ..Shell::default() }; count];
    for (t, &s) in shell_of.iter().enumerate() {
        let shell = &mut shells[s as usize];
        let corners = soup.triangles[t].map(|v| soup.vertices[v as usize]);
        if shell.triangles.is_empty() {
            shell.bounds = (corners[0], corners[0]);
            shell.piece = soup.piece_of[t];
        }
        shell.triangles.push(t as u32);
        let [a, b, c] = corners;
        for p in corners {
            shell.bounds = (shell.bounds.0.min(p), shell.bounds.1.max(p));
        }
        shell.area_mm2 += 0.5 * (b - a).cross(c - a).length();
        let origin = shell_origin(shell, soup);
        shell.volume_mm3 += (a - origin).dot((b - origin).cross(c - origin)) / 6.0;
        shell.closed &= edges.of_triangle(t).iter().all(|&e| {
            let sides = edges.sides(e as usize);
            // each way along the edge as often as the other
            2 * sides.iter().filter(|s| s.forward).count() == sides.len()
        });
    }
    shells
}

fn shell_origin(shell: &Shell, soup: &Soup) -> Vec3 {
    soup.vertices[soup.triangles[shell.triangles[0] as usize][0] as usize]
}

/// Numbers the connected pieces of a mesh, in the order of their first triangle.
fn connected(triangles: &[[u32; 3]], edges: &MeshEdges) -> (Vec<u32>, usize) {
    let mut shell_of = vec![u32::MAX; triangles.len()];
    let mut count = 0;
    let mut work = Vec::new();
    for seed in 0..triangles.len() {
        if shell_of[seed] != u32::MAX {
            continue;
        }
        shell_of[seed] = count;
        work.push(seed);
        while let Some(t) = work.pop() {
            for e in edges.of_triangle(t) {
                for side in edges.sides(e as usize) {
                    let n = side.triangle as usize;
                    if shell_of[n] == u32::MAX {
                        shell_of[n] = count;
                        work.push(n);
                    }
                }
            }
        }
        count += 1;
    }
    (shell_of, count as usize)
}

/// Finds for every shell the innermost closed shell of its body that holds it.
fn nest(shells: &mut [Shell], soup: &Soup) {
    let holds = |outer: &Shell, inner: &Shell| {
        outer.piece == inner.piece
            && outer.closed
            && inner.bounds.0.cmpge(outer.bounds.0).all()
            && inner.bounds.1.cmple(outer.bounds.1).all()
            && outer.volume_mm3.abs() > inner.volume_mm3.abs()
    };
    let any = (0..shells.len())
        .any(|i| (0..shells.len()).any(|o| o != i && holds(&shells[o], &shells[i])));
    if !any {
        return;
    }
    let mesh = TriMesh {
        vertices: soup.vertices.clone(),
        triangles: soup.triangles.clone(),
        face_of: Vec::new(),
    };
    // outer shells one after the other, so that one tree at a time is held
    for o in 0..shells.len() {
        let inner: Vec<usize> =
            (0..shells.len()).filter(|&i| i != o && holds(&shells[o], &shells[i])).collect();
        if inner.is_empty() {
            continue;
        }
        let tree = Bvh::over(&mesh, shells[o].triangles.iter().map(|&t| t as usize));
        for i in inner {
            let smaller = |p: usize| shells[o].volume_mm3.abs() < shells[p].volume_mm3.abs();
            if shells[i].inside.is_none_or(smaller)
                && tree.holds(&mesh, shell_origin(&shells[i], soup))
            {
                shells[i].inside = Some(o);
            }
        }
    }
}

fn turn_inverted(shells: &mut [Shell], soup: &mut Soup, notes: &mut Vec<String>) {
    let outermost = |mut s: usize| {
        while let Some(o) = shells[s].inside {
            s = o;
        }
        s
    };
    let inverted: Vec<usize> = (0..shells.len())
        .filter(|&s| {
            let o = outermost(s);
            shells[s].closed && shells[o].closed && shells[o].volume_mm3 < 0.0
        })
        .collect();
    for &s in &inverted {
        shells[s].volume_mm3 = -shells[s].volume_mm3;
        for &t in &shells[s].triangles {
            soup.triangles[t as usize].swap(1, 2);
        }
    }
    if !inverted.is_empty() {
        let n = inverted.len();
        notes.push(format!("the surface was inside out ({n} closed pieces) and was turned over"));
    }
}

fn group(shells: &[Shell], soup: &Soup) -> (Vec<Solid>, Vec<u32>) {
    let mut owner: Vec<usize> = (0..shells.len()).collect();
    let mut first_of_piece = vec![None; soup.pieces.len()];
    for s in 0..shells.len() {
        if soup.bodies_are_solids {
            owner[s] = *first_of_piece[shells[s].piece as usize].get_or_insert(s);
        } else if shells[s].volume_mm3 < 0.0 && shells[s].closed {
            // a hollow: to the first full shell round it
            let mut o = shells[s].inside;
            while let Some(full) = o.filter(|&o| shells[o].volume_mm3 < 0.0) {
                o = shells[full].inside;
            }
            owner[s] = o.unwrap_or(s);
        }
    }
    let roots: Vec<usize> = (0..shells.len()).filter(|&s| owner[s] == s).collect();
    let mut solid_of = vec![0; soup.triangles.len()];
    let mut solids: Vec<Solid> = Vec::with_capacity(roots.len());
    let mut number_of = vec![0; shells.len()];
    for (number, &root) in roots.iter().enumerate() {
        number_of[root] = number;
        solids.push(Solid {
            step_id: None,
            name: String::new(),
            volume_mm3: Some(0.0),
            area_mm2: 0.0,
        });
    }
    for (s, shell) in shells.iter().enumerate() {
        let number = number_of[owner[s]];
        let solid = &mut solids[number];
        solid.area_mm2 += shell.area_mm2;
        solid.volume_mm3 = solid.volume_mm3.filter(|_| shell.closed).map(|v| v + shell.volume_mm3);
        shell.triangles.iter().for_each(|&t| solid_of[t as usize] = number as u32);
    }
    let pieces: Vec<u32> = roots.iter().map(|&r| shells[r].piece).collect();
    name(&mut solids, &pieces, soup);
    (solids, solid_of)
}

/// Names solids after their body; where several share a name, or there is none, a number tells
/// them apart.
fn name(solids: &mut [Solid], pieces: &[u32], soup: &Soup) {
    let base = |s: usize| match soup.pieces[pieces[s] as usize].as_str() {
        "" => "solid",
        name => name,
    };
    for s in 0..solids.len() {
        let same = (0..solids.len()).filter(|&o| base(o) == base(s)).count();
        let before = (0..s).filter(|&o| base(o) == base(s)).count();
        solids[s].name = match (same, base(s)) {
            (1, name) if name != "solid" => name.to_owned(),
            (_, name) => format!("{name}-{}", before + 1),
        };
    }
}
