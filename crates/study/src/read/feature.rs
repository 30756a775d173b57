//! `[[feature]]`.

use super::range;
use crate::model::feature::{Feature, FeatureKind, Finish, Select};
use crate::text::{Place, Table};
use crate::words::FEATURE_KINDS;
use geom::Vec3;
use units::convert::um_to_mm;

/// All features, and their names in the same order; names also of those that have a fault.
pub(super) fn read_all(root: &Table<'_>) -> (Option<Vec<Feature>>, Vec<String>) {
    let mut names: Vec<String> = Vec::new();
    let mut features = Vec::new();
    for mut table in root.tables("feature") {
        let name = table.need_text("name", "crown");
        if let Some(name) = &name {
            table.call(&name.value);
            table.unique("feature", name, &mut names);
        }
        features.push(read(table, name.map(|n| n.value)));
    }
    (features.into_iter().collect(), names)
}

fn read(table: Table<'_>, name: Option<String>) -> Option<Feature> {
    let kind = table.need_choice("kind", &FEATURE_KINDS);
    let select = read_select(&table, kind);
    table.only_one("cusp_um", "ra_um");
    let cusp = table.number("cusp_um", &range::CUSP_UM);
    let cusp = cusp.map(|um| Finish::Cusp { limit_mm: um_to_mm(um) });
    let ra = table.number("ra_um", &range::RA_UM);
    let ra = ra.map(|um| Finish::Ra { limit_mm: um_to_mm(um) });
    let tolerance_um = table.number("tolerance_um", &range::TOLERANCE_UM);
    let place = table.place();
    table.finish();
    let (select, select_place) = select?;
    Some(Feature {
        name: name?,
        kind: kind?,
        select,
        select_place,
        finish: cusp.or(ra),
        tolerance_mm: tolerance_um.map(um_to_mm),
        place,
    })
}

fn read_select(table: &Table<'_>, kind: Option<FeatureKind>) -> Option<(Select, Place)> {
    let Some(select) = table.table("select") else {
        if kind == Some(FeatureKind::Outside) && !table.has("select") {
            return Some((Select::All, table.place()));
        }
        if !table.has("select") {
            table.missing(
                "select",
                "which faces are meant",
                "add `select = { faces = [12, 13] }` with the numbers that `trialcut inspect` \
                 prints, or `select = { near_mm = [x, y, z] }`",
            );
        }
        return None;
    };
    select.only_one("near_mm", "faces");
    let near = select.numbers::<3>("near_mm", &range::COORDINATE);
    let faces = select.indices("faces");
    let place = table.place_of(&select.span());
    if !select.has("near_mm") && !select.has("faces") {
        select.missing("faces", "near_mm or faces", "add one of them");
    }
    select.finish();
    let near = near.map(|p| Select::Near { point_mm: Vec3::from_array(p) });
    Some((near.or(faces.map(Select::Faces))?, place))
}
