//! Level lines of a nodal field, traced cell by cell.

use std::collections::BTreeMap;

use geom::Vec2;

use crate::lattice::{Lattice, cubic, four_in_line};

/// Level lines as chart polylines; closed ones repeat their first point. Each line runs with the
/// larger values on its left. Crossings on the grid's edges follow the cubic through four nodes.
pub(crate) fn trace(lattice: &Lattice, values: &[f64], level: f64) -> Vec<Vec<Vec2>> {
    let tracer = Tracer { lattice, values, level };
    tracer.chained(tracer.segments())
}

/// An edge of the grid: its lower node and whether it runs along the second coordinate.
type Edge = (usize, bool);

struct Tracer<'a> {
    lattice: &'a Lattice,
    values: &'a [f64],
    level: f64,
}

impl Tracer<'_> {
    fn above(&self, node: usize) -> bool {
        self.values[node] >= self.level
    }

    /// Directed pieces from edge to edge, at most two per cell.
    fn segments(&self) -> BTreeMap<Edge, Edge> {
        let [nx, ny] = self.lattice.size;
        let mut next = BTreeMap::new();
        for j in 0..ny - 1 {
            for i in 0..nx - 1 {
                let k = j * nx + i;
                let corners = [k, k + 1, k + nx + 1, k + nx];
                if corners.iter().all(|c| self.values[*c].is_finite()) {
                    self.cell(
                        corners,
                        [(k, false), (k + 1, true), (k + nx, false), (k, true)],
                        &mut next,
                    );
                }
            }
        }
        next
    }

    /// Joins the edges where the sign changes, larger values on the left: going round the cell
    /// counter-clockwise, a line leaves through an edge that rises and comes in where it falls.
    fn cell(&self, corners: [usize; 4], edges: [Edge; 4], next: &mut BTreeMap<Edge, Edge>) {
        let up = corners.map(|c| self.above(c));
        let rises: Vec<usize> = (0..4).filter(|e| !up[*e] && up[(*e + 1) % 4]).collect();
        let falls: Vec<usize> = (0..4).filter(|e| up[*e] && !up[(*e + 1) % 4]).collect();
        let mean = corners.iter().map(|c| self.values[*c]).sum::<f64>() / 4.0;
        for (n, fall) in falls.iter().enumerate() {
            let rise = if falls.len() == 1 {
                rises[n]
            } else {
                // two pieces: they go round the corners that are cut off from the middle's side
                let step = if mean >= self.level { 1 } else { 3 };
                (*fall + step) % 4
            };
            next.insert(edges[*fall], edges[rise]);
        }
    }

    fn chained(&self, mut next: BTreeMap<Edge, Edge>) -> Vec<Vec<Vec2>> {
        let targets: std::collections::BTreeSet<Edge> = next.values().copied().collect();
        let starts: Vec<Edge> = next.keys().filter(|e| !targets.contains(e)).copied().collect();
        let mut lines = Vec::new();
        for start in starts {
            lines.push(self.follow(start, &mut next));
        }
        while let Some((&start, _)) = next.iter().next() {
            lines.push(self.follow(start, &mut next));
        }
        lines
    }

    fn follow(&self, start: Edge, next: &mut BTreeMap<Edge, Edge>) -> Vec<Vec2> {
        let mut line = vec![self.crossing(start)];
        let mut here = start;
        while let Some(edge) = next.remove(&here) {
            line.push(self.crossing(edge));
            here = edge;
        }
        line
    }

    /// Where the level crosses an edge: on the cubic through the four nodes in line, found between
    /// the two ends by regula falsi.
    fn crossing(&self, (node, second): Edge) -> Vec2 {
        let [nx, ny] = self.lattice.size;
        let (stride, i, n) = if second { (nx, node / nx, ny) } else { (1, node % nx, nx) };
        let value = |m: usize| self.values[node - i * stride + m * stride];
        let four = four_in_line(i, n, value);
        let f = |t: f64| cubic(t).iter().zip(four).map(|(w, v)| w * v).sum::<f64>() - self.level;
        let (mut lo, mut hi, mut flo, mut fhi) =
            (0.0, 1.0, four[1] - self.level, four[2] - self.level);
        let mut t = flo / (flo - fhi);
        for _ in 0..40 {
            let v = f(t);
            if v == 0.0 || hi - lo < 1e-13 {
                break;
            }
            if (v > 0.0) == (fhi > 0.0) {
                (hi, fhi) = (t, v);
                flo *= 0.5;
            } else {
                (lo, flo) = (t, v);
                fhi *= 0.5;
            }
            t = lo + (hi - lo) * (flo / (flo - fhi)).clamp(0.01, 0.99);
        }
        let from = self.lattice.place(node);
        let step = if second { Vec2::Y } else { Vec2::X } * self.lattice.cell;
        from + step * t
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(n: usize) -> Lattice {
        Lattice {
            origin: Vec2::splat(-1.0),
            cell: Vec2::splat(2.0 / (n - 1) as f64),
            size: [n, n],
            spots: vec![None; n * n],
            inside: vec![false; n * n],
        }
    }

    #[test]
    fn a_circle_closes_with_the_high_side_on_its_left() {
        let grid = square(41);
        let values: Vec<f64> = (0..41 * 41).map(|k| -grid.place(k).length()).collect();
        let lines = trace(&grid, &values, -0.7);
        assert_eq!(lines.len(), 1);
        let line = &lines[0];
        assert!(line[0].distance(line[line.len() - 1]) < 1e-12);
        assert!(line.iter().all(|q| (q.length() - 0.7).abs() < 1e-5));
        let turn: f64 = line.windows(2).map(|w| w[0].perp_dot(w[1])).sum();
        assert!(turn > 0.0, "the inside is higher, so the line runs counter-clockwise");
    }

    #[test]
    fn a_slanted_plane_gives_one_open_line() {
        let grid = square(11);
        let values: Vec<f64> = (0..121).map(|k| grid.place(k).dot(Vec2::new(0.3, 1.0))).collect();
        let lines = trace(&grid, &values, 0.05);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].iter().all(|q| (q.dot(Vec2::new(0.3, 1.0)) - 0.05).abs() < 1e-12));
        assert!(lines[0][0].x < -0.9, "larger values lie on the left of a line towards +x");
    }

    #[test]
    fn a_saddle_gives_two_lines() {
        let grid = square(10);
        let values: Vec<f64> = (0..100).map(|k| grid.place(k).x * grid.place(k).y).collect();
        assert_eq!(trace(&grid, &values, 0.001).len(), 2);
        assert_eq!(trace(&grid, &values, -0.001).len(), 2);
    }
}
