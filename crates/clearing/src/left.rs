//! What is left standing: the border of the material on the grid, as a region.

use crate::grid::Field;
use crate::ground::Ground;
use crate::job::Job;
use geom::Vec2;
use planar::Region;
use std::collections::BTreeMap;

/// Stock inside that is cut, and what stays of it.
pub(crate) fn reached_and_rest(job: &Job<'_>, ground: &Ground) -> (Region, Region) {
    let wanted = job.inside.and(job.stock);
    let level = 4e-3 * job.cutter_radius_mm;
    let standing = Region::of_loops(&loops(&ground.field, level)).grown(level);
    let room = job.inside.grown(-(job.cutter_radius_mm - planar::ARC_MM));
    let out_of_reach = wanted.less(&room.grown(job.cutter_radius_mm));
    let rest = standing.or(&out_of_reach).and(&wanted);
    (wanted.less(&rest), rest)
}

/// Closed lines on which a field has a value.
fn loops(field: &Field, level: f64) -> Vec<Vec<[f64; 2]>> {
    let mut next: BTreeMap<usize, usize> = BTreeMap::new();
    let (nx, ny) = (field.grid.nx, field.grid.ny);
    for j in 0..ny - 1 {
        for i in 0..nx - 1 {
            for (from, to) in pieces(field, level, j * nx + i) {
                next.insert(from, to);
            }
        }
    }
    let mut out = Vec::new();
    while let Some((first, mut to)) = next.pop_first() {
        let mut line = vec![crossing(field, level, first)];
        while to != first {
            line.push(crossing(field, level, to));
            let Some(onwards) = next.remove(&to) else { break };
            to = onwards;
        }
        out.push(line);
    }
    out
}

/// Key of the edge from a node to the right (0) or up (1).
fn edge(node: usize, up: usize) -> usize {
    2 * node + up
}

/// Where the level crosses an edge.
fn crossing(field: &Field, level: f64, key: usize) -> [f64; 2] {
    let (node, up) = (key / 2, key % 2);
    let other = node + if up == 1 { field.grid.nx } else { 1 };
    let (a, b) = (f64::from(field.values[node]) - level, f64::from(field.values[other]) - level);
    let t = (a / (a - b)).max(0.0).min(1.0);
    let along = if up == 1 { Vec2::Y } else { Vec2::X };
    (field.grid.place(node) + along * (t * field.grid.cell_mm)).to_array()
}

/// Pieces of the line in a cell, what is above the level on their left.
fn pieces(field: &Field, level: f64, node: usize) -> impl Iterator<Item = (usize, usize)> {
    let nx = field.grid.nx;
    let is_in = |n: usize| f64::from(field.values[n]) > level;
    // corners and edges anticlockwise
    let corners = [node, node + 1, node + nx + 1, node + nx].map(is_in);
    let edges = [edge(node, 0), edge(node + 1, 1), edge(node + nx, 0), edge(node, 1)];
    // the line leaves the material's left where a corner is in and the next one is out
    let leaves: Vec<usize> = (0..4).filter(|k| corners[*k] && !corners[(k + 1) % 4]).collect();
    let enters: Vec<usize> = (0..4).filter(|k| !corners[*k] && corners[(k + 1) % 4]).collect();
    // with two pieces, each cuts off the corner that is in
    let piece = move |k: usize| {
        let back = (0..4).map(|d| (k + 4 - d) % 4).find(|e| enters.contains(e));
        back.map(|e| (edges[k], edges[e]))
    };
    leaves.into_iter().filter_map(piece)
}
