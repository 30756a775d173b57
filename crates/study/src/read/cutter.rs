//! `[[cutter]]`, in the study file or in its companion.

use super::files::Files;
use super::range;
use super::response;
use crate::model::cutter::StudyCutter;
use crate::text::Table;
use ::cutter::{Cutter, CutterSpec, Form, HolderSegment};
use units::convert::{rpm_to_rev_s, um_to_mm};

/// Cutters that were read, and the ids in the same order; ids also of those that have a fault.
pub(super) struct Cutters {
    /// `None` where one has a fault.
    pub(super) read: Option<Vec<StudyCutter>>,
    /// `None` where not all are known.
    pub(super) names: Option<Vec<String>>,
}

pub(super) fn read_all(root: &Table<'_>, files: &dyn Files) -> Cutters {
    let mut cutters = Cutters { read: Some(Vec::new()), names: Some(Vec::new()) };
    cutters.add(root, files);
    cutters
}

impl Cutters {
    /// Adds the cutters of one more file; an id that is there already is a fault.
    pub(super) fn add(&mut self, root: &Table<'_>, files: &dyn Files) {
        for mut table in root.tables("cutter") {
            let id = table.need_text("id", "ball-12");
            if let (Some(id), Some(names)) = (&id, &mut self.names) {
                table.call(&id.value);
                table.unique("cutter", id, names);
            }
            match (read(table, id.map(|i| i.value), files), &mut self.read) {
                (Some(cutter), Some(all)) => all.push(cutter),
                _ => self.read = None,
            }
        }
    }
}

fn read(table: Table<'_>, id: Option<String>, files: &dyn Files) -> Option<StudyCutter> {
    let spec = read_spec(&table);
    let max_rpm = table.number("max_rpm", &range::RPM);
    let runout_um = table.number("runout_um", &range::RUNOUT_UM);
    let change_min = table.number("change_min", &range::CHANGE_MIN);
    let edges = if table.has("edges") { table.whole("edges", &range::EDGES) } else { Some(1) };
    let depth_max_mm = table.number("depth_max_mm", &range::TOOL_LENGTH);
    let chip_breaker_pitch_mm = table.number("chip_breaker_pitch_mm", &range::TOOL_LENGTH);
    let price = table.number("price", &range::PRICE);
    let response = response::read(&table, files);
    let place = table.place();
    if let Some(spec) = &spec {
        check(&table, spec);
    }
    table.finish();
    let spec = spec?;
    Some(StudyCutter {
        id: id?,
        teeth: spec.teeth?,
        spec,
        depth_max_mm,
        max_rev_s: max_rpm.map(rpm_to_rev_s),
        runout_mm: runout_um.map(um_to_mm),
        response: response?,
        chip_breaker_pitch_mm,
        price,
        edges: edges?,
        change_s: change_min.map(|m| m * 60.0),
        place,
    })
}

fn read_spec(table: &Table<'_>) -> Option<CutterSpec> {
    let words = Form::ALL.map(|form| (form.name(), form));
    let form = table.need_choice("form", &words);
    let diameter_mm = table.need_number("diameter_mm", &range::DIAMETER, "12.0");
    if !table.has("teeth") {
        table.missing("teeth", "the number of teeth", "add `teeth = 4`");
    }
    let teeth = table.whole("teeth", &range::TEETH);
    let length = |key| table.number(key, &range::TOOL_LENGTH);
    let spec = CutterSpec {
        form: form.unwrap_or(Form::Ball),
        diameter_mm: diameter_mm.unwrap_or(1.0),
        arc_radius_mm: table.number("arc_radius_mm", &range::ARC_RADIUS),
        corner_radius_mm: table.number("corner_radius_mm", &range::CORNER_RADIUS),
        corner_offset_mm: table.number("corner_offset_mm", &range::CORNER_OFFSET),
        taper_rad: table.number("taper_deg", &range::TAPER_DEG).map(f64::to_radians),
        flute_length_mm: length("flute_length_mm"),
        overall_length_mm: length("overall_length_mm"),
        shank_diameter_mm: table.number("shank_diameter_mm", &range::DIAMETER),
        neck_diameter_mm: table.number("neck_diameter_mm", &range::DIAMETER),
        usable_length_mm: length("usable_length_mm"),
        stickout_mm: length("stickout_mm"),
        teeth,
        helix_rad: table.number("helix_deg", &range::HELIX_DEG).map(f64::to_radians),
        holder: read_holder(table)?,
    };
    (form.is_some() && diameter_mm.is_some()).then_some(spec)
}

fn read_holder(table: &Table<'_>) -> Option<Vec<HolderSegment>> {
    let mut holder = Vec::new();
    let mut sound = true;
    for segment in table.tables("holder") {
        let diameter = segment.need_number("diameter_mm", &range::DIAMETER, "28.0");
        let length = segment.need_number("length_mm", &range::TOOL_LENGTH, "25.0");
        let top_diameter_mm = segment.number("top_diameter_mm", &range::DIAMETER);
        segment.finish();
        match (diameter, length) {
            (Some(diameter_mm), Some(length_mm)) => {
                holder.push(HolderSegment { diameter_mm, length_mm, top_diameter_mm });
            }
            _ => sound = false,
        }
    }
    sound.then_some(holder)
}

/// Notes why the shape cannot be, if it cannot.
fn check(table: &Table<'_>, spec: &CutterSpec) {
    if let Err(error) = Cutter::new(spec) {
        let message = format!("{} cannot be: {error}", table.what());
        table.report(
            table.span(),
            message,
            "a closed convex profile whose arcs meet, and a shank behind it",
            "check its lengths against the drawing or the sheet of the cutter",
        );
    }
}
