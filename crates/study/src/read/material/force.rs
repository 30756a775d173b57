//! `[kienzle]`, `[[mechanistic]]` and the ratios of the forces.

use super::super::range;
use super::origin::sourced;
use super::{Absent, interval, value};
use crate::text::Table;
use ::material::{Coefficients, ForceData, Kienzle, MechanisticSet, Quantity, Sourced, Validity};

pub(super) fn read<'a>(root: &Table<'a>, missing: &Absent<'a>) -> Option<ForceData> {
    let kienzle = missing.known(root, "kienzle", read_kienzle);
    let mechanistic = missing.known_list(root, "mechanistic", read_set);
    let ratio = |key| missing.known(root, key, read_ratio);
    let (radial, axial) = (ratio("radial_ratio"), ratio("axial_ratio"));
    Some(ForceData {
        kienzle: kienzle?,
        mechanistic: mechanistic?,
        radial_over_tangential: radial?,
        axial_over_tangential: axial?,
    })
}

fn read_ratio(table: Table<'_>) -> Option<Sourced<f64>> {
    value(table, "value", &range::RATIO, Quantity::Force)
}

fn read_kienzle(table: Table<'_>) -> Option<Sourced<Kienzle>> {
    let kc11 = table.need_number("kc11_n_mm2", &range::KC11, "1800.0");
    let mc = table.need_number("mc", &range::MC, "0.25");
    let rake_rad = table.number("rake_deg", &range::RAKE_DEG).map(f64::to_radians);
    let validity = read_validity(&table);
    let law = kc11.zip(mc).map(|(kc11_n_mm2, mc)| Kienzle { kc11_n_mm2, mc, rake_rad, validity });
    let read = sourced(&table, law, Quantity::Force);
    table.finish();
    read
}

fn read_set(table: Table<'_>) -> Option<Sourced<MechanisticSet>> {
    let ktc = table.need_number("ktc_n_mm2", &range::KTC, "700.0");
    let krc = table.need_number("krc_n_mm2", &range::KC, "200.0");
    let kte = table.need_number("kte_n_mm", &range::KE, "15.0");
    let kre = table.need_number("kre_n_mm", &range::KE, "12.0");
    let kac = table.number("kac_n_mm2", &range::KC);
    let kae = table.number("kae_n_mm", &range::KE);
    let axial = table.has("kac_n_mm2");
    let cutter = table.need_text("cutter", "carbide, 4 teeth, helix 30 deg");
    let conditions = table.need_text("conditions", "dry, slotting");
    let validity = read_validity(&table);
    let set = (|| {
        let coefficients = Coefficients {
            ktc_n_mm2: ktc?,
            krc_n_mm2: krc?,
            kac_n_mm2: if axial { kac? } else { 0.0 },
            kte_n_mm: kte?,
            kre_n_mm: kre?,
            kae_n_mm: if table.has("kae_n_mm") { kae? } else { 0.0 },
        };
        let (cutter, conditions) = (cutter?.value, conditions?.value);
        Some(MechanisticSet { coefficients, axial, cutter, conditions, validity })
    })();
    let read = sourced(&table, set, Quantity::Force);
    table.finish();
    read
}

/// The tested ranges of a law: `chip_mm = [0.01, 0.1]` and the like.
pub(super) fn read_validity(table: &Table<'_>) -> Validity {
    Validity {
        chip_mm: interval(table, "chip_mm", &range::CHIP),
        speed_m_min: interval(table, "speed_m_min", &range::VC_M_MIN),
        feed_per_tooth_mm: interval(table, "feed_per_tooth_mm", &range::FEED_PER_TOOTH),
        depth_mm: interval(table, "depth_mm", &range::DEPTH),
        width_mm: interval(table, "width_mm", &range::WIDTH),
        width_over_diameter: interval(table, "width_over_diameter", &range::SHARE),
    }
}
