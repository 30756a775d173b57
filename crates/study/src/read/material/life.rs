//! `[[life]]`: constants of tool life.

use super::super::range;
use super::force::read_validity;
use super::origin::sourced;
use crate::text::{Bound, Table};
use crate::words::EDGES;
use ::material::{LifeFactor, Quantity, Sourced, Taylor};

pub(super) fn read(table: Table<'_>) -> Option<Sourced<Taylor>> {
    let c = table.need_number("c_m_min", &range::TAYLOR_C, "400.0");
    let n = table.need_number("n", &range::TAYLOR_N, "0.25");
    let edge = table.need_choice("edge", &EDGES);
    let criterion = table.need_text("criterion", "flank wear 0.3 mm");
    let conditions = table.need_text("conditions", "end mill, flood");
    let feed = factor(&table, "feed_influence", &range::FEED_PER_TOOTH);
    let depth = factor(&table, "depth_influence", &range::DEPTH);
    let width = factor(&table, "width_influence", &range::WIDTH);
    let share = factor(&table, "width_over_diameter_influence", &range::SHARE);
    table.only_one("width_influence", "width_over_diameter_influence");
    let validity = read_validity(&table);
    let law = (|| {
        Some(Taylor {
            c_m_min: c?,
            n: n?,
            feed: feed?,
            depth: depth?,
            width: width?,
            width_over_diameter: share?,
            edge: edge?,
            criterion: criterion?.value,
            conditions: conditions?.value,
            validity,
        })
    })();
    let read = sourced(&table, law, Quantity::Life);
    table.finish();
    read
}

/// `{ reference = 0.1, exponent = 0.7 }`; `Some(None)` where it is left out.
fn factor(table: &Table<'_>, key: &'static str, bound: &Bound) -> Option<Option<LifeFactor>> {
    if !table.has(key) {
        return Some(None);
    }
    let inner = table.table(key)?;
    let reference = inner.need_number("reference", bound, "0.1");
    let exponent = inner.need_number("exponent", &range::EXPONENT, "0.5");
    inner.finish();
    Some(Some(LifeFactor { reference: reference?, exponent: exponent? }))
}
