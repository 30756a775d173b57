//! The pockets of a study, and what each cutter reaches in them.

use super::stage::Room;
use crate::feature;
use cutter::Form;
use part::{Part, fact};
use study::{Diagnostic, FeatureKind, Select, Study, StudyCutter};

/// What a cutter reaches of a pocket.
#[derive(Debug, Clone, PartialEq)]
pub struct Access {
    /// The pocket.
    pub pocket: String,
    /// The cutter.
    pub cutter: String,
    /// Its diameter, mm.
    pub diameter_mm: f64,
    /// Area that it covers in plan, at the floor, mm².
    pub accessible_mm2: f64,
    /// Area that it leaves, mm².
    pub rest_mm2: f64,
    /// Whether it is long and slim enough for the depth.
    pub reaches_floor: bool,
}

/// A pocket with its name and plan.
pub(crate) struct NamedPocket {
    pub(crate) name: String,
    pub(crate) pocket: fact::Pocket,
    pub(crate) plan: fact::Plan,
}

impl NamedPocket {
    /// Smallest hollow corner in plan, mm: 0 where it is sharp, infinite where there is none.
    pub(crate) fn corner_radius_mm(&self) -> f64 {
        match self.pocket.corner_radius_min_mm {
            _ if self.plan.has_sharp_corner => 0.0,
            radius => radius.unwrap_or(f64::INFINITY),
        }
    }
}

/// The pockets that the study names; all of the part where it names none.
pub(crate) fn of_study(study: &Study, part: &Part) -> Result<Vec<NamedPocket>, Diagnostic> {
    let facts = fact::of_faces(part);
    let found = fact::pockets(part, &facts, &fact::Neighbours::new(part));
    let named = |name: String, pocket: &fact::Pocket| {
        let plan = fact::plan(part, pocket);
        NamedPocket { name, pocket: pocket.clone(), plan }
    };
    let asked = study.features.iter().filter(|f| f.kind == FeatureKind::Pocket);
    let mut pockets: Vec<NamedPocket> = Vec::new();
    let mut asks = false;
    for wanted in asked.filter(|f| f.select != Select::All) {
        asks = true;
        let faces = feature::faces(study, part, wanted)?;
        feature::sound(study, part, wanted, &faces)?;
        let held = |p: &&fact::Pocket| faces.iter().any(|f| p.faces.contains(f));
        let Some(pocket) = found.iter().find(held) else {
            return Err(study.fault(
                wanted.select_place,
                format!("feature \"{}\" selects no face of a pocket", wanted.name),
                "a face of a recess that walls shut in",
                "`trialcut inspect` lists the pockets of the part with their faces",
            ));
        };
        if !pocket.is_level(part) {
            return Err(study.fault(
                wanted.select_place,
                format!("feature \"{}\" is a pocket whose floor is not flat", wanted.name),
                "a pocket with a flat floor, or one that goes through",
                "leave it to passes that finish its floor",
            ));
        }
        if let Some(twin) = pockets.iter().find(|p| p.pocket.faces == pocket.faces) {
            return Err(study.fault(
                wanted.select_place,
                format!("features \"{}\" and \"{}\" are one pocket", twin.name, wanted.name),
                "one feature for each pocket",
                "take one of them out, or select another pocket",
            ));
        }
        pockets.push(named(wanted.name.clone(), pocket));
    }
    if !asks {
        let all = found.iter().filter(|p| !p.is_bore && p.is_level(part)).enumerate();
        pockets = all.map(|(i, p)| named(format!("pocket-{}", i + 1), p)).collect();
    }
    if pockets.is_empty() {
        return Err(study.fault(
            study.part.file.place,
            "no pocket was found in the part",
            "a recess that walls shut in",
            "`trialcut inspect` lists the pockets of a part",
        ));
    }
    Ok(pockets)
}

/// Whether a cutter can clear pockets: it cuts a flat floor.
pub(crate) fn is_candidate(cutter: &StudyCutter) -> bool {
    matches!(cutter.spec.form, Form::Flat | Form::CornerRadius)
}

/// Whether a cutter is long enough, and no thicker above its flutes, for the depth.
pub(crate) fn reaches_floor(cutter: &StudyCutter, depth_mm: f64) -> bool {
    let spec = &cutter.spec;
    let slim = |d: Option<f64>| d.is_some_and(|d| d <= spec.diameter_mm);
    let fluted = spec.flute_length_mm;
    let neck = spec.usable_length_mm.filter(|_| slim(spec.neck_diameter_mm));
    let shank = spec.stickout_mm.filter(|_| slim(spec.shank_diameter_mm));
    let reach = [fluted, neck, shank].into_iter().flatten().fold(0.0, f64::max);
    reach.min(spec.stickout_mm.unwrap_or(f64::INFINITY)) >= depth_mm
}

/// What a cutter reaches of a pocket.
pub(crate) fn access(pocket: &NamedPocket, cutter: &StudyCutter) -> (Access, Room) {
    let radius_mm = 0.5 * cutter.spec.diameter_mm;
    let reach = planar::reach(&pocket.plan.outline, radius_mm);
    let accessible_mm2 = reach.covered.area_mm2();
    let access = Access {
        pocket: pocket.name.clone(),
        cutter: cutter.id.clone(),
        diameter_mm: cutter.spec.diameter_mm,
        accessible_mm2,
        rest_mm2: (pocket.plan.outline.region.area_mm2() - accessible_mm2).max(0.0),
        reaches_floor: reaches_floor(cutter, pocket.pocket.depth_mm),
    };
    (access, Room::new(&reach))
}
