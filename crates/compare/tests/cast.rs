//! Layers cut from a stock that is a mesh: volumes by closed forms, where the path goes, and stock that is
//! not of the part.

#![allow(clippy::unwrap_used, reason = "a test may unwrap")]

mod support;

use std::f64::consts::PI;
use study::outcome::OperationOutcome;
use support::{faces_of_rings, rounded_ring, run_from};

/// A rectangle with round corners.
#[derive(Clone, Copy)]
struct Plan {
    x: f64,
    y: f64,
    r: f64,
}

impl Plan {
    fn grown(self, by: f64) -> Self {
        Self { x: self.x + 2.0 * by, y: self.y + 2.0 * by, r: self.r + by }
    }

    fn area(self) -> f64 {
        self.x * self.y - (4.0 - PI) * self.r * self.r
    }

    fn ring(self, shift: f64, z: f64) -> String {
        rounded_ring([0.5 * self.x, 0.5 * self.y, self.r], shift, z)
    }
}

/// A block with a pocket in its top.
#[derive(Clone, Copy)]
struct Block {
    outer: Plan,
    /// Of the pocket at its rim and at its floor.
    pocket: [Plan; 2],
    bottom: f64,
    top: f64,
    floor: f64,
    shift: f64,
}

const PART: Block = Block {
    outer: Plan { x: 90.0, y: 80.0, r: 27.0 },
    pocket: [Plan { x: 50.0, y: 40.0, r: 7.0 }; 2],
    bottom: 0.0,
    top: 20.0,
    floor: 8.0,
    shift: 0.0,
};

impl Block {
    fn obj(self) -> String {
        let rings = [
            (self.outer, self.bottom),
            (self.outer, self.top),
            (self.pocket[0], self.top),
            (self.pocket[1], self.floor),
        ];
        let vertices: String = rings.iter().map(|(plan, z)| plan.ring(self.shift, *z)).collect();
        vertices + &faces_of_rings()
    }
}

fn study(kind: &str, operations: &str) -> String {
    let select = match kind {
        "outside" => "",
        _ => "select = { near_mm = [0.0, 0.0, 8.0] }\n",
    };
    format!(
        "[study]\nname = \"Cast\"\nmachine = \"three-axis-12k\"\n[part]\nfile = \"block.obj\"\nunit = \"mm\"\n\
         material = \"en-aw-7075-t651\"\nstock = {{ shape = \"file\", file = \"cast.obj\" }}\n[[feature]]\n\
         name = \"it\"\nkind = \"{kind}\"\n{select}tolerance_um = 40.0\n[[process]]\nname = \"new\"\n{operations}\
         [[cutter]]\nid = \"end\"\nform = \"flat\"\ndiameter_mm = 10.0\nteeth = 4\nflute_length_mm = 22.0\n\
         overall_length_mm = 120.0\nshank_diameter_mm = 10.0\nhelix_deg = 30.0\nstickout_mm = 40.0\n\
         runout_um = 0.0\n"
    )
}

fn operation(kind: &str, more: &str) -> String {
    format!(
        "[[process.operation]]\nname = \"{kind}\"\nfeature = \"it\"\nkind = \"{kind}\"\ncutter = \"end\"\n\
         rpm = 10000\nfeed_per_tooth_mm = 0.05\n{more}\n"
    )
}

const ROUGH: &str = "clearing = \"constant-engagement\"\ndepth_per_pass_mm = 6.0\nwidth_mm = 1.5\nentry = \"helix\"\ncoolant = \"flood\"\nchord_um = 2.0";

fn cut(text: &str, stock: Block) -> Vec<OperationOutcome> {
    let found = run_from(text, &PART.obj(), Some(&stock.obj()));
    found.unwrap_or_else(|e| panic!("{e}")).processes.remove(0).operations
}

/// Volume removed by plan and as simulated, within 0.5 % of what it should be; columns know walls of so
/// many mm² to a tenth of a cell.
fn removes(o: &OperationOutcome, want_mm3: f64, walls_mm2: f64) {
    let r = o.roughed.as_ref().unwrap();
    let (plan, left) = (1e3 * (r.stock_cm3 - r.rest_cm3), r.left.unwrap());
    assert!((plan / want_mm3 - 1.0).abs() < 5e-3, "plan {plan}, {want_mm3}: {r:?}");
    assert!((1e3 * o.swarf.volume_cm3.unwrap() / want_mm3 - 1.0).abs() < 5e-3);
    let (cut, slack) = (1e3 * left.removed_cm3, 5e-3 * want_mm3 + 0.1 * left.cell_mm * walls_mm2);
    assert!((cut - want_mm3).abs() < slack, "simulated {cut}, {want_mm3}: {left:?}");
    assert!(o.broken.is_empty(), "{:?}", o.broken);
}

#[test]
fn a_pocket_is_cleared_of_what_its_casting_leaves_in_it() {
    let inner = PART.pocket[0].grown(-2.0);
    // 2 mm on walls and floor
    let casting = Block { pocket: [inner; 2], floor: 10.0, ..PART };
    let found = cut(&study("pocket", &operation("rough-pocket", ROUGH)), casting);
    let floor = PART.pocket[0].area() * 12.0;
    removes(&found[0], floor - inner.area() * 10.0, 0.0);
    // walls that lean from 1 mm at the rim to 3 mm at the floor, and 1 mm over the rim
    let [rim, foot] = [PART.pocket[0].grown(-1.0), PART.pocket[0].grown(-3.0)];
    let leaning = Block { pocket: [rim, foot], floor: 10.0, top: 21.0, ..PART };
    let found = cut(&study("pocket", &operation("rough-pocket", ROUGH)), leaning);
    // derived: the section is a parabola over the height
    let middle = PART.pocket[0].grown(-2.0);
    let hollow = 11.0 / 6.0 * (rim.area() + 4.0 * middle.area() + foot.area());
    removes(&found[0], PART.pocket[0].area() * 13.0 - hollow, 0.0);
    let words = |o: &OperationOutcome| o.warnings.iter().any(|w| w.contains("whole depth"));
    assert!(words(&found[0]), "{:?}", found[0].warnings);
}

#[test]
fn the_path_goes_only_where_a_casting_stands() {
    let inner = PART.pocket[0].grown(-2.0);
    let casting = Block { pocket: [inner; 2], ..PART };
    let found = cut(&study("pocket", &operation("rough-pocket", ROUGH)), casting);
    removes(&found[0], (PART.pocket[0].area() - inner.area()) * 12.0, 0.0);
    // the cutter's middle stays within its radius of the ring, less than what it sweeps by turning
    let room = PART.pocket[0].grown(-5.0 - 2.0 - 1.0);
    let deep = |p: &[f64; 3]| p[0].abs() < 0.5 * room.x && p[1].abs() < 0.5 * room.y;
    let lines = &found[0].picture.passes_mm;
    // half-way between the points that are drawn too: none is left out across the middle
    let ways = lines.iter().flat_map(|l| l.windows(2));
    let all: Vec<[f64; 3]> = ways
        .flat_map(|w| {
            (0..=8).map(|k| {
                std::array::from_fn(|i| w[0][i] + (w[1][i] - w[0][i]) * f64::from(k) / 8.0)
            })
        })
        .collect();
    let inside = all.iter().filter(|p| deep(p)).count();
    assert!(all.len() > 100 && inside == 0, "{inside} of {}", all.len());
    // full to its rim it takes far more
    let full = study("pocket", &operation("rough-pocket", ROUGH))
        .replace("stock = { shape = \"file\", file = \"cast.obj\" }\n", "");
    let full = run_from(&full, &PART.obj(), None).unwrap();
    assert!(full.processes[0].operations[0].path_mm > 2.0 * found[0].path_mm);
}

#[test]
fn an_outside_is_cleared_of_what_its_casting_has_on_it() {
    let casting = Block { outer: PART.outer.grown(3.0), top: 22.0, ..PART };
    let ring = (casting.outer.area() - PART.outer.area()) * 20.0;
    let around = 2.0 * (90.0 + 80.0) - (8.0 - 2.0 * PI) * 27.0;
    for way in
        [ROUGH, "depth_per_pass_mm = 10.0\nwidth_mm = 3.0\nentry = \"helix\"\nchord_um = 2.0"]
    {
        let found = cut(&study("outside", &operation("rough-outside", way)), casting);
        removes(
            &found[0],
            ring + (casting.outer.area() - PART.pocket[0].area()) * 2.0,
            20.0 * around,
        );
    }
}

#[test]
fn walls_are_finished_from_what_a_casting_leaves_on_them() {
    let inner = PART.pocket[0].grown(-0.4);
    let casting = Block { pocket: [inner; 2], ..PART };
    let found =
        cut(&study("pocket", &operation("finish-wall", "depth_per_pass_mm = 6.0")), casting);
    let r = found[0].roughed.as_ref().unwrap();
    let want = (PART.pocket[0].area() - inner.area()) * 12.0;
    assert!((1e3 * (r.stock_cm3 - r.rest_cm3) / want - 1.0).abs() < 5e-3, "{r:?} {want}");
    assert!((r.width_mm - 0.4).abs() < 0.01, "{r:?}");
    assert!(!found[0].warnings.iter().any(|w| w.contains("near-net")), "{:?}", found[0].warnings);
}

#[test]
fn a_stock_that_is_not_of_the_part_is_told() {
    let text = study("pocket", &operation("rough-pocket", ROUGH));
    let with = |stock: Block| run_from(&text, &PART.obj(), Some(&stock.obj()));
    let inner = PART.pocket[0].grown(-2.0);
    let casting = Block { pocket: [inner; 2], ..PART };
    let moved = with(Block { shift: 4.0, ..casting }).unwrap_err();
    assert!(moved.contains("study.toml:") && moved.contains("4.00 mm out of stock"), "{moved}");
    // a hollow that goes too deep
    let deep = with(Block { floor: 5.0, ..casting }).unwrap_err();
    assert!(deep.contains("mm out of stock") && deep.contains("measures"), "{deep}");
    let short = with(Block { shift: 0.2, ..casting }).unwrap();
    assert!(
        short.warnings.iter().any(|w| w.contains("0.20 mm out of stock")),
        "{:?}",
        short.warnings
    );
    let whole = with(casting).unwrap();
    assert!(!whole.warnings.iter().any(|w| w.contains("out of stock")), "{:?}", whole.warnings);
}
