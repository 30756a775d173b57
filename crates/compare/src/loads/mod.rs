//! What an operation asks of chip, edge, cutter and spindle, and how much room is left.

mod chatter;
mod engaged;
mod force;
mod headroom;
mod life;
mod stiffness;
mod swarf;

pub(crate) use engaged::Engaged;

use crate::job::Prepared;
use crate::scene::Scene;
use pattern::FacePasses;
use study::outcome::{Chatter, Headroom, Life, Load, Swarf};

/// All of it.
#[derive(Default)]
pub(crate) struct Loads {
    pub(crate) loads: Vec<Load>,
    pub(crate) swarf: Swarf,
    pub(crate) chatter: Chatter,
    pub(crate) headroom: Headroom,
    pub(crate) life: Life,
    pub(crate) warnings: Vec<String>,
    pub(crate) broken: Vec<String>,
    pub(crate) unknown: Vec<String>,
}

/// The loads of an operation whose cutting takes `cutting_s`.
pub(crate) fn of(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    passes: &FacePasses,
    cutting_s: f64,
) -> Loads {
    let Some(engaged) = Engaged::of(scene, prepared, passes) else {
        return Loads {
            loads: force::missing("the cutter meets no stock where it was looked at"),
            ..Loads::default()
        };
    };
    let mut out = Loads::default();
    let stiffness = stiffness::Stiffness::of(prepared);
    if let Ok(s) = &stiffness {
        out.warnings.extend(s.warnings.iter().cloned());
    }
    let law = force::law(scene, prepared, &engaged);
    let forces = force::loads(scene, prepared, &engaged, &law, &stiffness, &mut out);
    out.chatter = match (&law, &stiffness) {
        (Ok(law), Ok(stiffness)) => chatter::of(scene, prepared, &engaged, law, stiffness),
        (Err(why), _) | (_, Err(why)) => Chatter { rests_on: why.clone(), ..Chatter::default() },
    };
    out.headroom = headroom::of(scene, prepared, passes, &forces);
    out.loads = forces.into_iter().map(|f| f.load).collect();
    out.swarf = swarf::of(scene, prepared, &engaged, &mut out.warnings);
    out.life = life::of(scene, prepared, &engaged, cutting_s, &mut out.warnings);
    if let Some(margin) = out.chatter.margin.filter(|m| *m < 1.0) {
        out.warnings.push(format!(
            "chatter cannot be ruled out: what is stable at the study's confidence is {:.0} % of the \
             depth cut; a measured frequency response decides",
            100.0 * margin
        ));
    }
    for load in &out.loads {
        let (name, unit) = load.kind.label();
        if let (Some(peak), Some(limit)) = (load.peak, load.limit)
            && peak > limit
        {
            out.broken.push(format!("{name} {peak:.3} {unit}, limit {limit:.3} {unit}"));
        }
    }
    out
}
