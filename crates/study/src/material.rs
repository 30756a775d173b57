//! Materials by their id: the name, the ISO 513 group and the density.
//!
//! Designations after EN 573 (aluminium) and EN 10027 (steel). Densities are rounded handbook
//! values, from memory, good to about 1 %.

use crate::text::nearest;

/// A work material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Id used in files.
    pub id: &'static str,
    /// Name for people.
    pub name: &'static str,
    /// Letter of the application group after ISO 513.
    pub group: Group,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
}

/// Application group after ISO 513.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// Steel.
    P,
    /// Stainless steel.
    M,
    /// Cast iron.
    K,
    /// Non-ferrous metal.
    N,
    /// Heat-resistant alloy and titanium.
    S,
    /// Hard material.
    H,
}

const fn material(
    id: &'static str,
    name: &'static str,
    group: Group,
    density_kg_m3: f64,
) -> Material {
    Material { id, name, group, density_kg_m3 }
}

/// The materials that are known, by id.
pub const MATERIALS: [Material; 18] = [
    material("en-aw-2024-t351", "Aluminium EN AW-2024 T351", Group::N, 2780.0),
    material("en-aw-5083-h111", "Aluminium EN AW-5083 H111", Group::N, 2660.0),
    material("en-aw-6061-t6", "Aluminium EN AW-6061 T6", Group::N, 2700.0),
    material("en-aw-6082-t6", "Aluminium EN AW-6082 T6", Group::N, 2700.0),
    material("en-aw-7050-t7451", "Aluminium EN AW-7050 T7451", Group::N, 2830.0),
    material("en-aw-7075-t651", "Aluminium EN AW-7075 T651", Group::N, 2810.0),
    material("cw614n", "Brass CW614N", Group::N, 8470.0),
    material("c45", "Steel C45 (1.0503)", Group::P, 7850.0),
    material("16mncr5", "Steel 16MnCr5 (1.7131)", Group::P, 7850.0),
    material("42crmo4", "Steel 42CrMo4 (1.7225), quenched and tempered", Group::P, 7850.0),
    material("40crmnnimo8-6-4", "Mould steel 40CrMnNiMo8-6-4 (1.2738)", Group::P, 7850.0),
    material("x5crni18-10", "Stainless steel X5CrNi18-10 (1.4301)", Group::M, 7900.0),
    material("x2crnimo17-12-2", "Stainless steel X2CrNiMo17-12-2 (1.4404)", Group::M, 8000.0),
    material("en-gjl-250", "Cast iron EN-GJL-250", Group::K, 7200.0),
    material("en-gjs-400-15", "Cast iron EN-GJS-400-15", Group::K, 7100.0),
    material("ti-6al-4v", "Titanium Ti-6Al-4V", Group::S, 4430.0),
    material("nicr19nbmo", "Nickel alloy NiCr19NbMo (2.4668)", Group::S, 8200.0),
    material("x37crmov5-1-52hrc", "Tool steel X37CrMoV5-1 (1.2343), 52 HRC", Group::H, 7800.0),
];

/// The material of an id, or the id that was probably meant.
pub fn find(id: &str) -> Result<Material, Option<&'static str>> {
    let found = MATERIALS.iter().find(|m| m.id.eq_ignore_ascii_case(id));
    found.copied().ok_or_else(|| nearest(id, MATERIALS.iter().map(|m| m.id)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_unique_and_a_slip_is_recognised() {
        for (i, m) in MATERIALS.iter().enumerate() {
            assert!(MATERIALS[..i].iter().all(|other| other.id != m.id), "{} twice", m.id);
            assert!((1700.0..9000.0).contains(&m.density_kg_m3));
        }
        assert_eq!(find("EN-AW-7075-T651").unwrap().group, Group::N);
        assert_eq!(find("en-aw-7075").unwrap_err(), Some("en-aw-7075-t651"));
    }
}
