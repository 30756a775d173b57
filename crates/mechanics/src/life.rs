//! How long an edge lasts in the cut, and how many cutters a part takes.
//!
//! Extended Taylor: `T = (C / v)^(1/n) (fz0 / fz)^p (ap0 / ap)^q (ae0 / ae)^u`, T in min of cutting
//! time, v in m/min at the contact, lengths in mm (F. W. Taylor, On the art of cutting metals,
//! Trans. ASME 28 (1907); the extension by feed and depths is common to all handbooks of speeds).
//!
//! It holds inside the range it was tested over. Outside the interval grows with the distance, and
//! a warning names the range.

use material::{Conditions, EdgeEnd, EdgeMaterial, Known, LifeFactor, Material, Missing};
use material::{Interval, Source, Sourced, Taylor};

/// Where the tested criterion of ISO 8688-2 stands.
///
/// ISO 8688-2:1989, Tool life testing in milling, part 2: end milling. Its scope: high-speed-steel
/// end mills in steel and cast iron (read in the catalogue of the standard). Using its limits for
/// carbide, or in other metals, is custom and not the standard.
pub mod iso_8688_2 {
    /// Even flank wear, averaged over the teeth, mm (read in a file that quotes the standard).
    pub const EVEN_FLANK_WEAR_MM: f64 = 0.3;
    /// Flank wear at one place of any tooth, mm (from memory).
    pub const LOCAL_FLANK_WEAR_MM: f64 = 0.5;
    /// The criterion in words.
    pub const CRITERION: &str = "flank wear 0.3 mm over the teeth or 0.5 mm at one place \
        (ISO 8688-2, written for high-speed steel in steel and cast iron)";
}

/// What an edge does, as far as its life depends on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeUse {
    /// Cutting speed where the edge touches, m/min; see [`effective_speed_m_min`].
    pub speed_m_min: f64,
    /// Feed per tooth, mm.
    pub feed_per_tooth_mm: f64,
    /// Depth of cut along the axis, mm.
    pub depth_mm: Option<f64>,
    /// Width of cut across the axis, mm.
    pub width_mm: Option<f64>,
    /// Largest cutting diameter, mm.
    pub diameter_mm: Option<f64>,
}

/// Life of an edge, with what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Life {
    /// Cutting time until the criterion is met, min.
    pub minutes: f64,
    /// The 90 % interval of the cutting time, min.
    pub interval_min: Interval,
    /// The criterion of the test that the constants come from.
    pub criterion: String,
    /// What the edge of the test was made of.
    pub edge: EdgeMaterial,
    /// What usually ends an edge in this material, the most usual first.
    pub ends: Vec<EdgeEnd>,
    /// Whether something else usually ends the edge before the criterion does: the figure is then
    /// an upper bound.
    pub upper_bound: bool,
    /// Where the constants come from.
    pub source: Source,
    /// Sentences that name every range that is left, and every assumption.
    pub warnings: Vec<String>,
}

/// Relative uncertainty of an exponent outside the range it was found over, as the half-width of
/// its 90 % interval. Common practice, no source: exponents of like tests differ by a third.
const EXPONENT_SCATTER: f64 = 0.3;

/// Cutting speed of a point of the edge at a distance from the axis, m/min: `v = 2 π r n`.
///
/// # Errors
/// The point lies on the axis: a ball that touches at its tip does not cut there, it pushes.
/// Or one of the two is not a number that can be.
pub fn effective_speed_m_min(contact_radius_mm: f64, rev_s: f64) -> Known<f64> {
    if contact_radius_mm == 0.0 {
        return Err(Missing::because(
            "the edge touches at its tip, on the axis, where the cutting speed is 0: it pushes \
             and does not cut, and no law of tool life holds; tilt the axis",
        ));
    }
    let speed = 2.0 * std::f64::consts::PI * contact_radius_mm * rev_s * 60.0 / 1000.0;
    if contact_radius_mm > 0.0 && rev_s > 0.0 && speed.is_finite() {
        return Ok(speed);
    }
    Err(Missing::because("a contact radius and a spindle speed above 0 are needed"))
}

/// Life of an edge in a material, by its preferred constants, or by those for one kind of edge.
///
/// # Errors
/// The reason why there is no figure: no constants for the material or the edge, a speed of 0, or
/// values that cannot be.
pub fn edge_life(material: &Material, edge: Option<EdgeMaterial>, cut: &EdgeUse) -> Known<Life> {
    check(cut)?;
    let laws = material.life.as_ref().map_err(Missing::clone)?;
    let law = laws.iter().find(|l| edge.is_none_or(|e| l.value.edge == e));
    let law = law.ok_or_else(|| {
        let edge = edge.map_or("any edge", EdgeMaterial::words);
        Missing::because(format!("{} has no constants of tool life for {edge}", material.id))
    })?;
    let minutes = law.value.minutes(cut)?;
    let conditions = conditions(cut);
    let mut warnings = Vec::new();
    let ends = &material.edge_ends.value;
    let upper_bound = ends.before_flank_wear();
    if upper_bound {
        let words: Vec<&str> = ends.ends.iter().map(|e| e.words()).collect();
        warnings.push(format!(
            "{} usually ends an edge before its wear limit ({}): the figure is an upper bound",
            words.join(", "),
            material.name
        ));
    }
    if let Some(limit) = ends.built_up_below_m_min.filter(|limit| cut.speed_m_min < *limit) {
        warnings.push(format!(
            "below about {limit} m/min a built-up edge is usual in {}",
            material.name
        ));
    }
    let left = law.value.validity.left_by(&conditions);
    warnings.extend(left.iter().map(|l| format!("tool life: {l}; the interval is widened")));
    warnings.extend(law.value.assumptions(cut));
    if !law.note.is_empty() {
        warnings.push(format!("of the constants: {}", law.note));
    }
    Ok(Life {
        minutes,
        interval_min: material::sourced::scattered(minutes, widened(law, &conditions)),
        criterion: law.value.criterion.clone(),
        edge: law.value.edge,
        ends: ends.ends.clone(),
        upper_bound,
        source: law.source.clone(),
        warnings,
    })
}

fn check(cut: &EdgeUse) -> Known<()> {
    if cut.speed_m_min == 0.0 {
        return effective_speed_m_min(0.0, 1.0).map(drop);
    }
    let optional = [cut.depth_mm, cut.width_mm, cut.diameter_mm];
    let given = [cut.speed_m_min, cut.feed_per_tooth_mm];
    let sound = |value: &f64| *value > 0.0 && value.is_finite();
    if !given.iter().chain(optional.iter().flatten()).all(sound) {
        return Err(Missing::because("speed, feed, depth, width and diameter have to be above 0"));
    }
    match (cut.width_mm, cut.diameter_mm) {
        (Some(width), Some(diameter)) if width > diameter => Err(Missing::because(format!(
            "the width of cut {width} mm is larger than the cutter, {diameter} mm"
        ))),
        _ => Ok(()),
    }
}

fn share(cut: &EdgeUse) -> Option<f64> {
    Some(cut.width_mm? / cut.diameter_mm?)
}

fn conditions(cut: &EdgeUse) -> Conditions {
    Conditions {
        chip_mm: None,
        speed_m_min: Some(cut.speed_m_min),
        feed_per_tooth_mm: Some(cut.feed_per_tooth_mm),
        depth_mm: cut.depth_mm,
        width_mm: cut.width_mm,
        width_over_diameter: share(cut),
    }
}

/// Scatter of the life: that of the law, and where a tested range is left that of its exponent over
/// the distance.
fn widened(law: &Sourced<Taylor>, conditions: &Conditions) -> f64 {
    let taylor = &law.value;
    let exponent = |factor: Option<LifeFactor>| factor.map_or(0.0, |f| f.exponent.abs());
    let far: f64 = taylor
        .validity
        .left_by(conditions)
        .iter()
        .map(|left| {
            let exponent = match left.quantity {
                "cutting speed" => 1.0 / taylor.n,
                "feed per tooth" => exponent(taylor.feed),
                "depth of cut" => exponent(taylor.depth),
                "width of cut" => exponent(taylor.width),
                _ => exponent(taylor.width_over_diameter),
            };
            EXPONENT_SCATTER * exponent * left.distance()
        })
        .sum();
    (law.scatter.ln_1p() + far).exp_m1()
}

/// What the extended law computes; for [`Taylor`].
pub trait TaylorLife {
    /// Cutting time until the criterion is met, min. An influence whose quantity is not given
    /// counts at its reference.
    ///
    /// # Errors
    /// The result is not a finite number.
    fn minutes(&self, cut: &EdgeUse) -> Known<f64>;
    /// What the law leaves out or takes at its reference, as sentences.
    fn assumptions(&self, cut: &EdgeUse) -> Vec<String>;
}

impl TaylorLife for Taylor {
    fn minutes(&self, cut: &EdgeUse) -> Known<f64> {
        let influence = |factor: Option<LifeFactor>, value: Option<f64>| match (factor, value) {
            (Some(factor), Some(value)) => (factor.reference / value).powf(factor.exponent),
            _ => 1.0,
        };
        let minutes = (self.c_m_min / cut.speed_m_min).powf(1.0 / self.n)
            * influence(self.feed, Some(cut.feed_per_tooth_mm))
            * influence(self.depth, cut.depth_mm)
            * influence(self.width, cut.width_mm)
            * influence(self.width_over_diameter, share(cut));
        if minutes > 0.0 && minutes.is_finite() {
            return Ok(minutes);
        }
        Err(Missing::because("the law of tool life gives no finite figure so far from its test"))
    }

    fn assumptions(&self, cut: &EdgeUse) -> Vec<String> {
        let width = match self.width_over_diameter {
            Some(factor) => ("width over diameter", "", Some(factor), share(cut)),
            None => ("width of cut", " mm", self.width, cut.width_mm),
        };
        let rows = [
            ("feed per tooth", " mm", self.feed, Some(cut.feed_per_tooth_mm)),
            ("depth of cut", " mm", self.depth, cut.depth_mm),
            width,
        ];
        let mut said = Vec::new();
        for (quantity, unit, factor, value) in rows {
            match (factor, value) {
                (Some(f), None) => {
                    said.push(format!("{quantity} is taken as {}{unit}: not given", f.reference));
                }
                (None, Some(_)) => said.push(format!("the constants do not count the {quantity}")),
                _ => {}
            }
        }
        said.push(format!("tested as: {}, {}", self.edge.words(), self.conditions));
        said
    }
}

/// Cutters that a part takes: cutting time over the life of all uses of a cutter.
///
/// `uses` is how often a cutter is used until it is scrap: edges of an insert, or 1 and the
/// regrinds. The figure is a mean and not a whole number.
///
/// # Errors
/// A time or number that cannot be.
pub fn cutters_per_part(cutting_min: f64, life_min: f64, uses: f64) -> Known<f64> {
    let cutters = cutting_min / (life_min * uses);
    let sound = cutting_min >= 0.0 && life_min > 0.0 && uses >= 1.0 && cutters.is_finite();
    sound.then_some(cutters).ok_or_else(|| {
        Missing::because("a cutting time from 0, a life above 0 and at least one use are needed")
    })
}

/// Whole parts that an edge finishes before it is changed between two parts; 0 where it does not
/// last for one.
///
/// # Errors
/// A time that cannot be.
pub fn whole_parts_per_edge(cutting_min: f64, life_min: f64) -> Known<f64> {
    if cutting_min > 0.0 && life_min > 0.0 && (life_min / cutting_min).is_finite() {
        return Ok((life_min / cutting_min).floor());
    }
    Err(Missing::because("a cutting time and a life above 0 are needed"))
}

#[cfg(test)]
mod tests;
