//! Lines at constant height hold the step on walls, fillets and tops of real features, and what the
//! cutter cannot reach is left over, not refused.

mod support;

use std::collections::BTreeMap;

use cutter::{Assembly, CutterSpec, Form};
use geom::Vec3;
use part::Part;
use pattern::{AxisRule, FaceJob, FacePasses, Pattern, finish_face};
use support::solid::{boss, pocket};
use support::*;

/// Distance from places of the feature, about `fine` apart, to the nearest contact line.
fn gaps(part: &Part, faces: &[usize], passes: &FacePasses, step: f64) -> Vec<(f64, Vec3)> {
    let key = |p: Vec3| (p / step).floor().to_array().map(|x| x as i64);
    let mut near: BTreeMap<[i64; 3], Vec<[Vec3; 2]>> = BTreeMap::new();
    for run in passes.toolpath.runs.iter().filter(|r| r.kind.is_cut()) {
        for w in run.contacts.windows(2) {
            let n = (w[0].point.distance(w[1].point) / step).ceil().max(1.0);
            for k in 0..n as usize {
                let at = |k: f64| w[0].point.lerp(w[1].point, k / n);
                let (a, b) = (at(k as f64), at(k as f64 + 1.0));
                let (lo, hi) = (key(a.min(b)), key(a.max(b)));
                for x in lo[0] - 1..=hi[0] + 1 {
                    for y in lo[1] - 1..=hi[1] + 1 {
                        for z in lo[2] - 1..=hi[2] + 1 {
                            near.entry([x, y, z]).or_default().push([a, b]);
                        }
                    }
                }
            }
        }
    }
    let mut out = Vec::new();
    let fine = 0.15 * step;
    for t in (0..part.mesh.triangles.len())
        .filter(|t| faces.contains(&(part.mesh.face_of[*t] as usize)))
    {
        let [a, b, c] = part.mesh.corners(t);
        let n = (a.distance(b).max(b.distance(c)).max(c.distance(a)) / fine).ceil() as usize;
        for i in 0..n {
            for j in 0..n - i {
                let (u, v) = ((i as f64 + 0.3) / n as f64, (j as f64 + 0.3) / n as f64);
                let Some(site) = part.site(t as u32, [1.0 - u - v, u, v]) else { continue };
                let p = site.point;
                let gap = near.get(&key(p)).map_or(step, |s| {
                    s.iter().map(|[a, b]| {
                        let along = *b - *a;
                        let f = (p - *a).dot(along) / along.length_squared().max(1e-30);
                        p.distance(*a + along * f.clamp(0.0, 1.0))
                    })
                    .fold(step, f64::min)
                });
                out.push((gap, p));
            }
        }
    }
    out
}

fn worst(gaps: &[(f64, Vec3)], keeps: impl Fn(Vec3) -> bool) -> (f64, Vec3) {
    gaps.iter()
        .filter(|g| keeps(g.1))
        .copied()
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .expect("places")
}

fn end_mill(form: Form, diameter_mm: f64, corner_radius_mm: Option<f64>) -> Assembly {
    let spec = CutterSpec {
        corner_radius_mm,
        flute_length_mm: Some(20.0),
        stickout_mm: Some(40.0),
        ..CutterSpec::new(form, diameter_mm)
    };
    Assembly::new(&spec).expect("an end mill")
}

fn levels<'a>(part: &'a Part, faces: &'a [usize], cutter: &'a Assembly, step: f64) -> FaceJob<'a> {
    FaceJob {
        faces,
        axis: AxisRule::Fixed,
        stepover_mm: Some(step),
        ..job(part, cutter, Pattern::Level)
    }
}

#[test]
fn a_boss_is_covered_from_foot_to_top() {
    let (part, faces) = boss();
    let cutter = end_mill(Form::Ball, 5.0, None);
    for step in [0.4, 0.9] {
        let job = levels(&part, &faces, &cutter, step);
        let passes = finish_face(&job, &|_| ()).expect("passes");
        let (gap, at) = worst(&gaps(&part, &faces, &passes, step), |_| true);
        println!("{step} short {} {} {at} {} {} {:?}", passes.passes.iter().filter(|p| p.path_mm < 2.0).count(), gap / step * 2.0, passes.passes.len(), passes.path_mm * step, passes.warnings);
    }
}

#[test]
fn a_pocket_wall_is_covered_as_deep_as_the_cutter_reaches() {
    for (corner, draft) in [(6.0, 0.0_f64), (6.0, 8.0)] {
        let (part, faces) = pocket(corner, draft.to_radians());
        for cutter in [end_mill(Form::Ball, 6.0, None), end_mill(Form::CornerRadius, 8.0, Some(1.0)), end_mill(Form::Flat, 8.0, None)] {
            let step = 0.5;
            let job = levels(&part, &faces, &cutter, step);
            let passes = match finish_face(&job, &|_| ()) { Ok(p) => p, Err(e) => { println!("{e}"); continue } };
            let all = gaps(&part, &faces, &passes, step);
            let (gap, at) = worst(&all, |p| p.z > -8.9);
            let (low, _) = worst(&all, |_| true);
            println!("{corner} {draft} {} {at} {} {} {} {:?}", gap / step * 2.0, low, passes.passes.len(), passes.path_mm * step, passes.warnings);
            println!("  {:?}", passes.passes.iter().filter(|p| p.path_mm < 2.0).count());
        }
    }
}
