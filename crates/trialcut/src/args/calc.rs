//! Arguments of `calc`.

mod cut;
mod deflection;
mod life;
mod lobes;

use super::number;
use clap::{Args, Subcommand};
use commands::calc;
use commands::{Document, Failure};

/// Shown below the help of `calc`.
pub(crate) const EXAMPLE: &str = "\
Example:
  trialcut calc cusp --radius 6 --stepover 0.4 --surface-radius 75";

/// The formulas.
#[derive(Debug, Subcommand)]
pub(crate) enum Calc {
    /// Cusp that an arc leaves at a step-over
    #[command(after_help = EXAMPLE)]
    Cusp(Cusp),
    /// Step-over that leaves a cusp
    #[command(after_help = "Example:\n  trialcut calc stepover --radius 250 --cusp-um 5")]
    Stepover(Stepover),
    /// Where a cutter touches at an angle, and its radii there
    #[command(
        after_help = "Example:\n  trialcut calc contact --form tangent-barrel --diameter 10 \
        --arc-radius 250 --corner-radius 1.5 --kappa-deg 84"
    )]
    Contact(Contact),
    /// Time of a straight move from rest to rest
    #[command(
        after_help = "Example:\n  trialcut calc move --distance 25 --vmax 30000 --amax 4 --jmax 60"
    )]
    Move(Move),
    /// Cheapest cutting speed for a Taylor line
    #[command(after_help = "Example:\n  trialcut calc speed --taylor-c 620 --taylor-n 0.32 \
        --machine-rate 85 --edge-cost 62 --change-min 1.2")]
    Speed(Speed),
    /// Cost of one part by its lines
    #[command(
        after_help = "Example:\n  trialcut calc cost --cut-min 4.2 --idle-min 2.3 --machine-rate 85 \
        --cutter-price 62 --edges 1 --life-min 90 --change-min 1.2 --batch 50 --setup-min 45"
    )]
    Cost(Cost),
    /// How long an edge lasts in a material
    #[command(after_help = life::EXAMPLE)]
    Life(life::Life),
    /// Chip thickness of a peripheral cut
    #[command(after_help = cut::CHIP)]
    Chip(cut::Chip),
    /// Feed whose chip is as thick as wanted
    #[command(after_help = cut::FEED)]
    Feed(cut::Feed),
    /// Mean and peak loads of a helical end mill
    #[command(after_help = cut::FORCE)]
    Force(cut::Force),
    /// Depth that stays free of chatter over the spindle speed
    #[command(after_help = lobes::EXAMPLE)]
    Lobes(lobes::Lobes),
    /// Deflection of a stepped cutter at its tip
    #[command(after_help = deflection::EXAMPLE)]
    Deflection(deflection::Deflection),
}

/// Of `calc cusp`.
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub(crate) struct Cusp {
    /// Radius of the cutter's arc, mm
    #[arg(long, value_name = "R", value_parser = number)]
    radius: f64,
    /// Step-over along the surface between neighbouring contact points, mm
    #[arg(long, value_name = "AE", value_parser = number)]
    stepover: f64,
    /// Radius of the surface across the feed, mm: convex > 0, concave < 0; left out: flat
    #[arg(long, value_name = "RHO", value_parser = number)]
    surface_radius: Option<f64>,
}

/// Of `calc stepover`.
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub(crate) struct Stepover {
    /// Radius of the cutter's arc, mm
    #[arg(long, value_name = "R", value_parser = number)]
    radius: f64,
    /// Height of the cusp along the surface normal, µm
    #[arg(long, value_name = "H", value_parser = number)]
    cusp_um: f64,
    /// Radius of the surface across the feed, mm: convex > 0, concave < 0; left out: flat
    #[arg(long, value_name = "RHO", value_parser = number)]
    surface_radius: Option<f64>,
}

/// Of `calc contact`.
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub(crate) struct Contact {
    #[command(flatten)]
    cutter: Cutter,
    /// Angle between the surface normal and the axis, degrees
    #[arg(long, value_name = "K", value_parser = number)]
    kappa_deg: f64,
}

/// A cutter.
#[derive(Debug, Args)]
struct Cutter {
    /// Form: flat, corner-radius, ball, tapered-ball, barrel, tangent-barrel, taper-barrel, lens
    #[arg(long, value_name = "F")]
    form: String,
    /// Largest cutting diameter, mm
    #[arg(long, value_name = "D", value_parser = number)]
    diameter: f64,
    /// Radius of the large arc, mm
    #[arg(long, value_name = "R", value_parser = number)]
    arc_radius: Option<f64>,
    /// Radius of the corner or tip, mm
    #[arg(long, value_name = "RC", value_parser = number)]
    corner_radius: Option<f64>,
    /// Distance of the tip arc's centre from the axis, mm
    #[arg(long, value_name = "E", value_parser = number)]
    corner_offset: Option<f64>,
    /// Taper per side, degrees
    #[arg(long, value_name = "T", value_parser = number)]
    taper_deg: Option<f64>,
    /// Length of the flutes, mm; left out: the whole arc counts
    #[arg(long, value_name = "L", value_parser = number)]
    flute_length: Option<f64>,
}

/// Of `calc move`.
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub(crate) struct Move {
    /// Distance, mm
    #[arg(long, value_name = "S", value_parser = number)]
    distance: f64,
    /// Fastest feed, mm/min
    #[arg(long, value_name = "V", value_parser = number)]
    vmax: f64,
    /// Acceleration, m/s²
    #[arg(long, value_name = "A", value_parser = number)]
    amax: f64,
    /// Jerk, m/s³
    #[arg(long, value_name = "J", value_parser = number)]
    jmax: f64,
}

/// Of `calc speed`.
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub(crate) struct Speed {
    /// C of v·Tⁿ = C, m/min
    #[arg(long, value_name = "C", value_parser = number)]
    taylor_c: f64,
    /// n of v·Tⁿ = C
    #[arg(long, value_name = "N", value_parser = number)]
    taylor_n: f64,
    /// Price of an hour of the machine
    #[arg(long, value_name = "R", value_parser = number)]
    machine_rate: f64,
    /// Price of one life of the cutter
    #[arg(long, value_name = "E", value_parser = number)]
    edge_cost: f64,
    /// Time to change a worn cutter, min
    #[arg(long, value_name = "T", value_parser = number)]
    change_min: f64,
}

/// Of `calc cost`.
#[derive(Debug, Args)]
#[command(allow_negative_numbers = true)]
pub(crate) struct Cost {
    /// Time in cut for one part, min
    #[arg(long, value_name = "MIN", value_parser = number)]
    cut_min: f64,
    /// Other time of the machine for one part, min
    #[arg(long, value_name = "MIN", value_parser = number)]
    idle_min: f64,
    /// Price of an hour of the machine
    #[arg(long, value_name = "R", value_parser = number)]
    machine_rate: f64,
    /// Price of a cutter
    #[arg(long, value_name = "P", value_parser = number)]
    cutter_price: f64,
    /// Uses in one price
    #[arg(long, value_name = "N", value_parser = number)]
    edges: f64,
    /// Time in cut that one use lasts, min
    #[arg(long, value_name = "MIN", value_parser = number)]
    life_min: f64,
    /// Time to change a worn cutter, min
    #[arg(long, value_name = "MIN", value_parser = number)]
    change_min: f64,
    /// Parts that share one set-up
    #[arg(long, value_name = "N", value_parser = number)]
    batch: f64,
    /// Time of one set-up, min
    #[arg(long, value_name = "MIN", value_parser = number)]
    setup_min: f64,
}

/// Runs the formula that is asked for.
pub(crate) fn run(calc: &Calc) -> Result<impl Document + use<>, Failure> {
    match calc {
        Calc::Cusp(a) => calc::cusp::run(&calc::cusp::Request {
            radius_mm: a.radius,
            stepover_mm: a.stepover,
            surface_radius_mm: a.surface_radius,
        }),
        Calc::Stepover(a) => calc::stepover::run(&calc::stepover::Request {
            radius_mm: a.radius,
            cusp_um: a.cusp_um,
            surface_radius_mm: a.surface_radius,
        }),
        Calc::Contact(a) => calc::contact::run(&contact(a)),
        Calc::Move(a) => calc::moving::run(&calc::moving::Request {
            distance_mm: a.distance,
            vmax_mm_min: a.vmax,
            amax_m_s2: a.amax,
            jmax_m_s3: a.jmax,
        }),
        Calc::Speed(a) => calc::speed::run(&calc::speed::Request {
            taylor_c: a.taylor_c,
            taylor_n: a.taylor_n,
            machine_rate: a.machine_rate,
            edge_cost: a.edge_cost,
            change_min: a.change_min,
        }),
        Calc::Cost(a) => calc::cost::run(&cost(a)),
        Calc::Life(a) => calc::life::run(&a.request()),
        Calc::Chip(a) => calc::chip::run(&a.request()),
        Calc::Feed(a) => calc::feed::run(&a.request()),
        Calc::Deflection(a) => calc::deflection::run(&a.request()),
        Calc::Lobes(a) => calc::lobes::run(&a.request()),
        Calc::Force(a) => calc::force::run(&a.request()),
    }
}

fn contact(a: &Contact) -> calc::contact::Request {
    calc::contact::Request {
        form: a.cutter.form.clone(),
        diameter_mm: a.cutter.diameter,
        arc_radius_mm: a.cutter.arc_radius,
        corner_radius_mm: a.cutter.corner_radius,
        corner_offset_mm: a.cutter.corner_offset,
        taper_deg: a.cutter.taper_deg,
        flute_length_mm: a.cutter.flute_length,
        kappa_deg: a.kappa_deg,
    }
}

fn cost(a: &Cost) -> calc::cost::Request {
    calc::cost::Request {
        cut_min: a.cut_min,
        idle_min: a.idle_min,
        machine_rate: a.machine_rate,
        cutter_price: a.cutter_price,
        edges: a.edges,
        life_min: a.life_min,
        change_min: a.change_min,
        batch: a.batch,
        setup_min: a.setup_min,
    }
}
