//! What the pictures of an operation need: thinned passes, outlines, maps over the plan.

use geom::{Vec2, Vec3};
use part::Part;
use pattern::Frame;
use std::collections::BTreeMap;
use study::outcome::PlanMap;
use toolpath::{RunKind, Toolpath};

/// Passes drawn at most.
const PASSES: usize = 140;
/// How far a drawn pass may leave the true one, mm.
const DRAWN_MM: f64 = 0.1;
/// Points of a pass that one drawn line stands for at most.
const POINTS: usize = 200;
/// Cells of a map along its longer side, at most.
const CELLS: f64 = 150.0;
/// Samples that a cell holds on average, at least.
const PER_CELL: f64 = 40.0;

/// Contact lines in plan, every n-th only, and that n.
pub(crate) fn passes(path: &Toolpath, frame: Frame) -> (Vec<Vec<[f64; 3]>>, usize) {
    let cuts: Vec<_> = path.runs.iter().filter(|r| r.kind == RunKind::Cut).collect();
    let every = cuts.len().div_ceil(PASSES).max(1);
    let lines = cuts.iter().step_by(every).map(|run| {
        let points: Vec<Vec3> = run.contacts.iter().map(|c| c.point).collect();
        thinned(&points).into_iter().map(|p| in_plan(p, frame)).collect()
    });
    (lines.collect(), every)
}

/// The points of a line that a picture of it needs.
fn thinned(points: &[Vec3]) -> Vec<Vec3> {
    let mut kept: Vec<Vec3> = points.first().copied().into_iter().collect();
    let mut from = 0;
    for to in 1..points.len() {
        let chord = [points[from], points[to]];
        let off = |p: &Vec3| geom::segment::distance(*p, chord);
        let leaves = points[from + 1..to].iter().any(|p| off(p) > DRAWN_MM);
        if leaves || to - from > POINTS {
            from = to - 1;
            kept.push(points[from]);
        }
    }
    kept.extend(points.last().filter(|_| points.len() > 1));
    kept
}

fn in_plan(point: Vec3, frame: Frame) -> [f64; 3] {
    let plan = frame.plan(point);
    [plan.x, plan.y, point.dot(frame.up)]
}

/// Edges between faces in plan: those round the feature, and all others.
pub(crate) fn edges(part: &Part, faces: &[usize], frame: Frame) -> [Vec<[[f64; 2]; 2]>; 2] {
    let mut sides: BTreeMap<(u32, u32), Vec<u32>> = BTreeMap::new();
    for (triangle, face) in part.mesh.triangles.iter().zip(&part.mesh.face_of) {
        for i in 0..3 {
            let (a, b) = (triangle[i], triangle[(i + 1) % 3]);
            sides.entry((a.min(b), a.max(b))).or_default().push(*face);
        }
    }
    let mut found = [Vec::new(), Vec::new()];
    for ((a, b), of) in sides {
        if of.len() < 2 || of.iter().any(|f| *f != of[0]) {
            let ours = of.iter().filter(|f| faces.contains(&(**f as usize))).count();
            let border = ours > 0 && ours < of.len().max(2);
            let ends = [a, b].map(|v| {
                let p = frame.plan(part.mesh.vertices[v as usize]);
                [p.x, p.y]
            });
            found[usize::from(!border)].push(ends);
        }
    }
    found
}

/// The largest value in each cell of a map over the plan; `None` without samples.
pub(crate) fn plan_map(
    samples: impl Iterator<Item = (Vec3, f64)>,
    frame: Frame,
) -> Option<PlanMap> {
    let points: Vec<(Vec2, f64)> = samples.map(|(p, um)| (frame.plan(p), um)).collect();
    let first = points.first()?.0;
    let ends = points.iter().fold((first, first), |(l, h), (p, _)| (l.min(*p), h.max(*p)));
    let size = ends.1 - ends.0;
    // enough samples in a cell for its highest to be close to the ridge that crosses it
    let filled_mm = (size.x * size.y * PER_CELL / points.len() as f64).sqrt();
    let finest_mm = (size.max_element() / CELLS).max(geom::tolerance::COINCIDENT_MM);
    let cell_mm = finest_mm.max(filled_mm);
    let (columns, rows) = ((size.x / cell_mm) as usize + 1, (size.y / cell_mm) as usize + 1);
    let mut um: Vec<Option<f32>> = vec![None; columns * rows];
    for (p, value) in points {
        let at = (p - ends.0) / cell_mm;
        let cell = &mut um[at.y as usize * columns + at.x as usize];
        *cell = Some(cell.map_or(value as f32, |v| v.max(value as f32)));
    }
    Some(PlanMap { origin_mm: ends.0.to_array(), cell_mm, columns, rows, um })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drawn_line_stays_beside_the_true_one() {
        // three turns of a spiral, finely divided
        let at = |i: usize| {
            let angle = i as f64 * 0.01;
            Vec3::new(angle.cos(), angle.sin(), 0.0) * (5.0 + angle)
        };
        let points: Vec<Vec3> = (0..1900).map(at).collect();
        let drawn = thinned(&points);
        assert!(drawn.len() < 120, "{}", drawn.len());
        let near = |p: &Vec3| {
            drawn.windows(2).any(|w| {
                let along = w[1] - w[0];
                let share = ((*p - w[0]).dot(along) / along.length_squared()).clamp(0.0, 1.0);
                (*p - w[0] - along * share).length() <= DRAWN_MM
            })
        };
        assert!(points.iter().all(near));
        assert_eq!((drawn[0], drawn[drawn.len() - 1]), (points[0], points[1899]));
    }

    #[test]
    fn a_map_keeps_the_highest_value_of_each_cell() {
        let samples = (0..4000).map(|i| {
            let (x, y) = (f64::from(i % 80) / 8.0, f64::from(i / 80) / 10.0);
            (Vec3::new(x, y, 0.0), if i == 1234 { 3.0 } else { 1.0 })
        });
        let map = plan_map(samples, Frame::default()).expect("samples");
        assert_eq!(map.um.iter().flatten().filter(|v| **v == 3.0).count(), 1);
        assert!(map.um.len() < 4000 / 30 && map.um.iter().flatten().count() > 80);
    }

    #[test]
    fn no_sample_no_map() {
        assert!(plan_map(std::iter::empty(), Frame::default()).is_none());
    }
}
