//! Heights of the layers: even between the top, every flat shelf, and the bottom.

use geom::tolerance::COINCIDENT_MM;

/// A layer between two heights, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Layer {
    pub(crate) top_mm: f64,
    pub(crate) bottom_mm: f64,
}

impl Layer {
    pub(crate) fn depth_mm(&self) -> f64 {
        self.top_mm - self.bottom_mm
    }

    pub(crate) fn middle_mm(&self) -> f64 {
        0.5 * (self.top_mm + self.bottom_mm)
    }
}

/// Layers from `top_mm` down to `bottom_mm`, none deeper than `most_mm`, with an end at every shelf
/// between; even from one end to the next.
pub(crate) fn even(top_mm: f64, bottom_mm: f64, shelves: &[f64], most_mm: f64) -> Vec<Layer> {
    let mut ends: Vec<f64> = shelves.to_vec();
    ends.retain(|z| *z < top_mm - COINCIDENT_MM && *z > bottom_mm + COINCIDENT_MM);
    ends.extend([top_mm, bottom_mm]);
    ends.sort_by(|a, b| b.total_cmp(a));
    ends.dedup_by(|a, b| (*a - *b).abs() <= COINCIDENT_MM);
    let mut out = Vec::new();
    for w in ends.windows(2) {
        let count = ((w[0] - w[1]) / most_mm - 1e-9).ceil().max(1.0);
        let at = |k: f64| w[0] + (w[1] - w[0]) * k / count;
        out.extend(
            (0..count as usize)
                .map(|k| Layer { top_mm: at(k as f64), bottom_mm: at(k as f64 + 1.0) }),
        );
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn layers_are_even_and_end_at_shelves() {
        let depths = |layers: &[Layer]| layers.iter().map(Layer::depth_mm).collect::<Vec<_>>();
        let thirds = depths(&even(0.0, -20.0, &[], 8.0));
        assert_eq!(thirds.len(), 3);
        assert!(thirds.iter().all(|d| (d - 20.0 / 3.0).abs() < 1e-12), "{thirds:?}");
        assert_eq!(depths(&even(0.0, -16.0, &[], 8.0)), [8.0; 2]);
        let with_shelf = even(0.0, -20.0, &[-5.0, -30.0], 8.0);
        assert_eq!(depths(&with_shelf), [5.0, 7.5, 7.5]);
        assert_eq!(with_shelf[0].bottom_mm, -5.0);
        assert!(even(0.0, 0.0, &[], 8.0).is_empty());
    }
}
