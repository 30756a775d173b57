//! What the operations of a process have cleared so far, layer by layer in plan.

use super::simulate::Stocks;
use planar::Region;
use std::collections::BTreeMap;

/// A layer that was cleared somewhere.
#[derive(Debug, Clone)]
pub(crate) struct Slab {
    pub(crate) top_mm: f64,
    pub(crate) bottom_mm: f64,
    pub(crate) cleared: Region,
}

/// All layers, in the order in which they were cut.
#[derive(Debug, Default)]
pub(crate) struct Standing {
    slabs: Vec<Slab>,
    /// What finishing has left on the faces of a feature, mm, sample by sample.
    finished: BTreeMap<usize, Vec<Option<f64>>>,
    /// The same as simulated columns.
    pub(crate) stocks: Stocks,
}

impl Standing {
    /// Notes what an operation cleared.
    pub(crate) fn clear(&mut self, slabs: impl IntoIterator<Item = Slab>) {
        self.slabs.extend(slabs);
    }

    /// What finishing has left so far on the faces of a feature.
    pub(crate) fn finished(&mut self, feature: usize) -> &mut Vec<Option<f64>> {
        self.finished.entry(feature).or_default()
    }

    /// Whether anything of a region was cleared at any height.
    pub(crate) fn was_cut(&self, region: &Region) -> bool {
        self.slabs.iter().any(|s| s.cleared.and(region).area_mm2() > geom::tolerance::COINCIDENT_MM)
    }

    /// Heights between two at which what was cleared changes, with both, from below.
    pub(crate) fn ends(&self, bottom_mm: f64, top_mm: f64) -> Vec<f64> {
        let slack = geom::tolerance::COINCIDENT_MM;
        let mut ends: Vec<f64> = self.slabs.iter().flat_map(|s| [s.bottom_mm, s.top_mm]).collect();
        ends.retain(|z| *z > bottom_mm + slack && *z < top_mm - slack);
        ends.extend([bottom_mm, top_mm]);
        ends.sort_by(f64::total_cmp);
        ends.dedup_by(|a, b| (*a - *b).abs() <= slack);
        ends
    }

    /// Whether anything is left at a height where `base` stood.
    pub(crate) fn at(&self, base: &Region, height_mm: f64) -> Region {
        let here = |s: &&Slab| s.bottom_mm < height_mm && height_mm < s.top_mm;
        self.slabs.iter().filter(here).fold(base.clone(), |left, s| left.less(&s.cleared))
    }

    /// Where stock stands at any height between two: what a layer has to clear. `base` is what stood
    /// there between two heights.
    pub(crate) fn between(
        &self,
        (bottom_mm, top_mm): (f64, f64),
        base: impl Fn(f64, f64) -> Region,
    ) -> Region {
        let ends = self.ends(bottom_mm, top_mm);
        let pieces = ends.windows(2).map(|w| self.at(&base(w[0], w[1]), 0.5 * (w[0] + w[1])));
        pieces.reduce(|a, b| a.or(&b)).unwrap_or_else(|| base(bottom_mm, top_mm))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, side: f64) -> Region {
        Region::of_loops(&[vec![[x, 0.0], [x + side, 0.0], [x + side, side], [x, side]]])
    }

    #[test]
    fn a_layer_is_clear_only_where_all_of_its_height_is() {
        let mut standing = Standing::default();
        let base = square(0.0, 10.0);
        standing.clear([Slab { top_mm: 0.0, bottom_mm: -4.0, cleared: square(0.0, 10.0) }]);
        standing.clear([Slab { top_mm: -4.0, bottom_mm: -8.0, cleared: square(0.0, 6.0) }]);
        let area = |bottom, top| standing.between((bottom, top), |_, _| base.clone()).area_mm2();
        assert!(area(-4.0, 0.0) < 1e-6);
        assert!((area(-8.0, -4.0) - 64.0).abs() < 1e-3);
        // a thicker layer meets what stands in its lower half
        assert!((area(-8.0, 0.0) - 64.0).abs() < 1e-3);
        assert!((area(-10.0, -6.0) - 100.0).abs() < 1e-3);
    }
}
