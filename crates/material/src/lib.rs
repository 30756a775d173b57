//! Work materials: what is known of them, from where, over which range and how far it scatters.
//!
//! A [`Material`] is plain data; the files it is read from belong to another crate. Nothing is
//! guessed: what is not known is a [`Missing`] with its reason, and every value that is known
//! carries its [`Source`], its scatter and, where a law is meant, the range it was found over.
//!
//! Units stand in the names. Chip thickness is in mm, cutting speed in m/min as in every published
//! law, force per area in N/mm², force per edge length in N/mm.
//!
//! Where to start reading: [`sourced`] (value, source, scatter), [`force`] (coefficients for a chip
//! thickness), [`taylor`] (constants of tool life).

pub mod caution;
pub mod chip;
pub mod edge;
pub mod force;
pub mod group;
pub mod hardness;
pub mod kienzle;
pub mod law;
pub mod sourced;
pub mod taylor;
pub mod validity;

pub use caution::{Caution, Hazard};
pub use chip::ChipHabits;
pub use edge::{EdgeEnd, EdgeEnds};
pub use force::{Coefficients, ForceData, ForceGround, ForceLaw, MechanisticSet};
pub use group::IsoGroup;
pub use hardness::{Hardness, HardnessScale};
pub use kienzle::{Kienzle, Linear, Linearisation};
pub use law::{CuttingLaw, PowerLaw};
pub use sourced::{Certainty, Known, Missing, Quantity, Source, Sourced};
pub use taylor::{EdgeMaterial, LifeFactor, Taylor};
pub use units::Interval;
pub use validity::{Conditions, Validity};

/// A work material in one state of supply.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Id used in files: `en-aw-7075-t651`.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Other ids that mean the same: `7075-t6`, `3.4365`.
    pub aliases: Vec<String>,
    /// Application group after ISO 513.
    pub iso_group: IsoGroup,
    /// State of supply in words: heat treatment, hardness, form.
    pub state: String,
    /// Density, kg/m³.
    pub density_kg_m3: Sourced<f64>,
    /// Hardness of that state.
    pub hardness: Known<Sourced<Hardness>>,
    /// Laws of the cutting force.
    pub force: ForceData,
    /// Habits of the chip: bulk, usual and least thickness.
    pub chip: ChipHabits,
    /// Usual cutting speeds of coated carbide, m/min.
    pub coated_speed_m_min: Known<Sourced<Interval>>,
    /// Usual cutting speeds of bright (uncoated) carbide, m/min.
    pub bright_speed_m_min: Known<Sourced<Interval>>,
    /// Constants of tool life, the preferred first; empty never stands for "not known".
    pub life: Known<Vec<Sourced<Taylor>>>,
    /// What usually ends an edge in this material.
    pub edge_ends: Sourced<EdgeEnds>,
    /// What can burn, burst or harm.
    pub cautions: Vec<Caution>,
}

impl Material {
    /// Whether `name` is the id or an alias; letters count the same in both cases.
    pub fn is_called(&self, name: &str) -> bool {
        self.names().any(|known| known.eq_ignore_ascii_case(name))
    }

    /// The id, then the aliases.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(self.id.as_str()).chain(self.aliases.iter().map(String::as_str))
    }
}
