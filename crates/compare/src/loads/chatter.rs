//! How deep the operation may cut before it chatters.
//!
//! A frequency response measured at the tip where the study names one, else modes estimated from the
//! stick-out: the tip's stiffness by the beam, its frequency by Rayleigh's quotient, alike along and
//! across the feed. Limit, margin and nearest good speed hold at the study's confidence: they are
//! quantiles over draws of frequency, stiffness, damping and cutting force. A shaped cutter is taken by
//! its height in the cut; its radial force acts across the axis by sin κ.

use super::Engaged;
use super::stiffness::{GROUND, Stiffness};
use crate::job::Prepared;
use crate::scene::Scene;
use material::ForceLaw;
use mechanics::deflection::CARBIDE_T_MM3;
use stability::advice::{MODELLED_WAVES, Operation, Standing, standing};
use stability::cut::Immersion;
use stability::limit::{Method, limits};
use stability::sampled::{Sampled, Scatter};
use stability::{Axis, Cut, Mode, Structure, fit};
use std::f64::consts::PI;
use study::TipResponse;
use study::outcome::Chatter;
use units::Interval;

/// Damping ratio of a cutter in its holder: best, and the factor of its 90 % range. Common practice,
/// no source: 0.01 to 0.04.
const DAMPING: (f64, f64) = (0.02, 2.0);
/// Factor of the 90 % range of the estimated frequency. Common practice, no source.
const FREQUENCY_FACTOR: f64 = 1.25;
/// Factors of the 90 % ranges of a measured frequency, damping and stiffness: the spindle was measured
/// at rest. Common practice, no source.
const MEASURED: [f64; 3] = [1.02, 1.25, 1.1];
/// Draws.
const DRAWS: usize = 48;
/// Speeds of the plot.
const SPEEDS: usize = 72;
/// The plot, and the search for a better speed, run from this share of the speed on.
const FROM_SHARE: f64 = 0.5;
/// Depth beyond which a cut counts as free of chatter, mm.
const DEEPEST_MM: f64 = 200.0;
/// Standard deviations to the end of a 90 % range.
const END_Z: f64 = 1.644_853_627;

/// The limit of the operation at the place that cuts highest along the axis.
///
/// # Errors
/// What is not known, or why no limit was found.
pub(super) fn of(
    scene: &Scene<'_>,
    prepared: &Prepared<'_>,
    engaged: &Engaged,
    law: &ForceLaw,
    stiffness: Result<&Stiffness, &str>,
) -> Result<Chatter, String> {
    let place = Place::of(prepared, engaged, law)
        .ok_or("the engagement of the operation has no angle in the cut")?;
    let tip = match Tip::measured(&prepared.cutter.response, law.scatter)? {
        Some(tip) => tip,
        None => Tip::estimated(stiffness?, place.z_mm, law.scatter)?,
    };
    let rpm = 60.0 * prepared.rev_s;
    let spindle = &scene.study.machine.spindle;
    let cutter = prepared.cutter.max_rev_s.map(|v| 60.0 * v);
    let fastest = [spindle.max_rpm, cutter].into_iter().flatten().fold(f64::INFINITY, f64::min);
    let last = if fastest.is_finite() { fastest.max(rpm) } else { 1.5 * rpm };
    let first = (FROM_SHARE * rpm).max(spindle.min_rpm).min(rpm);
    let operation = Operation {
        depth_mm: place.depth_mm,
        speed_rpm: rpm,
        allowed_rpm: Interval::new(first, last),
        probability: scene.study.confidence,
        deepest_mm: DEEPEST_MM,
    };
    // both ways round where the axes differ: the feed turns with the path
    let mut least: Option<(Standing, &Structure, Sampled)> = None;
    for structure in &tip.structures {
        let sampled = Sampled::new(structure, &place.cut, &tip.scatter, DRAWS);
        let sampled = sampled.map_err(|e| e.to_string())?;
        let found = standing(structure, &place.cut, &sampled, &operation);
        let found = found.map_err(|e| e.to_string())?;
        let depth = |s: &Standing| s.depth_mm.unwrap_or(DEEPEST_MM);
        if least.as_ref().is_none_or(|(s, ..)| depth(&found) < depth(s)) {
            least = Some((found, structure, sampled));
        }
    }
    let (found, structure, sampled) = least.ok_or("nothing gives way")?;
    let limit = found.depth_mm.unwrap_or(DEEPEST_MM);
    let speed = |i: usize| first + (last - first) * i as f64 / (SPEEDS - 1) as f64;
    let speeds: Vec<f64> = (0..SPEEDS).map(speed).collect();
    let lobes = lobes(structure, &place.cut, &speeds);
    // waves between two teeth grow as the speed falls
    let modelled_from_rpm = found.waves.map(|w| rpm * w / MODELLED_WAVES);
    Ok(Chatter {
        ap_limit_mm: Some(limit),
        ap_mm: Some(place.depth_mm),
        margin: Some(limit / place.depth_mm),
        better: found.better.map(|b| (b.speed_rpm, b.depth_mm)),
        lobes_band: band(structure, &place.cut, &sampled, &lobes, scene.study.confidence),
        lobes,
        modelled_from_rpm,
        rests_on: tip.rests_on,
    })
}

/// Best estimate of the stable depth over speed.
fn lobes(structure: &Structure, cut: &Cut, speeds: &[f64]) -> Vec<[f64; 2]> {
    let found = limits(structure, cut, speeds, Method::SemiDiscretisation, DEEPEST_MM);
    let depth = |l: Option<stability::Limit>| l.map_or(DEEPEST_MM, |l| l.depth_mm);
    let depths = found.unwrap_or_default().into_iter().map(depth);
    speeds.iter().zip(depths).map(|(n, a)| [*n, a]).collect()
}

/// Between what the stable depth lies over speed: from what holds with a probability to what would with
/// the rest of it. Drawn by the mean matrix, which many draws at many speeds can afford, and carried to
/// the best estimate by the ratio of both methods at each speed.
fn band(
    structure: &Structure,
    cut: &Cut,
    sampled: &Sampled,
    lobes: &[[f64; 2]],
    probability: f64,
) -> Vec<[f64; 3]> {
    let speeds: Vec<f64> = lobes.iter().map(|l| l[0]).collect();
    let mean = Method::ZerothOrder;
    let depths = |p: f64| sampled.depths_mm(&speeds, p, mean, DEEPEST_MM).unwrap_or_default();
    let (low, high) = (depths(probability), depths(1.0 - probability));
    let by_mean = limits(structure, cut, &speeds, mean, DEEPEST_MM).unwrap_or_default();
    let ends = low.into_iter().zip(high).zip(by_mean);
    lobes
        .iter()
        .zip(ends)
        .map(|([speed, best], ((low, high), by_mean))| {
            let ratio = by_mean.map_or(1.0, |l| best / l.depth_mm);
            let carried = |d: Option<f64>| d.map_or(DEEPEST_MM, |d| (d * ratio).min(DEEPEST_MM));
            let (low, high) = (carried(low), carried(high));
            [*speed, low.min(*best), high.max(*best)]
        })
        .collect()
}

/// The cut at the place that cuts highest along the axis.
struct Place {
    cut: Cut,
    depth_mm: f64,
    /// Mean height of what cuts over the tip, mm.
    z_mm: f64,
}

impl Place {
    fn of(prepared: &Prepared<'_>, engaged: &Engaged, law: &ForceLaw) -> Option<Self> {
        let height = |s: &super::engaged::Station| -> f64 {
            s.slices.iter().map(|p| p.width_mm * p.kappa_rad.sin()).sum()
        };
        let deepest = engaged.stations.iter().max_by(|a, b| height(a).total_cmp(&height(b)))?;
        let slices = &deepest.slices;
        let width: f64 = slices.iter().map(|s| s.width_mm).sum();
        let mean = |f: &dyn Fn(&mechanics::engagement::Slice) -> f64| -> f64 {
            slices.iter().map(|s| s.width_mm * f(s)).sum::<f64>() / width
        };
        let entry_rad = mean(&|s| s.entry_rad).clamp(0.0, PI);
        let exit_rad = mean(&|s| s.exit_rad).clamp(0.0, PI);
        let kr = law.coefficients.krc_n_mm2 / law.coefficients.ktc_n_mm2;
        let cut = Cut::new(
            prepared.cutter.teeth.max(1),
            law.coefficients.ktc_n_mm2,
            kr * mean(&|s| s.kappa_rad.sin()),
            Immersion { entry_rad, exit_rad },
        );
        Some(Self { cut: cut.ok()?, depth_mm: height(deepest), z_mm: mean(&|s| s.z_mm) })
    }
}

/// How the tip gives way, how far that is off, and what it rests on.
struct Tip {
    structures: Vec<Structure>,
    scatter: Scatter,
    rests_on: String,
}

/// Standard deviation of the logarithm of a value whose 90 % range ends at a factor.
fn deviation(factor: f64) -> f64 {
    factor.ln() / END_Z
}

impl Tip {
    fn estimated(stiffness: &Stiffness, z_mm: f64, force_scatter: f64) -> Result<Self, String> {
        let at = |beam: &mechanics::deflection::Beam| 1.0 / beam.compliance_mm_n(z_mm, z_mm);
        let (frequency_hz, best) = (stiffness.best.natural_hz(CARBIDE_T_MM3), at(&stiffness.best));
        let mode = Mode::new(frequency_hz, DAMPING.0, best).map_err(|e| e.to_string())?;
        Ok(Self {
            structures: vec![Structure { x: Axis::mode(mode), y: Axis::mode(mode) }],
            scatter: Scatter {
                frequency: deviation(FREQUENCY_FACTOR),
                damping: deviation(DAMPING.1),
                stiffness: deviation((at(&stiffness.stiff) / at(&stiffness.soft)).sqrt()),
                force: deviation(1.0 + force_scatter),
                axes_alike: true,
            },
            rests_on: format!(
                "modes estimated from the stick-out, {frequency_hz:.0} Hz, {:.1} N/µm, damping {}: \
                 {GROUND}; a frequency response measured at the tip (frf_x, frf_y) replaces the estimate",
                1e-3 * best,
                DAMPING.0
            ),
        })
    }

    /// From the responses that the study names; `None` where it names none.
    fn measured(response: &TipResponse, force_scatter: f64) -> Result<Option<Self>, String> {
        let (x, y) = (response.x.as_ref(), response.y.as_ref());
        let Some(one) = x.or(y) else { return Ok(None) };
        let fitted = |m: &study::MeasuredTip| {
            let found = fit::modes(&m.response).map_err(|e| format!("{}: {e}", m.file))?;
            Ok::<_, String>((Axis::Fitted(found.clone()), found))
        };
        let (x_axis, x_fit) = fitted(x.unwrap_or(one))?;
        let (y_axis, y_fit) = fitted(y.unwrap_or(one))?;
        let mut structures = vec![Structure { x: x_axis.clone(), y: y_axis.clone() }];
        let alike = x.is_none() || y.is_none();
        if !alike {
            structures.push(Structure { x: y_axis, y: x_axis });
        }
        let misfit = x_fit.misfit().max(y_fit.misfit());
        let modes: Vec<String> =
            x_fit.modes().iter().map(|m| format!("{:.0}", m.frequency_hz)).collect();
        let which = match (x, y) {
            (Some(x), Some(y)) => format!("{} and {}, the worse way round", x.file, y.file),
            _ => format!("{}, taken for both axes", one.file),
        };
        Ok(Some(Self {
            structures,
            scatter: Scatter {
                frequency: deviation(MEASURED[0]),
                damping: deviation(MEASURED[1]),
                stiffness: deviation(MEASURED[2]),
                force: deviation(1.0 + force_scatter),
                axes_alike: alike,
            },
            rests_on: format!(
                "frequency response measured at the tip: {which}; modes at {} Hz leave {:.1} % of it \
                 unexplained; ranges of 2 % in frequency, 25 % in damping, 10 % in stiffness for a spindle \
                 at rest (common practice, no source)",
                modes.join(", "),
                100.0 * misfit
            ),
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use study::MeasuredTip;

    /// One mode as a table of Hz and m/N.
    fn tip(file: &str, hz: f64, stiffness_n_m: f64) -> MeasuredTip {
        let row = |i: u32| {
            let at = 300.0 + 5.0 * f64::from(i);
            let ratio = at / hz;
            let (re, im) = (1.0 - ratio * ratio, 0.06 * ratio);
            let size = stiffness_n_m * (re * re + im * im);
            format!("{at},{:e},{:e}\n", re / size, -im / size)
        };
        let table: String = (0..500).map(row).collect();
        let response = stability::frf::read(table.as_bytes(), file).unwrap();
        MeasuredTip { file: file.to_owned(), response }
    }

    #[test]
    fn a_measured_tip_is_named_and_narrower_than_an_estimate() {
        let response = TipResponse { x: Some(tip("tip-x.csv", 1500.0, 4e6)), y: None };
        let found = Tip::measured(&response, 0.3).unwrap().unwrap();
        assert!(found.rests_on.contains("tip-x.csv, taken for both axes"), "{}", found.rests_on);
        assert!(found.scatter.frequency < 0.2 * deviation(FREQUENCY_FACTOR));
        assert!(found.structures.len() == 1 && found.scatter.axes_alike);
        let mode = found.structures[0].x.modes().unwrap()[0];
        assert!((mode.frequency_hz / 1500.0 - 1.0).abs() < 1e-3, "{mode:?}");
        assert!((mode.stiffness_n_mm / 4000.0 - 1.0).abs() < 1e-2, "{mode:?}");
        // axes that differ are looked at both ways round
        let both = TipResponse { y: Some(tip("tip-y.csv", 1100.0, 9e6)), ..response };
        let found = Tip::measured(&both, 0.3).unwrap().unwrap();
        assert_eq!(found.structures.len(), 2);
        assert!(found.structures[0].x == found.structures[1].y);
        assert!(Tip::measured(&TipResponse::default(), 0.3).unwrap().is_none());
    }

    #[test]
    fn the_line_lies_in_its_band() {
        // low immersion, where both methods differ most
        let mode = Mode::new(922.0, 0.011, 1340.0).unwrap();
        let structure = Structure { x: Axis::mode(mode), y: Axis::mode(mode) };
        let immersion = Immersion { entry_rad: 2.7, exit_rad: PI };
        let cut = Cut::new(2, 600.0, 0.33, immersion).unwrap();
        let scatter = Scatter {
            frequency: 0.02,
            damping: 0.1,
            stiffness: 0.05,
            force: 0.1,
            axes_alike: true,
        };
        let sampled = Sampled::new(&structure, &cut, &scatter, 16).unwrap();
        let speeds: Vec<f64> = (0..24).map(|i| 6000.0 + 800.0 * f64::from(i)).collect();
        let lobes = lobes(&structure, &cut, &speeds);
        let band = band(&structure, &cut, &sampled, &lobes, 0.9);
        assert_eq!(band.len(), lobes.len());
        for ([n, best], [m, low, high]) in lobes.iter().zip(&band) {
            assert!(n == m && low <= best && best <= high, "{n}: {low} {best} {high}");
        }
        let wide = band.iter().filter(|b| b[2] > 1.05 * b[1]).count();
        assert!(wide > 12, "{band:?}");
    }
}
