//! Peak and mean forces of shaped cutters on a face, against plain sums over a fine edge.
//!
//! Nothing is shared with the code under test but the profile's points and the formulas of an edge
//! element: whether a point of the edge is in the stock is asked of every point at every angle.

mod support;

use cutter::{Cutter, CutterSpec, Element, Form};
use mechanics::chip::Runout;
use mechanics::engagement::face::{Cleared, FaceCut, slices};
use mechanics::force::{Cut, CuttingLaw, PowerLaw, Revolution};
use std::f64::consts::TAU;
use support::LAW;

const LINE: CuttingLaw = CuttingLaw::Line(LAW);
const POWER: CuttingLaw = CuttingLaw::Power(PowerLaw {
    kc11_n_mm2: 1500.0,
    mc: 0.28,
    radial_ratio: 0.4,
    axial_ratio: 0.15,
});
const TEETH: usize = 3;
const FEED_MM: f64 = 0.08;
/// Elements of the edge over the whole profile, and angles of a turn.
const ELEMENTS: usize = 16_000;
const ANGLES: usize = 7200;

/// A short piece of an edge.
struct Bit {
    r: f64,
    z: f64,
    kappa: f64,
    ds: f64,
    lag: f64,
}

fn point(e: &Element, f: f64) -> (f64, f64, f64) {
    match e {
        Element::Arc(a) => {
            let kappa = a.kappa_lo_rad + f * (a.kappa_hi_rad - a.kappa_lo_rad);
            let (r, z) = a.point(kappa);
            (r, z, kappa)
        }
        Element::Line(l) => {
            let mix = |a: f64, b: f64| a + f * (b - a);
            (mix(l.from_mm.0, l.to_mm.0), mix(l.from_mm.1, l.to_mm.1), l.kappa_rad)
        }
    }
}

fn length(e: &Element) -> f64 {
    match e {
        Element::Arc(a) => a.length_mm(),
        Element::Line(l) => l.length_mm(),
    }
}

fn edge(cutter: &Cutter, helix: f64) -> Vec<Bit> {
    let elements = cutter.profile().elements();
    let total: f64 = elements.iter().map(length).sum();
    let mut lag = 0.0;
    let mut out = Vec::new();
    for e in elements {
        let n = (ELEMENTS as f64 * length(e) / total).ceil() as usize;
        for i in 0..n {
            let (r, z, kappa) = point(e, (i as f64 + 0.5) / n as f64);
            let ds = length(e) / n as f64;
            let turn = if r > 0.0 { ds * kappa.sin() * helix.tan() / r } else { 0.0 };
            out.push(Bit { r, z, kappa, ds, lag: lag + 0.5 * turn });
            lag += turn;
        }
    }
    out
}

/// Radius of the profile at a height, by its points.
fn radius_at(edge: &[Bit], z: f64) -> f64 {
    let i = edge.partition_point(|b| b.z < z);
    match (i.checked_sub(1).and_then(|i| edge.get(i)), edge.get(i)) {
        (Some(a), Some(b)) => a.r + (b.r - a.r) * (z - a.z) / (b.z - a.z).max(1e-15),
        (None, Some(b)) => b.r * (z.max(0.0) / b.z.max(1e-15)).sqrt(),
        (Some(a), None) => a.r,
        (None, None) => 0.0,
    }
}

/// Largest and mean force across the axis, mean torque.
fn plain(cutter: &Cutter, cut: &FaceCut, law: &CuttingLaw, runout: Runout) -> [f64; 3] {
    let edge = edge(cutter, cut.helix_rad);
    let contact = cutter.profile().contact(cut.kappa_rad).expect("a contact of the form");
    let (s, c) = cut.kappa_rad.sin_cos();
    // across the feed to the left, and along the normal; the axis leans to the left
    let (axis, y) = ([s, c], [c, -s]);
    let tip = [0, 1].map(|i| -contact.r_mm * y[i] - contact.z_mm * axis[i]);
    let step = match cut.cleared {
        Cleared::Left => cut.stepover_mm,
        Cleared::Right => -cut.stepover_mm,
        Cleared::Nothing => f64::INFINITY,
    };
    let in_stock = |b: &Bit, phi: f64| {
        let at = [0, 1].map(|i| tip[i] + b.z * axis[i] + b.r * phi.cos() * y[i]);
        if phi.sin() <= 0.0 || at[1] >= cut.layer_mm {
            return false;
        }
        if step.is_infinite() {
            return true;
        }
        let from = [at[0] - step - tip[0], at[1] - tip[1]];
        let (z, r) = (from[0] * axis[0] + from[1] * axis[1], from[0] * y[0] + from[1] * y[1]);
        z < 0.0 || r.abs() > radius_at(&edge, z)
    };
    let low = |b: &&Bit| tip[1] + b.z * axis[1] - b.r * y[1].abs() < cut.layer_mm;
    let near: Vec<&Bit> = edge.iter().filter(low).collect();
    let mut force = vec![[0.0; 3]; ANGLES];
    for b in near {
        let far = |j: usize| runout.radius_mm(j % TEETH, TEETH, b.lag);
        let step = TAU / ANGLES as f64;
        let enters = (b.lag / step).ceil() as usize;
        for i in enters..=enters + ANGLES / 2 {
            // the first tooth; the others are whole steps of the grid behind
            let phi = i as f64 * step - b.lag;
            if !in_stock(b, phi) {
                continue;
            }
            for j in 0..TEETH {
                let chip = |m: usize| m as f64 * FEED_MM * phi.sin() + far(j) - far(j + TEETH - m);
                let chip = (1..=TEETH).map(chip).fold(f64::INFINITY, f64::min) * b.kappa.sin();
                if chip <= 0.0 {
                    continue;
                }
                let [t, r, a] = law.force_n_mm(chip).map(|k| k * b.ds);
                let outward = a * b.kappa.cos() - r * b.kappa.sin();
                let f = &mut force[(i + j * ANGLES / TEETH) % ANGLES];
                f[0] += outward * phi.sin() - t * phi.cos();
                f[1] += outward * phi.cos() + t * phi.sin();
                f[2] += t * b.r;
            }
        }
    }
    let across = |f: &[f64; 3]| f[0].hypot(f[1]);
    let mean = |g: &dyn Fn(&[f64; 3]) -> f64| force.iter().map(g).sum::<f64>() / ANGLES as f64;
    [force.iter().map(across).fold(0.0, f64::max), mean(&across), mean(&|f| f[2])]
}

fn spec(form: Form, diameter_mm: f64) -> CutterSpec {
    let mut spec = CutterSpec::new(form, diameter_mm);
    spec.flute_length_mm = Some(20.0);
    spec
}

fn barrel(form: Form) -> CutterSpec {
    CutterSpec { arc_radius_mm: Some(85.0), corner_radius_mm: Some(2.0), ..spec(form, 12.0) }
}

fn judge(spec: &CutterSpec, [kappa_deg, layer_mm, stepover_mm]: [f64; 3], cleared: Cleared) {
    let cutter = Cutter::new(spec).expect("a cutter");
    let cut = FaceCut {
        kappa_rad: kappa_deg.to_radians(),
        leans_left: true,
        layer_mm,
        stepover_mm,
        cleared,
        across_per_mm: 0.0,
        along_per_mm: 0.0,
        helix_rad: 30f64.to_radians(),
    };
    let found = slices(&cutter, &cut);
    for (law, offset_mm) in [(LINE, 0.008), (POWER, 0.0)] {
        let runout = Runout { offset_mm, angle_rad: 0.4 };
        let of = Cut {
            slices: &found,
            teeth: TEETH,
            feed_per_tooth_mm: FEED_MM,
            law,
            runout,
            axial_feed_mm: 0.0,
            breaker: None,
        };
        let peaks = Revolution::new(&of).peaks();
        let ours = [peaks.across_n, peaks.mean_across_n, of.mean().torque_n_mm];
        let right = plain(&cutter, &cut, &law, runout);
        let off = [0, 1, 2].map(|i| 100.0 * (ours[i] / right[i] - 1.0));
        // 0.5 % is what is promised of a peak; the fine edge itself misses sharp ones by 0.2 %
        let fits = off[0].abs() < 0.45 && off[1].abs() < 0.1 && off[2].abs() < 0.1;
        assert!(fits, "{:?} {kappa_deg} {offset_mm}: {off:.3?} % of {right:.2?}", spec.form);
    }
}

#[test]
fn a_ball() {
    let ball = spec(Form::Ball, 12.0);
    judge(&ball, [15.0, 0.2, 0.3], Cleared::Left);
    judge(&ball, [15.0, 0.2, 0.3], Cleared::Right);
    judge(&ball, [45.0, 0.5, 0.2], Cleared::Left);
    judge(&ball, [0.0, 0.5, 0.3], Cleared::Nothing);
    judge(&ball, [5.0, 1.0, 1.5], Cleared::Right);
}

#[test]
fn a_barrel() {
    judge(&barrel(Form::Barrel), [88.0, 0.2, 1.5], Cleared::Left);
    judge(&barrel(Form::Barrel), [90.0, 0.3, 2.0], Cleared::Right);
}

#[test]
fn a_tangent_barrel() {
    judge(&barrel(Form::TangentBarrel), [82.0, 0.2, 1.5], Cleared::Left);
    judge(&barrel(Form::TangentBarrel), [78.0, 0.5, 1.0], Cleared::Right);
}

#[test]
fn a_corner_radius_on_a_floor_and_a_flat_end_on_a_wall() {
    judge(&spec(Form::Flat, 12.0), [90.0, 1.3, 9.0], Cleared::Nothing);
    let corner = CutterSpec { corner_radius_mm: Some(3.0), ..spec(Form::CornerRadius, 12.0) };
    judge(&corner, [20.0, 0.3, 0.5], Cleared::Left);
}
