//! Binds the published checks of lobes and multipliers to both methods.

use published::{Bindings, Fault, Inputs};
use stability::cut::{Direction, Immersion};
use stability::limit::{Method, limits};
use stability::{Axis, Cut, Mode, Structure};

/// Depth up to which a limit is looked for, mm.
const DEEPEST_MM: f64 = 100.0;

fn fault(error: impl std::fmt::Display) -> Fault {
    Fault::new("stability", error)
}

fn cut(inputs: &Inputs) -> Result<Cut, Fault> {
    let direction = match inputs.word("way")? {
        "up" => Direction::Up,
        "down" => Direction::Down,
        other => return Err(fault(format!("no way {other}"))),
    };
    let immersion = Immersion::of_width(1.0, inputs.real("width_ratio")?, direction);
    let (kt, kn) = (inputs.real("kt_n_per_mm2")?, inputs.real("kn_n_per_mm2")?);
    Cut::new(inputs.count("teeth")?, kt, kn / kt, immersion.map_err(fault)?).map_err(fault)
}

/// The same mode along x, or along x and y.
fn one_mode(inputs: &Inputs) -> Result<Structure, Fault> {
    let (hz, damping) = (inputs.real("frequency_hz")?, inputs.real("damping_ratio")?);
    let omega = std::f64::consts::TAU * hz;
    let of_mass = inputs.real_or("mass_kg", f64::NAN)? * omega * omega / 1000.0;
    let stiffness = inputs.real_or("stiffness_n_per_mm", of_mass)?;
    let axis = Axis::mode(Mode::new(hz, damping, stiffness).map_err(fault)?);
    match inputs.word("axes")? {
        "x" => Ok(Structure { x: axis, y: Axis::Rigid }),
        "xy" => Ok(Structure { x: axis.clone(), y: axis }),
        other => Err(fault(format!("no axes {other}"))),
    }
}

/// Modes by axis and number: `x1_hz`, `x1_damping_ratio`, `x1_stiffness_n_per_mm` and so on.
fn many_modes(inputs: &Inputs) -> Result<Structure, Fault> {
    let mode = |name: &str| -> Result<Option<Mode>, Fault> {
        let hz = inputs.real_or(&format!("{name}_hz"), 0.0)?;
        if hz == 0.0 {
            return Ok(None);
        }
        let damping = inputs.real(&format!("{name}_damping_ratio"))?;
        let stiffness = inputs.real(&format!("{name}_stiffness_n_per_mm"))?;
        Mode::new(hz, damping, stiffness).map(Some).map_err(fault)
    };
    let axis = |name: &str| -> Result<Axis, Fault> {
        let modes = [mode(&format!("{name}1"))?, mode(&format!("{name}2"))?];
        Ok(Axis::Modes(modes.into_iter().flatten().collect()))
    };
    Ok(Structure { x: axis("x")?, y: axis("y")? })
}

fn depth_mm(structure: &Structure, inputs: &Inputs, method: Method) -> Result<f64, Fault> {
    let speed = [inputs.real("speed_rpm")?];
    let found = limits(structure, &cut(inputs)?, &speed, method, DEEPEST_MM).map_err(fault)?;
    found[0].map(|l| l.depth_mm).ok_or_else(|| fault("no limit"))
}

fn multiplier(inputs: &Inputs) -> Result<f64, Fault> {
    let modal = stability::semi::Modal::new(&one_mode(inputs)?).map_err(fault)?;
    let (speed, depth) = (inputs.real("speed_rpm")?, inputs.real("depth_mm")?);
    let at = |steps| {
        let cut = cut(inputs)?;
        let found = stability::semi::multiplier(&modal, &cut, speed, depth, steps);
        found.map(|m| m.norm()).map_err(fault)
    };
    // the error falls with the square of the step
    Ok((4.0 * at(800)? - at(400)?) / 3.0)
}

#[test]
fn published_checks_hold() {
    let classic = [
        "chart-one-mode-x-down-1-0",
        "chart-one-mode-x-down-0-5",
        "chart-one-mode-x-down-0-1",
        "chart-one-mode-x-down-0-05",
        "chart-one-mode-x-up-0-1",
        "chart-one-mode-xy-down-1-0",
        "chart-one-mode-xy-down-0-5",
        "chart-one-mode-xy-down-0-05",
        "chart-symmetric",
    ];
    let (semi, zeroth) = (Method::SemiDiscretisation, Method::ZerothOrder);
    let mut bindings = Bindings::new(env!("CARGO_MANIFEST_DIR"));
    bindings
        .bind(&["multiplier-slot", "multiplier-slot-printed"], multiplier)
        .bind(&classic, move |i| depth_mm(&one_mode(i)?, i, semi))
        .bind(&["chart-symmetric-mean"], move |i| depth_mm(&one_mode(i)?, i, zeroth))
        .bind(&["chart-two-modes", "chart-three-teeth"], move |i| {
            depth_mm(&many_modes(i)?, i, semi)
        })
        .bind(
            &["chart-two-modes-mean", "chart-three-teeth-mean", "mean-limit-two-axes"],
            move |i| depth_mm(&many_modes(i)?, i, zeroth),
        )
        .run();
}
