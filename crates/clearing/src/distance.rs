//! Signed distance to the border of a region, on a grid: exact within a band, its bound beyond.

use crate::grid::{Field, Grid};
use geom::Vec2;
use geom::segment::distance_in_plane;
use planar::Region;

/// Straight pieces of the border.
pub(crate) fn edges(region: &Region) -> Vec<(Vec2, Vec2)> {
    let loops = region.loops();
    let pieces = loops.iter().flat_map(|l| l.iter().zip(l.iter().cycle().skip(1)));
    pieces.map(|(a, b)| (Vec2::from(*a), Vec2::from(*b))).collect()
}

/// Positive inside, within `±band_mm`.
pub(crate) fn signed(region: &Region, grid: Grid, band_mm: f64) -> Field {
    let edges = edges(region);
    let mut values = vec![band_mm as f32; grid.len()];
    for (a, b) in &edges {
        near(&mut values, &grid, *a, *b, band_mm);
    }
    outside(&mut values, &grid, &edges);
    Field { grid, values }
}

/// Takes the distance to one edge where it is less.
fn near(values: &mut [f32], grid: &Grid, a: Vec2, b: Vec2, band: f64) {
    for j in grid.rows(a.y.min(b.y) - band, a.y.max(b.y) + band) {
        let y = grid.node(0, j).y;
        let (lo, hi) = columns(a, b, y, band);
        for i in grid.columns(lo, hi) {
            let d = distance_in_plane(grid.node(i, j), [a, b]) as f32;
            let value = &mut values[j * grid.nx + i];
            *value = value.min(d);
        }
    }
}

/// A bound of where a row comes within the band of an edge.
fn columns(a: Vec2, b: Vec2, y: f64, band: f64) -> (f64, f64) {
    let rise = b.y - a.y;
    let (mut t0, mut t1) = (0.0, 1.0);
    if rise.abs() > 1e-12 {
        let (u, v) = ((y - band - a.y) / rise, (y + band - a.y) / rise);
        t0 = u.min(v).max(0.0).min(1.0);
        t1 = u.max(v).max(0.0).min(1.0);
    }
    let (x0, x1) = (a.x + t0 * (b.x - a.x), a.x + t1 * (b.x - a.x));
    (x0.min(x1) - band, x0.max(x1) + band)
}

/// Turns the sign of what an even number of loops goes around.
fn outside(values: &mut [f32], grid: &Grid, edges: &[(Vec2, Vec2)]) {
    let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); grid.ny];
    for (a, b) in edges {
        let (lo, hi) = if a.y < b.y { (a, b) } else { (b, a) };
        for j in grid.rows(lo.y, hi.y) {
            let y = grid.node(0, j).y;
            if lo.y <= y && y < hi.y {
                crossings[j].push(lo.x + (y - lo.y) / (hi.y - lo.y) * (hi.x - lo.x));
            }
        }
    }
    for (j, row) in crossings.iter_mut().enumerate() {
        row.sort_by(f64::total_cmp);
        let mut passed = 0;
        for i in 0..grid.nx {
            let x = grid.node(i, j).x;
            while passed < row.len() && row[passed] <= x {
                passed += 1;
            }
            if passed % 2 == 0 {
                values[j * grid.nx + i] *= -1.0;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_with_a_hole() {
        let square = |x: f64, w: f64| vec![[x, x], [x + w, x], [x + w, x + w], [x, x + w]];
        let region = Region::of_loops(&[square(0.0, 20.0), square(8.0, 4.0)]);
        let grid = Grid::over(Vec2::splat(-3.0), Vec2::splat(23.0), 0.25);
        let field = signed(&region, grid, 2.0);
        // derived: distances to the sides by hand
        for (p, want) in [
            ((1.0, 10.0), 1.0),
            ((-1.0, 5.0), -1.0),
            ((10.0, 10.0), -2.0),
            ((7.0, 7.0), 2f64.sqrt()),
            ((4.0, 10.0), 2.0),
        ] {
            let got = field.at(Vec2::new(p.0, p.1));
            assert!((got - want).abs() < 1e-5, "{p:?}: {got} {want}");
        }
    }
}
