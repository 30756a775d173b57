//! A polyline rounded to a curve with continuous second derivative, knot by knot.
//!
//! The curve is the cubic spline whose knots are the polyline's vertices and whose control points
//! are the polyline's points at the means of three neighbouring knots (Schoenberg's operator, as in
//! Marsden 1970, from memory). It keeps straight stretches straight and their speed even, turns
//! nowhere more than the polyline does, starts and ends on it, and a corner between two equal
//! spans h misses its vertex by δ h/6.

/// Dimensions of a point: tip x, y, z and two rotary angles.
pub(crate) const DIMENSIONS: usize = 5;
/// A point of the polyline, or a derivative of the curve.
pub(crate) type Point = [f64; DIMENSIONS];

/// `a + t (b − a)`.
pub(crate) fn mix(a: &Point, b: &Point, t: f64) -> Point {
    std::array::from_fn(|k| a[k] + t * (b[k] - a[k]))
}

fn over(a: &Point, b: &Point, length: f64) -> Point {
    std::array::from_fn(|k| (b[k] - a[k]) / length)
}

/// Position and derivatives of the curve at one knot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Knot {
    /// Parameter.
    pub(crate) s: f64,
    /// Position, d/ds and d²/ds².
    pub(crate) c: [Point; 3],
}

impl Knot {
    /// The curve at `t` in 0..=1 of the span from here to `next`: d²/ds² is straight there.
    pub(crate) fn towards(&self, next: &Self, t: f64) -> Self {
        let h = next.s - self.s;
        let x = t * h;
        let [p, d, dd] = &self.c;
        let slope: Point = over(dd, &next.c[2], h);
        Self {
            s: self.s + x,
            c: [
                std::array::from_fn(|k| p[k] + x * (d[k] + x * (0.5 * dd[k] + x * slope[k] / 6.0))),
                std::array::from_fn(|k| d[k] + x * (dd[k] + 0.5 * x * slope[k])),
                std::array::from_fn(|k| dd[k] + x * slope[k]),
            ],
        }
    }
}

/// The rounded polyline at its knots. `s` rises strictly; at least two vertices.
pub(crate) fn knots(s: &[f64], vertices: &[Point]) -> Vec<Knot> {
    let last = s.len() - 1;
    let control: Vec<(f64, Point)> = (0..=last).map(|i| control(s, vertices, i)).collect();
    // slopes at the middle of each span, and those of the end spans at the ends
    let slopes: Vec<Point> =
        control.windows(2).map(|w| over(&w[0].1, &w[1].1, w[1].0 - w[0].0)).collect();
    let start = over(&vertices[0], &vertices[1], s[1] - s[0]);
    let end = over(&vertices[last - 1], &vertices[last], s[last] - s[last - 1]);
    let mut position = vertices[0];
    let mut out: Vec<Knot> = Vec::with_capacity(s.len());
    for i in 0..=last {
        let before = if i == 0 { 0.0 } else { s[i] - s[i - 1] };
        let after = if i == last { 0.0 } else { s[i + 1] - s[i] };
        let slope_before = if i == 0 { &start } else { &slopes[i - 1] };
        let slope_after = if i == last { &end } else { &slopes[i] };
        let first = mix(slope_before, slope_after, before / (before + after));
        let second = over(slope_before, slope_after, 0.5 * (before + after));
        if let Some(previous) = out.last() {
            position = advanced(previous, before, &second);
        }
        out.push(Knot { s: s[i], c: [position, first, second] });
    }
    out
}

fn advanced(from: &Knot, h: f64, second: &Point) -> Point {
    let [p, d, dd] = &from.c;
    std::array::from_fn(|k| p[k] + h * (d[k] + h * (2.0 * dd[k] + second[k]) / 6.0))
}

/// Parameter and place of the control point that belongs to vertex `i`.
fn control(s: &[f64], vertices: &[Point], i: usize) -> (f64, Point) {
    let last = s.len() - 1;
    let (before, after) = (s[i.saturating_sub(1)], s[(i + 1).min(last)]);
    let g = (before + s[i] + after) / 3.0;
    let (a, b) = if (g >= s[i] && i < last) || i == 0 { (i, i + 1) } else { (i - 1, i) };
    (g, mix(&vertices[a], &vertices[b], (g - s[a]) / (s[b] - s[a])))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plane(points: &[(f64, f64)]) -> (Vec<f64>, Vec<Point>) {
        let vertices: Vec<Point> = points.iter().map(|p| [p.0, p.1, 0.0, 0.0, 0.0]).collect();
        let mut s = vec![0.0];
        for w in points.windows(2) {
            s.push(s[s.len() - 1] + (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1));
        }
        (s, vertices)
    }

    #[test]
    fn straight_lines_stay_straight_and_even_whatever_the_spacing() {
        let (s, v) = plane(&[(0.0, 0.0), (0.1, 0.0), (5.0, 0.0), (5.01, 0.0), (9.0, 0.0)]);
        for (knot, vertex) in knots(&s, &v).iter().zip(&v) {
            assert!((knot.c[0][0] - vertex[0]).abs() < 1e-12);
            assert!((knot.c[1][0] - 1.0).abs() < 1e-12 && knot.c[2][0].abs() < 1e-10);
        }
    }

    #[test]
    fn a_corner_is_missed_by_a_sixth_of_its_jump_times_the_span() {
        let h = 0.3;
        let (s, v) = plane(&[(-9.0, 0.0), (-h, 0.0), (0.0, 0.0), (0.0, h), (0.0, 7.0)]);
        let k = knots(&s, &v);
        let miss = k[2].c[0][0].hypot(k[2].c[0][1]);
        assert!((miss - 2f64.sqrt() * h / 6.0).abs() < 1e-12, "{miss}");
        // it joins the legs at both ends and arrives at the last vertex
        assert!(k[1].c[0][1].abs() < 1e-12 && k[3].c[0][0].abs() < 1e-12);
        assert!((k[4].c[0][1] - 7.0).abs() < 1e-12);
    }

    #[test]
    fn a_fine_polyline_gives_back_the_curvature_of_its_circle() {
        let points: Vec<_> = (0..200)
            .map(|i| {
                // chords of uneven length
                let t = 0.01 * f64::from(i) + 0.002 * f64::from(i % 3);
                (20.0 * t.cos(), 20.0 * t.sin())
            })
            .collect();
        let (s, v) = plane(&points);
        for knot in &knots(&s, &v)[3..197] {
            let curvature = knot.c[2][0].hypot(knot.c[2][1]);
            assert!((curvature * 20.0 - 1.0).abs() < 0.06, "{curvature}");
        }
    }
}
