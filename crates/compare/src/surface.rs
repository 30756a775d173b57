//! The surface as cut: the simulation's figures as the outcome words them.

use crate::Progress;
use crate::job::Prepared;
use crate::scene::Scene;
use pattern::FacePasses;
use study::outcome::{Approach, Cusp, PlanMap, Roughness};

/// What the simulated cut says.
#[derive(Default)]
pub(crate) struct Surface {
    pub(crate) cusp: Cusp,
    pub(crate) gouge_um: Option<f64>,
    pub(crate) uncut_mm2: Option<f64>,
    pub(crate) roughness: Vec<Roughness>,
    pub(crate) picture: Maps,
    pub(crate) warnings: Vec<String>,
}

/// Maps over the plan.
#[derive(Default)]
pub(crate) struct Maps {
    pub(crate) cusp: Option<PlanMap>,
    pub(crate) gouge: Option<PlanMap>,
}

pub(crate) fn cut(_: &Scene<'_>, _: &Prepared<'_>, _: &FacePasses, _: Progress<'_>) -> Surface {
    Surface::default()
}

pub(crate) fn approach(_: &FacePasses) -> Option<Approach> {
    None
}
