//! Layers of an operation, cleared one below the other.

use super::blank::Blank;
use super::finish::{self, Task};
use super::levels::{self, Layer};
use super::path::{Arcs, Path, Ways};
use super::shape::Shape;
use super::standing::{Slab, Standing};
use crate::job::{self, Prepared};
use crate::operation::refuse;
use crate::scene::Scene;
use clearing::{Clearing, ClearingError, Entry, Helix, Job, Method};
use geom::tolerance::COINCIDENT_MM;
use pattern::Frame;
use planar::Region;
use study::{Cut, Diagnostic, Entry as Way, FeatureKind};
use toolpath::Toolpath;

/// How far the path may leave the curve that it follows where the study does not say, mm: common
/// practice, no source.
pub(crate) const CHORD_MM: f64 = 0.01;
/// Slope of helix and ramp where the study does not say: common practice, no source.
const ENTRY_RAD: f64 = 3.0 * std::f64::consts::PI / 180.0;
/// Feed on the way down over that of a cut: common practice, no source.
const ENTRY_SHARE: f64 = 0.5;
/// Straight down: common practice, no source.
const PLUNGE_SHARE: f64 = 0.2;
/// Feed over cleared ground, mm/s, where that of the cut is lower: common practice, no source.
const LINK_MM_S: f64 = 10_000.0 / 60.0;
/// Widest and least radius of a helix over the cutter's: common practice, no source.
const HELIX: (f64, f64) = (0.8, 0.3);
/// Radius of the sharpest turn of the path over the cutter's: common practice, no source.
const TURN: f64 = 0.1;
/// Depth and width of cut over the diameter where a kind need not give them: common practice, no
/// source.
const USUAL: (f64, f64) = (1.0, 0.15);

/// Ends of a piece of height are looked at this share of it inside it.
const SIDE: f64 = 1e-3;
/// Share of the height of the layers that stock has to fill so that nothing is said.
const MOSTLY: f64 = 0.9;

/// Depth, width and stock left of an operation, mm.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Measures {
    pub(crate) depth_mm: f64,
    pub(crate) width_mm: f64,
    pub(crate) left_mm: f64,
}

/// A layer as it was cleared.
pub(crate) struct Cleared {
    pub(crate) layer: Layer,
    /// Stock before, mm³.
    pub(crate) stock_mm3: f64,
    /// Metal removed, mm³.
    pub(crate) removed_mm3: f64,
    /// Stock that stays, mm³.
    pub(crate) rest_mm3: f64,
    pub(crate) clearing: Clearing,
}

/// An operation laid.
pub(crate) struct Laid {
    pub(crate) toolpath: Toolpath,
    pub(crate) arcs: Arcs,
    pub(crate) depth_mm: Vec<f64>,
    pub(crate) blank: Blank,
    pub(crate) shape: Shape,
    pub(crate) measures: Measures,
    pub(crate) arc_rad: f64,
    pub(crate) layers: Vec<Cleared>,
    /// What is taken as cleared before, where no operation ran.
    pub(crate) presumed: Vec<Slab>,
    pub(crate) task: Task,
    pub(crate) warnings: Vec<String>,
}

impl Laid {
    /// What it clears, for the operations after it.
    pub(crate) fn slabs(&self) -> impl Iterator<Item = Slab> + '_ {
        self.layers.iter().map(|l| Slab {
            top_mm: l.layer.top_mm,
            bottom_mm: l.layer.bottom_mm,
            cleared: l.clearing.reached.clone(),
        })
    }

    /// Metal removed, mm³.
    pub(crate) fn volume_mm3(&self) -> f64 {
        self.layers.iter().map(|l| l.removed_mm3).sum()
    }
}

/// Lays an operation on what those before it left.
///
/// # Errors
/// A feature that cannot be cleared from above, a cutter that does not fit or reach, no way in.
pub(crate) fn lay(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    standing: &mut Standing,
) -> Result<Laid, Diagnostic> {
    let operation = prepared.operation;
    let frame = job::frame(scene.study);
    let diameter = prepared.cutter.spec.diameter_mm;
    let task = Task::of(operation.kind);
    let mut blank = Blank::of(scene);
    let kind = scene.study.feature_of(operation).kind;
    if task != Task::Clear && kind == FeatureKind::Outside && !blank.has_outside() {
        blank = Blank::near_net(operation.allowance_mm);
    }
    let shape = Shape::of(scene, operation, &blank, diameter)?;
    shape.reached(scene, prepared)?;
    let mut warnings = Vec::new();
    let presumed = match task {
        Task::Clear => {
            warnings.extend(blank.assumed.iter().cloned());
            Vec::new()
        }
        _ => finish::presume(scene, prepared, (&shape, &blank), standing, &mut warnings),
    };
    let top = blank.top_over_mm(&shape.domain, shape.rim_mm);
    let ground = Ground { scene, prepared, blank: &blank, shape: &shape, standing };
    let (measures, wanted) = match task {
        Task::Clear => {
            let measures = measures(prepared, &mut warnings);
            let left = measures.left_mm;
            let shelves: Vec<f64> = shape.shelves.iter().map(|z| z + left).collect();
            (measures, levels::even(top, shape.floor_mm + left, &shelves, measures.depth_mm))
        }
        Task::Walls => finish::walls(&ground, &mut warnings)?,
        Task::Floor => finish::floors(&ground, &mut warnings)?,
    };
    let arc_rad = arc(scene, prepared, measures)?;
    let mut path =
        Path::new(ways(prepared, frame, blank.highest_mm(top.max(highest(scene, frame)))));
    let layers = cleared(&ground, task, measures, arc_rad, wanted, &mut path, &mut warnings)?;
    path.finish();
    if layers.is_empty() {
        let why =
            "no stock is left where the operation may cut: take it out, or leave more before it";
        return Err(refuse(scene, operation, why));
    }
    Ok(Laid {
        toolpath: path.toolpath,
        arcs: path.arcs,
        depth_mm: path.depth_mm,
        blank,
        shape,
        measures,
        arc_rad,
        layers,
        presumed,
        task,
        warnings,
    })
}

/// What an operation works on and with.
pub(crate) struct Ground<'a> {
    pub(crate) scene: &'a Scene<'a>,
    pub(crate) prepared: &'a Prepared<'a>,
    pub(crate) blank: &'a Blank,
    pub(crate) shape: &'a Shape,
    pub(crate) standing: &'a Standing,
}

impl Ground<'_> {
    /// Where a layer may be cut with `left_mm` on the walls, and the stock that stands in it.
    pub(crate) fn of_layer(
        &self,
        layer: &Layer,
        left_mm: f64,
        above: &mut Region,
    ) -> (Region, Region) {
        let way = self.shape.in_the_way(self.scene, self.prepared, layer.bottom_mm, above);
        let way = if left_mm > 0.0 { way.grown(left_mm) } else { way };
        let inside = self.shape.domain.less(&way);
        let heights = (layer.bottom_mm, layer.top_mm);
        let stock = match self.blank.mesh() {
            Some(_) => self.standing.between(heights, |bottom_mm, top_mm| {
                self.base(&Layer { top_mm, bottom_mm }, &inside)
            }),
            None => {
                let base = self.base(layer, &inside);
                self.standing.between(heights, |_, _| base.clone())
            }
        };
        (inside, stock)
    }

    /// Heights between two at which what stands may change, with both, from below.
    pub(crate) fn ends(&self, bottom_mm: f64, top_mm: f64) -> Vec<f64> {
        let mut ends = self.standing.ends(bottom_mm, top_mm);
        ends.extend(self.blank.ends(bottom_mm, top_mm));
        ends.sort_by(f64::total_cmp);
        ends.dedup_by(|a, b| (*a - *b).abs() <= COINCIDENT_MM);
        ends
    }

    /// How much stands in a layer over each of some regions, mm³.
    fn volumes_mm3<const N: usize>(&self, layer: &Layer, regions: [&Region; N]) -> [f64; N] {
        let Some(cast) = self.blank.mesh() else {
            return regions.map(|r| layer.depth_mm() * r.area_mm2());
        };
        let mut out = [0.0; N];
        for w in self.ends(layer.bottom_mm, layer.top_mm).windows(2) {
            // between heights at which its shape changes the area is a parabola at most
            for (share, weight) in [(SIDE, 1.0), (0.5, 4.0), (1.0 - SIDE, 1.0)] {
                let height_mm = w[0] + share * (w[1] - w[0]);
                let stands = self.standing.at(&cast.at(height_mm), height_mm);
                for (sum, region) in out.iter_mut().zip(regions) {
                    *sum += weight / 6.0 * (w[1] - w[0]) * stands.and(region).area_mm2();
                }
            }
        }
        out
    }

    /// What the blank has of a region in a layer.
    pub(crate) fn base(&self, layer: &Layer, inside: &Region) -> Region {
        let frame = job::frame(self.scene.study);
        self.blank.between(self.scene.part, frame, layer, &self.shape.domain).and(inside)
    }
}

/// Lays all layers, from the top.
fn cleared(
    ground: &Ground<'_>,
    task: Task,
    measures: Measures,
    arc_rad: f64,
    wanted: Vec<Layer>,
    path: &mut Path,
    warnings: &mut Vec<String>,
) -> Result<Vec<Cleared>, Diagnostic> {
    let (scene, prepared) = (ground.scene, ground.prepared);
    let mut above = Region::of_loops(&[]);
    let mut layers: Vec<Cleared> = Vec::new();
    let mut before: Option<(Region, Region, Clearing)> = None;
    for layer in wanted {
        let (mut inside, mut stock) = ground.of_layer(&layer, measures.left_mm, &mut above);
        if task == Task::Floor {
            inside = finish::off_the_walls(ground, &layer, &inside);
            stock = stock.and(&inside);
        }
        let clearing = match before.take() {
            Some((i, s, clearing)) if i == inside && s == stock => Ok(clearing),
            _ if task == Task::Walls => {
                let depth = layer.depth_mm();
                clearing::along_walls(&finish::plane(prepared, &inside, &stock, depth))
            }
            _ if task == Task::Floor => finish::flat(prepared, &inside, &stock, arc_rad),
            _ => clearing::clear(&plane(prepared, &inside, &stock, arc_rad)),
        };
        let clearing = match clearing {
            Ok(clearing) => clearing,
            Err(ClearingError::Nothing) => continue,
            Err(error) if !layers.is_empty() => {
                let rim = ground.shape.rim_mm + ground.blank.layer_mm();
                warnings.push(format!(
                    "nothing is cut below {:.2} mm under the rim: {error}",
                    rim - layer.top_mm
                ));
                break;
            }
            Err(error) => return Err(refuse(scene, prepared.operation, &error.to_string())),
        };
        path.layer(&layer, &clearing);
        let [stock_mm3, removed_mm3, rest_mm3] =
            ground.volumes_mm3(&layer, [&stock, &clearing.reached, &clearing.rest]);
        layers.push(Cleared {
            layer,
            stock_mm3,
            removed_mm3,
            rest_mm3,
            clearing: clearing.clone(),
        });
        before = Some((inside, stock, clearing));
    }
    warnings.extend(hollow(&layers));
    Ok(layers)
}

/// A word where the stock of a mesh stands over part of its layers' height alone.
fn hollow(layers: &[Cleared]) -> Option<String> {
    let whole: f64 =
        layers.iter().map(|l| l.layer.depth_mm() * l.clearing.reached.area_mm2()).sum();
    let removed: f64 = layers.iter().map(|l| l.removed_mm3).sum();
    (removed < MOSTLY * whole).then(|| {
        format!(
            "the stock fills {:.0} % of the height of what is cleared in its layers: loads are those of \
             layers cut over their whole depth",
            100.0 * removed / whole
        )
    })
}

/// Highest place of part and clamps along the axis of the set-up, mm.
fn highest(scene: &Scene<'_>, frame: Frame) -> f64 {
    let clamps = scene.fixtures.iter().flat_map(|f| &f.vertices);
    let all = scene.part.mesh.vertices.iter().chain(clamps).map(|p| p.dot(frame.up));
    all.fold(f64::NEG_INFINITY, f64::max)
}

fn measures(prepared: &Prepared<'_>, warnings: &mut Vec<String>) -> Measures {
    let asked = prepared.operation.roughing;
    let diameter = prepared.cutter.spec.diameter_mm;
    let flutes = prepared.cutter.spec.flute_length_mm.unwrap_or(diameter);
    if asked.depth_per_pass_mm.is_none() || asked.width_mm.is_none() {
        warnings.push(format!(
            "depth_per_pass_mm or width_mm is not given: {} and {} of the diameter are taken (common \
             practice, no source)",
            USUAL.0, USUAL.1
        ));
    }
    Measures {
        depth_mm: asked.depth_per_pass_mm.unwrap_or((USUAL.0 * diameter).min(flutes)),
        width_mm: asked.width_mm.unwrap_or(USUAL.1 * diameter),
        left_mm: asked.stock_left_mm.unwrap_or(0.0),
    }
}

/// Arc of contact of the width asked for.
fn arc(scene: &Scene<'_>, prepared: &Prepared<'_>, m: Measures) -> Result<f64, Diagnostic> {
    let cutter = prepared.cutter;
    let diameter = cutter.spec.diameter_mm;
    let refused = |message: String, expected: String, remedy: &str| {
        Err(scene.study.fault(prepared.operation.place, message, expected, remedy))
    };
    let name = &prepared.operation.name;
    if m.width_mm > diameter {
        return refused(
            format!(
                "operation \"{name}\" cuts {} mm wide with a cutter of {diameter} mm",
                m.width_mm
            ),
            format!("width_mm up to {diameter}"),
            "lower width_mm",
        );
    }
    let most = cutter.deepest_cut_mm().unwrap_or(f64::INFINITY);
    if m.depth_mm > most {
        return refused(
            format!(
                "operation \"{name}\" cuts {} mm deep, deeper than cutter \"{}\" can",
                m.depth_mm, cutter.id
            ),
            format!("depth_per_pass_mm up to {most}"),
            "lower depth_per_pass_mm, or take a cutter with longer flutes",
        );
    }
    // half-angle form: exact for thin cuts too
    Ok(2.0 * (m.width_mm / diameter).sqrt().clamp(0.0, 1.0).asin())
}

pub(super) fn plane<'a>(
    prepared: &Prepared<'_>,
    inside: &'a Region,
    stock: &'a Region,
    arc_rad: f64,
) -> Job<'a> {
    let operation = prepared.operation;
    let radius = 0.5 * prepared.cutter.spec.diameter_mm;
    let way = operation.roughing.entry.unwrap_or(Way::Helix);
    let sloped = way != Way::Plunge;
    Job {
        inside,
        stock,
        cutter_radius_mm: radius,
        arc_rad,
        climb: operation.cut == Cut::Down,
        both_ways: operation.roughing.both_ways,
        method: match operation.roughing.clearing {
            study::Clearing::ConstantEngagement => Method::ConstantEngagement,
            study::Clearing::ContourParallel => Method::ContourParallel,
        },
        chord_mm: operation.chord_mm.unwrap_or(CHORD_MM),
        entry: Entry {
            helix: (way == Way::Helix).then_some(Helix {
                radius_mm: HELIX.0 * radius,
                least_radius_mm: HELIX.1 * radius,
            }),
            ramp_mm: sloped.then_some(2.0 * radius),
            plunge: way == Way::Plunge,
        },
        least_corner_radius_mm: TURN * radius,
    }
}

fn ways(prepared: &Prepared<'_>, frame: Frame, top_mm: f64) -> Ways {
    let operation = prepared.operation;
    let feed = prepared.feed_mm_s;
    let plunges = operation.roughing.entry == Some(Way::Plunge);
    Ways {
        frame,
        feed_mm_s: feed,
        entry_mm_s: feed * if plunges { PLUNGE_SHARE } else { ENTRY_SHARE },
        link_mm_s: feed.max(LINK_MM_S),
        safe_mm: top_mm + operation.clearance_mm.max(1.0),
        clearance_mm: operation.clearance_mm.min(1.0),
        slope: operation.roughing.entry_rad.unwrap_or(ENTRY_RAD).tan().clamp(1e-3, 10.0),
    }
}
