//! An inspection for a terminal.

use super::document::{FaceEntry, Inspection, PocketEntry};
use crate::text::{Align, Table, fixed, significant};

const NONE: &str = "–";

pub(super) fn render(i: &Inspection) -> String {
    let mut out = format!("{} ({}), numbers in the file: {}\n", i.name, i.file, i.unit);
    if let Some([x, y, z]) = i.size_mm {
        out.push_str(&format!("size {} × {} × {} mm", fixed(x, 3), fixed(y, 3), fixed(z, 3)));
    }
    let volume = i.volume_mm3.map_or_else(|| "not closed".to_owned(), |v| fixed(v / 1000.0, 3));
    out.push_str(&format!(", volume {volume} cm³, {} faces\n", i.faces.len()));
    out.push_str("Curvature is positive where the face is concave.\n");
    if i.solids.len() > 1 {
        out.push_str(&solids(i));
    }
    out.push('\n');
    out.push_str(&faces(&i.faces));
    out.push_str(&pockets("pocket", &i.pockets));
    out.push_str(&pockets("bore", &i.bores));
    for (title, lines) in [("Defects", &i.defects), ("Notes", &i.notes)] {
        if !lines.is_empty() {
            out.push_str(&format!("\n{title}\n"));
            lines.iter().for_each(|line| out.push_str(&format!("  · {line}\n")));
        }
    }
    out
}

fn optional(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(|| NONE.to_owned(), |v| significant(v, digits))
}

fn solids(i: &Inspection) -> String {
    let mut table = Table::new([
        ("solid", Align::Left),
        ("entity", Align::Right),
        ("volume/cm³", Align::Right),
        ("area/cm²", Align::Right),
    ]);
    for solid in &i.solids {
        let volume = solid.volume_mm3.map_or_else(|| NONE.to_owned(), |v| fixed(v / 1000.0, 3));
        let entity = solid.step_id.map_or_else(|| NONE.to_owned(), |id| format!("#{id}"));
        table.row([solid.name.clone(), entity, volume, fixed(solid.area_mm2 / 100.0, 2)]);
    }
    format!("\n{}", table.text(0))
}

fn faces(faces: &[FaceEntry]) -> String {
    let mut table = Table::new([
        ("face", Align::Right),
        ("kind", Align::Left),
        ("name", Align::Left),
        ("area/mm²", Align::Right),
        ("curvature/(1/mm)", Align::Right),
        ("smallest hollow/mm", Align::Right),
        ("largest arc/mm", Align::Right),
    ]);
    for face in faces {
        let range = face.curvature_per_mm.map_or_else(
            || NONE.to_owned(),
            |r| match (fixed(r.min, 6), fixed(r.max, 6)) {
                (low, high) if low == high => low,
                (low, high) => format!("{low} to {high}"),
            },
        );
        let arc = face.arc_radius_max_mm;
        table.row([
            face.index.to_string(),
            face.kind.to_owned(),
            face.name.clone(),
            fixed(face.area_mm2, 2),
            if face.exact { range } else { format!("{range} (estimated)") },
            optional(face.concave_radius_min_mm, 5),
            arc.map_or_else(|| "any".to_owned(), |v| significant(v, 5)),
        ]);
    }
    table.text(0)
}

fn pockets(what: &str, pockets: &[PocketEntry]) -> String {
    if pockets.is_empty() {
        return String::new();
    }
    let mut table = Table::new([
        (what, Align::Right),
        ("floor", Align::Right),
        ("depth/mm", Align::Right),
        ("corner radius/mm", Align::Right),
        ("depth/diameter", Align::Right),
        ("floor radius/mm", Align::Right),
        ("draft/°", Align::Right),
        ("plan/mm²", Align::Right),
        ("islands", Align::Right),
        ("open/mm", Align::Right),
    ]);
    for (number, pocket) in pockets.iter().enumerate() {
        table.row([
            (number + 1).to_string(),
            pocket.floor.map_or_else(|| "through".to_owned(), |f| f.to_string()),
            fixed(pocket.depth_mm, 3),
            optional(pocket.corner_radius_min_mm, 5),
            optional(pocket.depth_over_corner_diameter, 3),
            optional(pocket.floor_radius_min_mm, 5),
            fixed(pocket.draft_deg, 1),
            fixed(pocket.plan_area_mm2, 1),
            pocket.islands.to_string(),
            fixed(pocket.open_border_mm, 1),
        ]);
    }
    format!("\n{}", table.text(0))
}
