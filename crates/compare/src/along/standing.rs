//! Which stock a program begins with, and that stock in columns.

use crate::job;
use crate::scene::Scene;
use geom::{TriMesh, Vec3};
use nc::audit::{StockTaken, ToolAlong};
use stock::{Columns, Direction, Grid, StockError, Three};
use study::{Operation, OperationKind, Stock, Study};

/// Columns of the stock in one direction, about.
const COLUMNS: f64 = 4e5;
/// Finest spacing of the columns, mm.
const FINEST_MM: f64 = 0.05;
/// Chords of a round bar that is turned.
const CHORDS: usize = 720;

/// The stock before the first block of a program, as the caller wants it.
#[derive(Debug, Clone, Copy, Default)]
pub enum Begin<'a> {
    /// The study's; near-net where all that its operations do with the program's cutters is to finish.
    #[default]
    Suggested,
    /// The study's block or bar; the box of the part where it has neither.
    Block,
    /// The part and an even layer, mm; `None`: that of the study.
    NearNet(Option<f64>),
    /// A closed mesh in the part's frame.
    Mesh {
        /// The mesh.
        mesh: &'a TriMesh,
        /// What it is called.
        name: &'a str,
        /// Whether the study names it.
        of_study: bool,
    },
}

/// A stock in program coordinates.
pub(super) struct Standing {
    shape: Shape,
    low: Vec3,
    high: Vec3,
    pub(super) taken: StockTaken,
}

enum Shape {
    /// The whole box.
    Box,
    /// A round bar along z.
    Bar { middle: Vec3, radius_mm: f64 },
    /// A mesh and what grows on it.
    Mesh { mesh: TriMesh, layer_mm: f64 },
}

/// What a stock is before it is placed, in the part's frame.
enum Plan {
    Block(Vec3),
    Bar(Vec3),
    Layer(f64),
    Mesh(TriMesh),
}

/// The stock, or why there is none.
pub(super) fn of(
    scene: &Scene<'_>,
    begin: Begin<'_>,
    tools: &[ToolAlong],
) -> Result<Standing, String> {
    let study = scene.study;
    let block =
        |margin: &Vec3| (format!("block, {} over the part", sides(margin)), Plan::Block(*margin));
    let layer = |mm: f64| (format!("near-net, {mm} mm on the part"), Plan::Layer(mm));
    let given = study.part.stock.as_ref();
    let ((shape, plan), because) = match (begin, given) {
        (Begin::Mesh { mesh, name, of_study }, _) => {
            let because = if of_study { "the study names this file" } else { "asked for in the call" };
            ((format!("the mesh of {name}"), Plan::Mesh(mesh.clone())), because.to_owned())
        }
        (Begin::NearNet(mm), given) => {
            let own = if let Some(Stock::NearNet { layer_mm }) = given { Some(*layer_mm) } else { None };
            let mm = mm.or(own).or_else(|| allowance_mm(study, tools)).ok_or_else(|| {
                "near-net stock has no thickness: neither the study's stock nor the allowance of an \
                 operation gives one"
                    .to_owned()
            })?;
            (layer(mm), "asked for in the call".to_owned())
        }
        (Begin::Block, Some(Stock::Block { margin_mm })) => (block(margin_mm), "asked for in the call; its margins are the study's".to_owned()),
        (Begin::Block | Begin::Suggested, Some(Stock::Cylinder { margin_mm })) => (
            (format!("round bar, {} over the part", sides(margin_mm)), Plan::Bar(*margin_mm)),
            "the study's stock".to_owned(),
        ),
        (Begin::Block, _) => (
            block(&Vec3::ZERO),
            "asked for in the call; the study gives no block, so that it has the size of the part"
                .to_owned(),
        ),
        (Begin::Suggested, None) => {
            return Err("the study gives no stock ([part] stock), and the call none: air and loads are not \
                        computed"
                .to_owned());
        }
        (Begin::Suggested, Some(Stock::File(file))) => {
            return Err(format!(
                "stock \"{}\" was not read: air and loads are not computed",
                file.path
            ));
        }
        (Begin::Suggested, Some(Stock::NearNet { layer_mm })) => (layer(*layer_mm), "the study's stock".to_owned()),
        (Begin::Suggested, Some(Stock::Block { margin_mm })) => match finishing_mm(study, tools) {
            Some(mm) => (
                layer(mm),
                "guessed: all that the study's operations do with these cutters is to finish; where the \
                 program cuts from the study's block, call with --stock block"
                    .to_owned(),
            ),
            None => (block(margin_mm), "the study's stock".to_owned()),
        },
    };
    place(scene, plan, StockTaken { shape, because })
}

fn sides(margin: &Vec3) -> String {
    format!("{} x {} x {} mm", margin.x, margin.y, margin.z)
}

/// Operations of the study with cutters that the program's tools are.
fn operations<'a>(study: &'a Study, tools: &'a [ToolAlong]) -> impl Iterator<Item = &'a Operation> {
    study.processes.iter().flat_map(|p| &p.operations).filter(|o| {
        let id = &study.cutters[o.cutter].id;
        tools.iter().any(|t| t.cutter.as_ref() == Some(id))
    })
}

/// The largest allowance of these operations; `None` without any.
fn allowance_mm(study: &Study, tools: &[ToolAlong]) -> Option<f64> {
    operations(study, tools).map(|o| o.allowance_mm).reduce(f64::max).filter(|mm| *mm > 0.0)
}

/// What roughing would have left, where all that the matched cutters do in the study is to finish faces,
/// walls and floors, and every tool is one of them.
fn finishing_mm(study: &Study, tools: &[ToolAlong]) -> Option<f64> {
    let finishes = |o: &Operation| {
        matches!(
            o.kind,
            OperationKind::FinishFace | OperationKind::FinishWall | OperationKind::FinishFloor
        )
    };
    let used = |tool: &ToolAlong| {
        operations(study, tools).any(|o| Some(&study.cutters[o.cutter].id) == tool.cutter.as_ref())
    };
    let all = !tools.is_empty() && tools.iter().all(used) && operations(study, tools).all(finishes);
    all.then(|| allowance_mm(study, tools)).flatten()
}

/// Puts a stock where the part stands.
fn place(scene: &Scene<'_>, plan: Plan, taken: StockTaken) -> Result<Standing, String> {
    let mounting = job::mounting(scene.study, 0.0);
    let turned = |mesh: &TriMesh| {
        let mut mesh = mesh.clone();
        let out = |p: &mut Vec3| *p = mounting.rotation * *p + mounting.origin_mm;
        mesh.vertices.iter_mut().for_each(out);
        mesh
    };
    let part = &scene.part.mesh;
    let (low, high) = part.bounds().ok_or("the part has no surface")?;
    let straight = mounting.rotation == geom::Mat3::IDENTITY;
    let (mesh, layer_mm) = match plan {
        Plan::Block(margin) => {
            let (low, high) = (low - margin, high + margin);
            if straight {
                let at = mounting.origin_mm;
                return Ok(Standing { shape: Shape::Box, low: low + at, high: high + at, taken });
            }
            (turned(&prism(&rectangle(low, high), (low.z, high.z))), 0.0)
        }
        Plan::Bar(margin) => {
            let middle = 0.5 * (low + high);
            let far = |p: &Vec3| (p.x - middle.x).hypot(p.y - middle.y);
            let most = part.vertices.iter().map(far).fold(0.0, f64::max);
            let radius_mm = most + margin.x.max(margin.y);
            let ends = (low.z - margin.z, high.z + margin.z);
            if straight {
                let middle = middle + mounting.origin_mm;
                let half = Vec3::new(radius_mm, radius_mm, 0.5 * (ends.1 - ends.0));
                let shape = Shape::Bar { middle, radius_mm };
                return Ok(Standing { shape, low: middle - half, high: middle + half, taken });
            }
            (turned(&prism(&circle(middle, radius_mm), ends)), 0.0)
        }
        Plan::Layer(mm) => (turned(part), mm),
        Plan::Mesh(mesh) => (turned(&mesh), 0.0),
    };
    let (low, high) = mesh.bounds().ok_or("the stock has no surface")?;
    let (low, high) = (low - layer_mm, high + layer_mm);
    Ok(Standing { shape: Shape::Mesh { mesh, layer_mm }, low, high, taken })
}

fn rectangle(low: Vec3, high: Vec3) -> Vec<[f64; 2]> {
    vec![[low.x, low.y], [high.x, low.y], [high.x, high.y], [low.x, high.y]]
}

fn circle(middle: Vec3, radius_mm: f64) -> Vec<[f64; 2]> {
    let at = |i: usize| {
        let (sin, cos) = (std::f64::consts::TAU * i as f64 / CHORDS as f64).sin_cos();
        [middle.x + radius_mm * cos, middle.y + radius_mm * sin]
    };
    (0..CHORDS).map(at).collect()
}

/// A prism over a convex outline that runs anticlockwise.
fn prism(outline: &[[f64; 2]], (low, high): (f64, f64)) -> TriMesh {
    let n = outline.len() as u32;
    let level = |z: f64| outline.iter().map(move |[x, y]| Vec3::new(*x, *y, z));
    let vertices: Vec<Vec3> = level(low).chain(level(high)).collect();
    let mut triangles = Vec::new();
    for i in 1..n - 1 {
        triangles.push([0, i + 1, i]);
        triangles.push([n, n + i, n + i + 1]);
    }
    for i in 0..n {
        let next = (i + 1) % n;
        triangles.push([i, next, n + next]);
        triangles.push([i, n + next, n + i]);
    }
    TriMesh { vertices, face_of: vec![0; triangles.len()], triangles }
}

impl Standing {
    /// In columns along z.
    pub(super) fn columns(&self, notes: &mut Vec<String>) -> Result<Columns, StockError> {
        let size = self.high - self.low;
        let spacing_mm = (size.x * size.y / COLUMNS).sqrt().max(FINEST_MM);
        notes.push(format!("stock as columns every {spacing_mm:.2} mm"));
        Grid::over((self.low, self.high), spacing_mm, Direction::Z).map(|grid| self.filled(grid))
    }

    /// In columns along all three axes.
    pub(super) fn three(&self, notes: &mut Vec<String>) -> Result<Three, StockError> {
        let size = self.high - self.low;
        let most = (size.x * size.y).max(size.y * size.z).max(size.z * size.x);
        let spacing_mm = (most / COLUMNS).sqrt().max(FINEST_MM);
        notes.push(format!("stock as columns every {spacing_mm:.2} mm along x, y and z"));
        Three::by_direction((self.low, self.high), spacing_mm, |grid| self.filled(grid))
    }

    fn filled(&self, grid: Grid) -> Columns {
        match &self.shape {
            Shape::Box => Columns::block(grid),
            Shape::Bar { middle, radius_mm } => {
                let [u, v, w] = grid.direction.axes();
                // half of what the bar holds along one axis, off the middle by some along another
                let half = |off: f64| (radius_mm.powi(2) - off.powi(2)).max(0.0).sqrt();
                Columns::filled(grid, |p, q| {
                    let off = [p - middle[u], q - middle[v]];
                    let (half, low, high) = match (u, v) {
                        (0, 1) => (half(off[0].hypot(off[1])), self.low.z, self.high.z),
                        _ => {
                            let across = half(if u == 2 { off[1] } else { off[0] });
                            (across, middle[w] - across, middle[w] + across)
                        }
                    };
                    if half > 0.0 { vec![(low, high)] } else { Vec::new() }
                })
            }
            Shape::Mesh { mesh, layer_mm } => {
                let (inside, _) = Columns::of_mesh(grid, mesh);
                if *layer_mm > 0.0 { inside.grown(*layer_mm) } else { inside }
            }
        }
    }
}
