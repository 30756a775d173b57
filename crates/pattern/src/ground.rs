//! Places of a feature with the direction of the pattern, each with the area that it stands for.

use clearance::fitting::Station;
use cutter::Relative;
use rayon::prelude::*;

use crate::chart::Chart;
use crate::family::{Family, forward};
use crate::lattice::Lattice;
use crate::stance::Stance;

/// What a feature looks like to the cutter.
#[derive(Debug, Clone, Default)]
pub(crate) struct Ground {
    stations: Vec<Station>,
    /// Area of each, mm².
    area_mm2: Vec<f64>,
    /// Area of the feature, mm².
    whole_mm2: f64,
}

impl Ground {
    /// The nodes of a grid on the feature.
    pub(crate) fn of_lattice(chart: &dyn Chart, lattice: &Lattice, family: &Family<'_>) -> Self {
        let mut ground = Self { whole_mm2: chart.area_mm2(), ..Self::default() };
        for (node, spot) in lattice.feature() {
            if let Some(feed) = forward(spot, family.gradient(lattice.place(node))) {
                let area = lattice.share(node) * lattice.node_area_mm2(spot);
                ground.push(Station { site: spot.site, feed }, area);
            }
        }
        ground
    }

    /// Places with the area of each, mm².
    pub(crate) fn of_places(places: impl IntoIterator<Item = (Station, f64)>) -> Self {
        let mut ground = Self::default();
        for (station, area) in places {
            ground.whole_mm2 += area;
            ground.push(station, area);
        }
        ground
    }

    fn push(&mut self, station: Station, area_mm2: f64) {
        self.stations.push(station);
        self.area_mm2.push(area_mm2);
    }

    /// Both together.
    pub(crate) fn and(mut self, other: Self) -> Self {
        self.stations.extend(other.stations);
        self.area_mm2.extend(other.area_mm2);
        self.whole_mm2 += other.whole_mm2;
        self
    }

    /// Every place.
    pub(crate) fn stations(&self) -> &[Station] {
        &self.stations
    }

    /// At most about so many of them, evenly.
    pub(crate) fn some(&self, most: usize) -> Vec<Station> {
        let stride = (self.stations.len() / most.max(1)).max(1);
        self.stations.iter().copied().step_by(stride).collect()
    }

    /// Lower bound of the length of passes with a cusp of `cusp_mm` and the axis that belongs to the
    /// pattern's direction, mm: the integral of √(λ/8h) over the feature, with λ the smaller
    /// eigenvalue of the relative curvature (co-area formula: whatever the passes, their density is
    /// at least that of the best direction). `None` where the cutter does not stand.
    pub(crate) fn path_bound_mm(&self, stance: &Stance<'_>, cusp_mm: f64) -> Option<f64> {
        let parts: Vec<Option<f64>> = self
            .stations
            .par_iter()
            .zip(&self.area_mm2)
            .map(|(s, area)| {
                let standing = stance.stand(&s.site, s.feed, false).ok()?;
                let relative = Relative::at(&standing.site, standing.axis, &standing.contact)?;
                let least = relative.m.eigen().small.max(0.0);
                Some(area * (least / (8.0 * cusp_mm)).sqrt())
            })
            .collect();
        let length = parts.into_iter().sum::<Option<f64>>()?;
        let area: f64 = self.area_mm2.iter().sum();
        // a grid ends short of the border: its mean stands for the whole feature
        (area > 0.0).then(|| length / area * self.whole_mm2)
    }
}
