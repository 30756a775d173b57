//! What a part is milled from, as far as layers need it: its top, and its outline at a height.

use super::section::section;
use geom::Vec3;
use part::Part;
use pattern::Frame;
use planar::Region;
use std::f64::consts::TAU;
use study::{Stock, Study};

/// Chords of the outline of a round bar.
const CHORDS: usize = 720;

/// The stock before the first operation.
pub(crate) struct Blank {
    shape: Shape,
    /// Its top along the axis of the set-up, mm; `None`: the rim of the feature.
    pub(crate) top_mm: Option<f64>,
    /// What was taken because it is not given.
    pub(crate) assumed: Option<String>,
}

enum Shape {
    /// The same at all heights.
    Prism(Region),
    /// The part and an even layer on it.
    Layer(f64),
    /// The feature filled to its rim.
    Full,
}

impl Blank {
    /// Of a study.
    pub(crate) fn of(study: &Study, part: &Part, frame: Frame) -> Self {
        let (low, high) = part.mesh.bounds().unwrap_or_default();
        match &study.part.stock {
            Some(Stock::Block { margin_mm }) => {
                let (top_mm, plan) = seen(low - *margin_mm, high + *margin_mm, frame);
                Self { shape: Shape::Prism(plan), top_mm: Some(top_mm), assumed: None }
            }
            Some(Stock::Cylinder { margin_mm }) => {
                let middle = 0.5 * (low + high);
                let far = |p: &Vec3| (p.x - middle.x).hypot(p.y - middle.y);
                let most = part.mesh.vertices.iter().map(far).fold(0.0, f64::max);
                let radius = most + margin_mm.x.max(margin_mm.y);
                let half = Vec3::new(radius, radius, 0.5 * (high.z - low.z) + margin_mm.z);
                let (top_mm, plan) = seen(middle - half, middle + half, frame);
                let upright = frame.up.z.abs() > 1.0 - 1e-9;
                let shape = if upright { disc(frame.plan(middle).to_array(), radius) } else { plan };
                Self { shape: Shape::Prism(shape), top_mm: Some(top_mm), assumed: None }
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
                    "stock \"{}\" is not cut layer by layer: the feature is taken as full to its rim",
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

    /// Its outline at a height; `domain` is where the operation works.
    pub(crate) fn at(&self, part: &Part, frame: Frame, height_mm: f64, domain: &Region) -> Region {
        match &self.shape {
            Shape::Prism(plan) => plan.clone(),
            // lowered by the layer, so that what stands over a flat face is there
            Shape::Layer(mm) => section(&part.mesh, frame, height_mm - mm).grown(*mm),
            Shape::Full => domain.clone(),
        }
    }
}

/// The top and the plan of a box of the part's frame, by its corners.
fn seen(low: Vec3, high: Vec3, frame: Frame) -> (f64, Region) {
    let pick = |i: usize, k: usize| if i >> k & 1 == 0 { low[k] } else { high[k] };
    let corners = (0..8).map(|i| Vec3::new(pick(i, 0), pick(i, 1), pick(i, 2)));
    let all: Vec<Vec3> = corners.collect();
    let top = all.iter().map(|p| p.dot(frame.up)).fold(f64::NEG_INFINITY, f64::max);
    let plan: Vec<_> = all.iter().map(|p| frame.plan(*p)).collect();
    let first = plan[0];
    let (lo, hi) = plan.iter().fold((first, first), |(a, b), p| (a.min(*p), b.max(*p)));
    let ring = vec![[lo.x, lo.y], [hi.x, lo.y], [hi.x, hi.y], [lo.x, hi.y]];
    (top, Region::of_loops(&[ring]))
}

fn disc([x, y]: [f64; 2], radius: f64) -> Region {
    let at = |i: usize| {
        let (sin, cos) = (TAU * i as f64 / CHORDS as f64).sin_cos();
        [x + radius * cos, y + radius * sin]
    };
    Region::of_loops(&[(0..CHORDS).map(at).collect()])
}
