//! Material left beside the border of a feature and inside it: between the first and the last pass the
//! cusp holds, beside the border no neighbour cuts what a pass leaves.

use std::collections::BTreeMap;

use cutsim::CutSurface;
use geom::Vec3;
use part::Part;

/// Highest material by where it stands, mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Tops {
    /// Within a step-over of the border.
    pub(crate) border_mm: Option<f64>,
    /// Farther inside.
    pub(crate) interior_mm: Option<f64>,
}

/// The border of some faces as short edges by the cells of space that they touch.
struct Border {
    cell_mm: f64,
    edges: BTreeMap<[i64; 3], Vec<[Vec3; 2]>>,
}

impl Border {
    fn of(part: &Part, faces: &[usize], band_mm: f64) -> Self {
        let mut sides: BTreeMap<(u32, u32), u32> = BTreeMap::new();
        let ours = |face: &u32| faces.contains(&(*face as usize));
        let mesh = &part.mesh;
        for (t, _) in mesh.triangles.iter().zip(&mesh.face_of).filter(|(_, f)| ours(f)) {
            for i in 0..3 {
                let (a, b) = (t[i], t[(i + 1) % 3]);
                *sides.entry((a.min(b), a.max(b))).or_default() += 1;
            }
        }
        let mut border = Self { cell_mm: band_mm, edges: BTreeMap::new() };
        for ((a, b), _) in sides.into_iter().filter(|(_, count)| *count == 1) {
            let [a, b] = [a, b].map(|v| mesh.vertices[v as usize]);
            let n = (a.distance(b) / band_mm).ceil().max(1.0);
            for k in 0..n as usize {
                border.add([a.lerp(b, k as f64 / n), a.lerp(b, (k as f64 + 1.0) / n)]);
            }
        }
        border
    }

    fn key(&self, p: Vec3) -> [i64; 3] {
        (p / self.cell_mm).floor().to_array().map(|x| x as i64)
    }

    fn add(&mut self, edge: [Vec3; 2]) {
        let (lo, hi) = (self.key(edge[0].min(edge[1])), self.key(edge[0].max(edge[1])));
        for x in lo[0] - 1..=hi[0] + 1 {
            for y in lo[1] - 1..=hi[1] + 1 {
                for z in lo[2] - 1..=hi[2] + 1 {
                    self.edges.entry([x, y, z]).or_default().push(edge);
                }
            }
        }
    }

    /// Whether a place lies within the band.
    fn is_near(&self, p: Vec3) -> bool {
        let within = |[a, b]: &[Vec3; 2]| {
            let along = *b - *a;
            let square = along.length_squared();
            let f = if square > 0.0 { ((p - *a).dot(along) / square).clamp(0.0, 1.0) } else { 0.0 };
            p.distance(*a + along * f) <= self.cell_mm
        };
        self.edges.get(&self.key(p)).is_some_and(|edges| edges.iter().any(within))
    }
}

/// Highest material beside the border of the faces, as far as `band_mm` from it, and inside.
pub(crate) fn tops(part: &Part, faces: &[usize], cut: &CutSurface, band_mm: f64) -> Tops {
    let mut tops = Tops::default();
    if !(band_mm > 0.0 && band_mm.is_finite()) {
        return tops;
    }
    let border = Border::of(part, faces, band_mm);
    let of_map = cut.map.iter().filter_map(|m| Some((m.point, m.deviation_mm?)));
    let ridges = cut.ridges.iter().map(|r| (r.point, r.height_mm));
    let highest = cut.highest.zip(cut.cut_max_mm);
    for (place, height) in of_map.chain(ridges).chain(highest) {
        let near = border.is_near(place);
        let top = if near { &mut tops.border_mm } else { &mut tops.interior_mm };
        *top = Some(top.map_or(height, |t| t.max(height)));
    }
    tops
}
