//! Cutting force: published coefficients, Kienzle's law, and the six numbers for one cut.
//!
//! `dFt = (Ktc h + Kte) db`, `dFr = (Krc h + Kre) db`, `dFa = (Kac h + Kae) db` along the edge.

use units::{Interval, RangeCheck};

use crate::Material;
use crate::kienzle::Kienzle;
use crate::law::{CuttingLaw, PowerLaw};
use crate::sourced::{Known, Missing, Source, Sourced};
use crate::validity::{Conditions, Left, Validity};

/// Six coefficients of a mechanistic law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coefficients {
    /// Tangential, by chip area, N/mm².
    pub ktc_n_mm2: f64,
    /// Radial, by chip area, N/mm².
    pub krc_n_mm2: f64,
    /// Axial, by chip area, N/mm².
    pub kac_n_mm2: f64,
    /// Tangential, by edge length, N/mm.
    pub kte_n_mm: f64,
    /// Radial, by edge length, N/mm.
    pub kre_n_mm: f64,
    /// Axial, by edge length, N/mm.
    pub kae_n_mm: f64,
}

/// Coefficients of one published cutter and set of conditions.
#[derive(Debug, Clone, PartialEq)]
pub struct MechanisticSet {
    /// The coefficients; the axial ones are 0 where `axial` says that they are not published.
    pub coefficients: Coefficients,
    /// Whether the axial coefficients are published.
    pub axial: bool,
    /// The cutter they were found with: material, diameter, teeth, helix, rake.
    pub cutter: String,
    /// The cuts they were found in: speed, feed, depth, width, coolant.
    pub conditions: String,
    /// Range they were found over.
    pub validity: Validity,
}

/// What is known of the cutting force.
#[derive(Debug, Clone, PartialEq)]
pub struct ForceData {
    /// Kienzle's constants.
    pub kienzle: Known<Sourced<Kienzle>>,
    /// Published coefficients, the preferred set first.
    pub mechanistic: Known<Vec<Sourced<MechanisticSet>>>,
    /// Radial over tangential force, used where only the tangential law is known.
    pub radial_over_tangential: Known<Sourced<f64>>,
    /// Axial over tangential force, used where only the tangential law is known; for a helix of
    /// about 30°.
    pub axial_over_tangential: Known<Sourced<f64>>,
}

/// Where six coefficients come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ForceGround {
    /// A published mechanistic set, as it stands.
    Mechanistic,
    /// Kienzle's law, other directions by ratios.
    Kienzle,
}

/// The law of the force in one cut, with what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct ForceLaw {
    /// The law as it stands.
    pub law: CuttingLaw,
    /// Six coefficients in its place over the chips of the cut: the law itself where that is
    /// straight, else its lines by least squares.
    pub coefficients: Coefficients,
    /// Half-width of the 90 % interval of the force, relative; see [`Sourced::scatter`].
    pub scatter: f64,
    /// What they rest on.
    pub ground: ForceGround,
    /// Source of the coefficients or of Kienzle's constants.
    pub source: Source,
    /// Range of chip thickness that they hold for, mm.
    pub chip_mm: Option<Interval>,
    /// Sentences that name every range that the cut leaves, and every assumption.
    pub warnings: Vec<String>,
}

/// Thinnest chip that the line is fitted to, as a share of the thickest: thinner ones carry little
/// of the work. Derived: of a chip that grows like a sine, 1 % of the volume lies below 0.1.
const THINNEST_SHARE: f64 = 0.1;
/// How much a force outside its tested range is widened, as a power of how far it is outside.
/// Common practice, no source: a factor of 2 beyond the range adds a factor of 1.32.
const OUTSIDE_POWER: f64 = 0.4;

impl Material {
    /// The law of a cut whose thickest chip and other conditions are `cut`: the preferred published
    /// set where there is one, else Kienzle's law. Outside the tested range it is used as it stands,
    /// the scatter is widened, and a warning names the range.
    ///
    /// # Errors
    /// The reason why there is no law for this material, or no chip thickness to use it at.
    pub fn force_law(&self, cut: &Conditions) -> Known<ForceLaw> {
        match &self.force.mechanistic {
            Ok(sets) if !sets.is_empty() => Ok(from_set(&sets[0], cut)),
            _ => self.force_law_kienzle(cut),
        }
    }

    /// Kienzle's law, even where published coefficients exist.
    ///
    /// # Errors
    /// The reason why there is no law for this material, or no chip thickness to use it at.
    pub fn force_law_kienzle(&self, cut: &Conditions) -> Known<ForceLaw> {
        let kienzle = self.force.kienzle.as_ref().map_err(Missing::clone)?;
        let radial = self.force.radial_over_tangential.as_ref().map_err(Missing::clone)?;
        let chip_mm = cut
            .chip_mm
            .ok_or_else(|| Missing::because("Kienzle's law needs the chip thickness of the cut"))?;
        let chip_mm = chip_mm.positive("chip_mm").map_err(|e| Missing::because(e.to_string()))?;
        let over_mm = Interval::new(THINNEST_SHARE * chip_mm, chip_mm);
        let mut warnings = vec![format!(
            "radial force taken as {} of the tangential force ({})",
            radial.value, radial.source
        )];
        let axial = match &self.force.axial_over_tangential {
            Ok(ratio) => ratio.value,
            Err(missing) => {
                warnings.push(format!("axial force left out: {missing}"));
                0.0
            }
        };
        let left = kienzle.value.validity.left_by(cut);
        let scatter = widened(kienzle.scatter, &left);
        warnings.extend(left.iter().map(|l| format!("cutting force: {l}")));
        let power = PowerLaw::new(&kienzle.value, radial.value, axial);
        Ok(ForceLaw {
            law: CuttingLaw::Power(power),
            coefficients: power.line(over_mm),
            scatter,
            ground: ForceGround::Kienzle,
            source: kienzle.source.clone(),
            chip_mm: kienzle.value.validity.chip_mm,
            warnings,
        })
    }
}

fn from_set(set: &Sourced<MechanisticSet>, cut: &Conditions) -> ForceLaw {
    let left = set.value.validity.left_by(cut);
    let mut warnings: Vec<String> = left.iter().map(|l| format!("cutting force: {l}")).collect();
    if !set.value.axial {
        warnings.push("axial force left out: the source does not give it".to_owned());
    }
    ForceLaw {
        law: CuttingLaw::Line(set.value.coefficients),
        coefficients: set.value.coefficients,
        scatter: widened(set.scatter, &left),
        ground: ForceGround::Mechanistic,
        source: set.source.clone(),
        chip_mm: set.value.validity.chip_mm,
        warnings,
    }
}

fn widened(scatter: f64, left: &[Left]) -> f64 {
    let far: f64 = left.iter().map(Left::distance).sum();
    (scatter.ln_1p() + OUTSIDE_POWER * far).exp_m1()
}
