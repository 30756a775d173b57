//! What a part is milled from, as far as layers need it: its top, and its outline in a layer.

use super::cast::Cast;
use super::levels::Layer;
use super::section::section;
use crate::job;
use crate::scene::Scene;
use geom::Vec3;
use part::Part;
use pattern::Frame;
use planar::Region;
use std::f64::consts::TAU;
use std::sync::Arc;
use study::Stock;

/// Chords of the outline of a round bar.
const CHORDS: usize = 720;

/// The stock before the first operation.
pub(crate) struct Blank {
    shape: Shape,
    /// Its top along the axis of the set-up, mm; `None`: the rim of the feature.
    top_mm: Option<f64>,
    /// What was taken because it is not given.
    pub(crate) assumed: Option<String>,
}

enum Shape {
    /// The same at all heights, from the first to the second.
    Prism(Region, (f64, f64)),
    /// The part and an even layer on it.
    Layer(f64),
    /// The feature filled to its rim.
    Full,
    /// As a mesh has it.
    Mesh(Arc<Cast>),
}

impl Blank {
    /// Of a study.
    pub(crate) fn of(scene: &Scene<'_>) -> Self {
        let (study, part, frame) = (scene.study, scene.part, job::frame(scene.study));
        if let Some(cast) = scene.cast() {
            let top_mm = Some(cast.highest_mm());
            return Self { shape: Shape::Mesh(cast), top_mm, assumed: None };
        }
        let (low, high) = part.mesh.bounds().unwrap_or_default();
        match &study.part.stock {
            Some(Stock::Block { margin_mm }) => {
                let (ends_mm, plan) = seen(low - *margin_mm, high + *margin_mm, frame);
                Self { shape: Shape::Prism(plan, ends_mm), top_mm: Some(ends_mm.1), assumed: None }
            }
            Some(Stock::Cylinder { margin_mm }) => {
                let middle = 0.5 * (low + high);
                let far = |p: &Vec3| (p.x - middle.x).hypot(p.y - middle.y);
                let most = part.mesh.vertices.iter().map(far).fold(0.0, f64::max);
                let radius = most + margin_mm.x.max(margin_mm.y);
                let half = Vec3::new(radius, radius, 0.5 * (high.z - low.z) + margin_mm.z);
                let (ends_mm, plan) = seen(middle - half, middle + half, frame);
                let upright = frame.up.z.abs() > 1.0 - 1e-9;
                let shape = if upright { disc(frame.plan(middle).to_array(), radius) } else { plan };
                Self { shape: Shape::Prism(shape, ends_mm), top_mm: Some(ends_mm.1), assumed: None }
            }
            Some(Stock::NearNet { layer_mm }) => Self {
                shape: Shape::Layer(*layer_mm),
                top_mm: None,
                assumed: None,
            },
            Some(Stock::File(file)) => Self {
                shape: Shape::Full,
                top_mm: None,
                assumed: Some(format!(
                    "stock \"{}\" was not read: the feature is taken as full to its rim",
                    file.path
                )),
            },
            None => Self {
                shape: Shape::Full,
                top_mm: None,
                assumed: Some(
                    "near-net stock is assumed, because [part] stock is not given: the feature is full \
                     to its rim and nothing stands above it"
                        .to_owned(),
                ),
            },
        }
    }

    /// The part and an even layer on it.
    pub(crate) fn near_net(layer_mm: f64) -> Self {
        Self { shape: Shape::Layer(layer_mm), top_mm: None, assumed: None }
    }

    /// Whether the outside of the part is part of it.
    pub(crate) fn has_outside(&self) -> bool {
        !matches!(self.shape, Shape::Full)
    }

    /// What stands over the rim of a feature, mm.
    pub(crate) fn layer_mm(&self) -> f64 {
        if let Shape::Layer(mm) = self.shape { mm } else { 0.0 }
    }

    /// Its plan, lower and upper end where it is the same at all heights.
    pub(crate) fn prism(&self) -> Option<(&Region, f64, f64)> {
        if let Shape::Prism(plan, (low, high)) = &self.shape {
            Some((plan, *low, *high))
        } else {
            None
        }
    }

    /// The mesh that it is, if it is one.
    pub(crate) fn mesh(&self) -> Option<&Cast> {
        if let Shape::Mesh(cast) = &self.shape { Some(cast) } else { None }
    }

    /// Where any of it stands in a layer; `domain` is where the operation works.
    pub(crate) fn between(
        &self,
        part: &Part,
        frame: Frame,
        layer: &Layer,
        domain: &Region,
    ) -> Region {
        match &self.shape {
            Shape::Prism(plan, _) => plan.clone(),
            // lowered by the layer on the part, so that what stands over a flat face is there
            Shape::Layer(mm) => section(&part.mesh, frame, layer.middle_mm() - mm).grown(*mm),
            Shape::Full => domain.clone(),
            Shape::Mesh(cast) => cast.between(layer.bottom_mm, layer.top_mm, domain),
        }
    }

    /// Its outline in plan, all heights of the feature together.
    pub(crate) fn plan(&self, part: &Part, frame: Frame, layer: &Layer) -> Region {
        match &self.shape {
            Shape::Mesh(cast) => {
                let everywhere = cast.everywhere();
                let top_mm = layer.top_mm.max(cast.highest_mm());
                cast.between(layer.bottom_mm, top_mm, &everywhere)
            }
            _ => self.between(part, frame, layer, &Region::of_loops(&[])),
        }
    }

    /// Its top over where an operation works on a feature with a rim at a height, mm.
    pub(crate) fn top_over_mm(&self, domain: &Region, rim_mm: f64) -> f64 {
        let rim_mm = rim_mm + self.layer_mm();
        match &self.shape {
            Shape::Mesh(cast) => cast.top_over(domain).map_or(rim_mm, |t| t.max(rim_mm)),
            _ => self.top_mm.map_or(rim_mm, |t| t.max(rim_mm)),
        }
    }

    /// The highest of all that stands, mm; no lower than a height.
    pub(crate) fn highest_mm(&self, least_mm: f64) -> f64 {
        self.top_mm.map_or(least_mm, |t| t.max(least_mm))
    }

    /// Heights strictly between two at which it may change, from below.
    pub(crate) fn ends(&self, bottom_mm: f64, top_mm: f64) -> Vec<f64> {
        self.mesh().map_or_else(Vec::new, |cast| cast.ends(bottom_mm, top_mm))
    }
}

/// The lower and upper end and the plan of a box of the part's frame, by its corners.
fn seen(low: Vec3, high: Vec3, frame: Frame) -> ((f64, f64), Region) {
    let pick = |i: usize, k: usize| if i >> k & 1 == 0 { low[k] } else { high[k] };
    let corners = (0..8).map(|i| Vec3::new(pick(i, 0), pick(i, 1), pick(i, 2)));
    let all: Vec<Vec3> = corners.collect();
    let heights = units::Interval::hull(all.iter().map(|p| p.dot(frame.up)));
    let ends = heights.map_or((0.0, 0.0), |i| (i.low, i.high));
    let plan: Vec<_> = all.iter().map(|p| frame.plan(*p)).collect();
    let first = plan[0];
    let (lo, hi) = plan.iter().fold((first, first), |(a, b), p| (a.min(*p), b.max(*p)));
    let ring = vec![[lo.x, lo.y], [hi.x, lo.y], [hi.x, hi.y], [lo.x, hi.y]];
    (ends, Region::of_loops(&[ring]))
}

fn disc([x, y]: [f64; 2], radius: f64) -> Region {
    let at = |i: usize| {
        let (sin, cos) = (TAU * i as f64 / CHORDS as f64).sin_cos();
        [x + radius * cos, y + radius * sin]
    };
    Region::of_loops(&[(0..CHORDS).map(at).collect()])
}
