//! Triangles without area go, without tearing the surface.

use super::Soup;
use geom::tolerance::COINCIDENT_MM;
use geom::{MeshEdges, Vec3};

/// Rounds of turning edges over at most; each takes away the flat triangles that it can.
const ROUNDS: usize = 8;

/// Removes triangles without area and notes how many there were. Two corners in one vertex: the
/// triangle goes. Three corners on a line: the middle corner stands on the far edge, and leaving
/// the triangle out would tear the surface there, so that edge is turned over with its neighbour.
pub(super) fn clean(soup: &mut Soup, notes: &mut Vec<String>) {
    let collapsed = drop_collapsed(soup);
    let mut turned = 0;
    for _ in 0..ROUNDS {
        let now = turn_flat(soup);
        turned += now;
        if now == 0 {
            break;
        }
        drop_collapsed(soup);
    }
    if collapsed > 0 {
        notes.push(format!("{collapsed} triangles without area were left out"));
    }
    if turned > 0 {
        notes.push(format!(
            "{turned} triangles whose corners stand on a line were merged into their neighbours"
        ));
    }
}

fn drop_collapsed(soup: &mut Soup) -> usize {
    let keep: Vec<bool> =
        soup.triangles.iter().map(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0]).collect();
    let gone = keep.iter().filter(|k| !**k).count();
    if gone > 0 {
        retain(&mut soup.triangles, &keep);
        retain(&mut soup.piece_of, &keep);
        retain(&mut soup.group_of, &keep);
    }
    gone
}

fn retain<T>(list: &mut Vec<T>, keep: &[bool]) {
    let mut flags = keep.iter();
    list.retain(|_| flags.next().copied().unwrap_or(true));
}

/// The side opposite to the middle corner of a triangle that is flat to the tolerance.
fn flat_side(corners: [Vec3; 3]) -> Option<usize> {
    let length = |k: usize| (corners[(k + 1) % 3] - corners[k]).length();
    let longest = (0..3).max_by(|&a, &b| length(a).total_cmp(&length(b)))?;
    let twice = (corners[1] - corners[0]).cross(corners[2] - corners[0]).length();
    (twice < COINCIDENT_MM * length(longest)).then_some(longest)
}

fn turn_flat(soup: &mut Soup) -> usize {
    let places = |soup: &Soup, t: usize| soup.triangles[t].map(|v| soup.vertices[v as usize]);
    let flat: Vec<(usize, usize)> = (0..soup.triangles.len())
        .filter_map(|t| flat_side(places(soup, t)).map(|k| (t, k)))
        .collect();
    if flat.is_empty() {
        return 0;
    }
    let edges = MeshEdges::of_triangles(&soup.triangles);
    let mut touched = vec![false; soup.triangles.len()];
    let mut turned = 0;
    for (t, k) in flat {
        let Some(side) = edges.across(t, k) else { continue };
        let (n, m) = (side.triangle as usize, side.side as usize);
        if touched[t] || touched[n] || n == t || flat_side(places(soup, n)).is_some() {
            continue;
        }
        let (a, b, c) = turned_corners(soup.triangles[t], k);
        let (from, _, d) = turned_corners(soup.triangles[n], m);
        if from != b || c == d {
            continue;
        }
        // the edge a–b with c on it and d across becomes c–d
        soup.triangles[t] = [c, a, d];
        soup.triangles[n] = [c, d, b];
        soup.group_of[t] = soup.group_of[n];
        (touched[t], touched[n]) = (true, true);
        turned += 1;
    }
    turned
}

/// Corners of a triangle beginning with side `k`.
fn turned_corners(t: [u32; 3], k: usize) -> (u32, u32, u32) {
    (t[k], t[(k + 1) % 3], t[(k + 2) % 3])
}
