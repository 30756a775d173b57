//! The setup sheet: what was laid, written and timed, as plain data for the page.

use crate::failure::Failure;
use crate::input::Input;
use ::compare::motion::Laid;
use ::report::sheet::{OperationCard, Outline, Sheet, ToolCard};
use cutter::{Assembly, BodyKind, Element};
use dialect::Dialect;
use machine::{Kinematics, Machine, Mounting, RotaryTurn, Track};
use nc::{AuditOptions, Program};
use post::{Job, Tool, Written};
use rayon::prelude::*;
use study::Stock;
use units::Interval;

/// Steps of an arc of a drawn profile.
const ARC_STEPS: usize = 24;

/// What a sheet is made from.
pub(super) struct Basis<'a> {
    /// The study with its part.
    pub(super) input: &'a Input,
    /// Name of the process.
    pub(super) process: &'a str,
    /// What was laid.
    pub(super) laid: &'a [Laid<'a>],
    /// What was written.
    pub(super) job: &'a Job<'a>,
    /// The program.
    pub(super) written: &'a Written,
    /// The same as read back.
    pub(super) program: &'a Program,
}

impl Basis<'_> {
    /// The sheet; `file` is the program's name.
    pub(super) fn sheet(&self, file: &str) -> Result<Sheet, Failure> {
        let study = &self.input.study;
        let whole = self.timed(self.program)?;
        let own: Vec<(f64, Interval)> = (0..self.job.pieces.len())
            .into_par_iter()
            .map(|piece| self.timed(&self.of_piece(piece)))
            .collect::<Result<_, _>>()?;
        let operations = (0..self.job.pieces.len()).map(|i| self.operation(i, own[i])).collect();
        let mut notes = self.written.notes.clone();
        if self.input.fixtures.is_empty() {
            notes.push("no fixture is given: clamps are not checked".to_owned());
        }
        Ok(Sheet {
            study: study.name.clone(),
            process: self.process.to_owned(),
            program: file.to_owned(),
            machine: format!("{}, dialect {}", study.machine.name, study.dialect.name),
            setup: setup(self.input),
            conditions: conditions(&study.machine, &study.dialect),
            turns: study.machine.turns(),
            total_s: whole.0,
            total_range_s: whole.1,
            confidence: study.confidence,
            tools: self.job.tools.iter().map(|tool| self.tool(tool)).collect(),
            operations,
            notes,
        })
    }

    /// Time and its interval.
    fn timed(&self, program: &Program) -> Result<(f64, Interval), Failure> {
        let study = &self.input.study;
        let options = AuditOptions {
            confidence: study.confidence,
            worth_of: 0,
            stretches: 0,
            ..AuditOptions::default()
        };
        let audit = nc::audit(program, &study.machine, &options).map_err(|error| {
            Failure::other(format!("the program cannot be timed: {error}"), "report this fault")
        })?;
        let t = audit.time;
        Ok((t.total_s, Interval::new(t.low_s, t.high_s)))
    }

    /// The moves of one operation, as read back.
    fn of_piece(&self, piece: usize) -> Program {
        let own = self.written.sections.iter().filter(|s| s.piece == piece);
        let lines: Vec<u32> = own
            .flat_map(|s| [s.asked.start, s.asked.end.saturating_sub(1)])
            .filter_map(|i| self.written.asked.get(i).map(|a| a.line))
            .collect();
        let ends = (lines.iter().min(), lines.iter().max());
        let (Some(&first), Some(&last)) = ends else { return Program::default() };
        let moves = &self.program.track.moves;
        let inside = |line: u32| (first..=last).contains(&line);
        let Some(at) = moves.iter().position(|m| inside(m.block)) else {
            return Program::default();
        };
        let kinematics = Kinematics::new(self.job.machine, &Mounting::default());
        let track = Track {
            start: self.program.track.before(at, &kinematics),
            moves: moves[at..].iter().filter(|m| inside(m.block)).copied().collect(),
            waits: Vec::new(),
        };
        Program { track, ..Program::default() }
    }

    fn operation(&self, index: usize, (time_s, range): (f64, Interval)) -> OperationCard {
        let (laid, piece) = (&self.laid[index], &self.job.pieces[index]);
        let mut blocks = self
            .written
            .sections
            .iter()
            .filter(|s| s.piece == index)
            .map(|s| format!("N{}", s.number));
        let feature = self.input.study.feature_of(laid.operation);
        OperationCard {
            block: blocks.next().unwrap_or_default(),
            restarts: blocks.collect(),
            name: piece.name.clone(),
            what: format!("{} on {}", laid.operation.kind.name(), feature.name),
            tool: self.job.tools[piece.tool].number,
            coolant: match piece.coolant {
                None => "dry".to_owned(),
                Some(post::Coolant::Flood) => "flood".to_owned(),
                Some(post::Coolant::Mist) => "mist".to_owned(),
                Some(post::Coolant::Air) => "air".to_owned(),
                Some(post::Coolant::Through) => "through the spindle".to_owned(),
            },
            data: laid.data,
            stepover_mm: laid.stepover_mm,
            allowance_mm: Some(laid.operation.allowance_mm)
                .filter(|_| !laid.operation.kind.clears()),
            time_s,
            time_range_s: Some(range),
            loads: laid.loads.clone(),
            broken: laid.broken.clone(),
            warnings: [&laid.warnings[..], &laid.load_warnings[..]].concat(),
        }
    }

    fn tool(&self, tool: &Tool) -> ToolCard {
        let one = self.laid.iter().find(|l| l.cutter.id == tool.words);
        let (facts, outlines, stickout_mm, diameter_mm) = match one {
            Some(one) => {
                (facts(one), outlines(&one.assembly), one.stickout_mm, one.cutter.spec.diameter_mm)
            }
            None => (Vec::new(), Vec::new(), tool.length_mm, 2.0 * tool.radius_mm),
        };
        ToolCard {
            number: tool.number,
            id: tool.words.clone(),
            facts,
            stickout_mm,
            length_mm: tool.length_mm,
            diameter_mm,
            outlines,
        }
    }
}

fn facts(one: &Laid<'_>) -> Vec<[String; 2]> {
    let spec = &one.cutter.spec;
    let mut rows: Vec<[String; 2]> = Vec::new();
    let mut add = |name: &str, value: Option<String>| {
        if let Some(value) = value {
            rows.push([name.to_owned(), value]);
        }
    };
    let mm = |value: Option<f64>| value.map(|v| format!("{v} mm"));
    add("form, teeth", Some(format!("{}, {}", spec.form.name(), one.cutter.teeth)));
    add("diameter (DC)", mm(Some(spec.diameter_mm)));
    add("radius of the large arc", mm(spec.arc_radius_mm));
    add("corner or tip radius (RE)", mm(spec.corner_radius_mm));
    add("taper per side", spec.taper_rad.map(|t| format!("{:.2}°", t.to_degrees())));
    add("flute length (LCF)", mm(spec.flute_length_mm));
    add("shank (DCON)", mm(spec.shank_diameter_mm));
    add("overall length (OAL)", mm(spec.overall_length_mm));
    let limit = one.cutter.max_rev_s.map(|n| format!("{:.0} 1/min", 60.0 * n));
    add("speed limit of the assembly", Some(limit.unwrap_or_else(|| "not given".to_owned())));
    let runout = one.cutter.runout_mm.map(|r| format!("{:.1} µm", 1e3 * r));
    add("runout at the tip, at most", Some(runout.unwrap_or_else(|| "not given".to_owned())));
    if spec.holder.is_empty() {
        add("holder", Some("not given: not checked, and the length is the stick-out".to_owned()));
    }
    rows
}

/// Half outlines of the assembly from the tip up.
fn outlines(assembly: &Assembly) -> Vec<Outline> {
    let mut points_mm: Vec<[f64; 2]> = Vec::new();
    let mut add = |(r, z): (f64, f64)| {
        if points_mm.last() != Some(&[r, z]) {
            points_mm.push([r, z]);
        }
    };
    add((0.0, 0.0));
    for element in assembly.cutter.profile().elements() {
        match element {
            Element::Arc(arc) => {
                let (low, high) = element.kappa_range();
                for i in 0..=ARC_STEPS {
                    add(arc.point(low + (high - low) * i as f64 / ARC_STEPS as f64));
                }
            }
            Element::Line(line) => {
                add(line.from_mm);
                add(line.to_mm);
            }
        }
    }
    let mut out = vec![Outline { what: "cutting", points_mm }];
    for body in &assembly.bodies {
        let what = match body.kind {
            BodyKind::Cutting => "cutting",
            BodyKind::Neck | BodyKind::Shank => "shank",
            BodyKind::Holder => "holder",
        };
        let points_mm = vec![[body.r_lo_mm, body.z_lo_mm], [body.r_hi_mm, body.z_hi_mm]];
        out.push(Outline { what, points_mm });
    }
    out
}

fn setup(input: &Input) -> Vec<[String; 2]> {
    let study = &input.study;
    let list = |v: geom::Vec3| format!("{:.3}, {:.3}, {:.3}", v.x, v.y, v.z);
    let margin = |v: &geom::Vec3| format!("{} mm over the part", list(*v));
    let stock = match &study.part.stock {
        Some(Stock::Block { margin_mm }) => format!("block, {}", margin(margin_mm)),
        Some(Stock::Cylinder { margin_mm }) => format!("round bar, {}", margin(margin_mm)),
        Some(Stock::NearNet { layer_mm }) => format!("near-net, {layer_mm} mm all round"),
        Some(Stock::File(file)) => file.path.clone(),
        None => "not given".to_owned(),
    };
    let turn = study.setup.rotation_rad.to_array().map(|a| format!("{:.3}°", a.to_degrees()));
    let clamps: Vec<&str> = study.setup.fixture.iter().map(|f| f.path.as_str()).collect();
    let clamps = match clamps.as_slice() {
        [] => "none given: not checked".to_owned(),
        all => all.join(", "),
    };
    [
        ("part", study.part.file.path.clone()),
        ("material", study.part.material.name.to_string()),
        ("stock", stock),
        ("part zero in program coordinates, mm", list(study.setup.origin_mm)),
        ("part turned about x, y, z", turn.join(", ")),
        ("clamps and table kept clear of", clamps),
    ]
    .map(|(name, value)| [name.to_owned(), value])
    .to_vec()
}

fn conditions(machine: &Machine, dialect: &Dialect) -> Vec<String> {
    let mut lines = vec![
        "tool lengths are those measured at the machine; the travel was checked with those of this sheet"
            .to_owned(),
    ];
    if !machine.turns() {
        return lines;
    }
    lines.push(match (machine.tip_control, dialect.switches_tip()) {
        (false, _) => {
            "X, Y, Z are positions of the axes: the program holds for the tool lengths of \
                       this sheet alone"
                .to_owned()
        }
        (true, true) => {
            "X, Y, Z are the tip: the program switches tip control on and off".to_owned()
        }
        (true, false) => {
            "X, Y, Z are the tip: tip control is on, with the machine's own pivot and \
                          centres"
                .to_owned()
        }
    });
    lines.push(match machine.rotary_turn {
        RotaryTurn::Standing => {
            "the rotary axes turn with Z at its reference, the others standing".to_owned()
        }
        RotaryTurn::TipControl => {
            "the rotary axes turn over the start under tip control".to_owned()
        }
    });
    lines.push(
        "program zero is where the machine file has the rotary axes: on a table where they cross"
            .to_owned(),
    );
    lines
}
