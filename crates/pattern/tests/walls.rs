//! Lines at constant height hold the step on walls, fillets and tops of real features, and what the
//! cutter cannot reach is left over, not refused.

mod support;

use std::collections::BTreeMap;

use cutter::{Assembly, CutterSpec, Form};
use geom::Vec3;
use part::Part;
use pattern::{AxisRule, FaceJob, FacePasses, Frame, Pattern, PatternError, finish_face};
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
    let fine = 0.25 * step;
    for t in
        (0..part.mesh.triangles.len()).filter(|t| faces.contains(&(part.mesh.face_of[*t] as usize)))
    {
        let [a, b, c] = part.mesh.corners(t);
        let n = (a.distance(b).max(b.distance(c)).max(c.distance(a)) / fine).ceil() as usize;
        for i in 0..n {
            for j in 0..n - i {
                let (u, v) = ((i as f64 + 0.3) / n as f64, (j as f64 + 0.3) / n as f64);
                let Some(site) = part.site(t as u32, [1.0 - u - v, u, v]) else { continue };
                let p = site.point;
                let gap = near.get(&key(p)).map_or(step, |s| {
                    s.iter()
                        .map(|[a, b]| {
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
    gaps.iter().filter(|g| keeps(g.1)).copied().max_by(|a, b| a.0.total_cmp(&b.0)).expect("places")
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
    let step = 0.7;
    let job = levels(&part, &faces, &cutter, step);
    let passes = finish_face(&job, &|_| ()).expect("passes");
    let (gap, at) = worst(&gaps(&part, &faces, &passes, step), |_| true);
    assert!(gap <= 0.5 * step * 1.02, "{step}: {gap} at {at}");
    // derived: flat top 64 π, round 2 π² · 2 (8 + 2 · 2 / π), wall 180 π, foot
    // 2 π² · 3 / 2 · (13 − 3 · 2 / π)
    let turn = std::f64::consts::PI;
    let foot = 3.0 * turn * (turn * 13.0 - 6.0);
    let area = 64.0 * turn + 2.0 * turn * (turn * 8.0 + 4.0) + 180.0 * turn + foot;
    let swept = passes.path_mm * step;
    // and a line more at each of the two circles where levels end at 0.3 of the steepest slope
    let ends = step * 2.0 * turn * (8.0 + 0.3 * 2.0 + 13.0 - 0.3 * 3.0);
    assert!((0.98 * area..1.06 * area + ends).contains(&swept), "{swept} {area}");
    // one line at a height each, but where it is flat: on top, and at the foot as far as its round of
    // 3 mm has a slope below 0.3
    let flat = 3.0 * (1.0 - 0.91_f64.sqrt());
    let level = |r: &toolpath::Run| {
        let z: Vec<f64> = r.contacts.iter().map(|c| c.point.z).collect();
        z.iter().all(|h| (h - z[0]).abs() < 1e-6)
    };
    let cuts = || passes.toolpath.runs.iter().filter(|r| r.kind.is_cut());
    assert!(cuts().filter(|r| (flat..13.0).contains(&r.contacts[0].point.z)).all(level));
}

#[test]
fn a_pocket_wall_is_covered_as_deep_as_the_cutter_reaches() {
    let (ball, corner) =
        (end_mill(Form::Ball, 6.0, None), end_mill(Form::CornerRadius, 8.0, Some(1.0)));
    let flat = end_mill(Form::Flat, 8.0, None);
    // derived: upright walls are reached down to the corner radius over the floor; on walls that
    // lean back by 8° an arc of radius r touches r (1 − sin 8°) higher than its lowest point
    let leaning = 1.0 - 8_f64.to_radians().sin();
    for (draft, cutter, low) in [
        (0.0_f64, &ball, 3.0),
        (0.0, &corner, 1.0),
        (0.0, &flat, 0.0),
        (8.0, &ball, 3.0 * leaning),
        (8.0, &corner, leaning),
    ] {
        let (part, faces) = pocket(6.0, draft.to_radians());
        let step = 0.9;
        let job = levels(&part, &faces, cutter, step);
        let passes = finish_face(&job, &|_| ()).expect("passes");
        let all = gaps(&part, &faces, &passes, step);
        let reached = -12.0 + low;
        let (gap, at) = worst(&all, |p| p.z > reached + 0.02);
        assert!(gap <= 0.5 * step * 1.02, "{draft} {low}: {gap} at {at}");
        let cuts = || passes.toolpath.runs.iter().filter(|r| r.kind.is_cut());
        let lowest = cuts().flat_map(|r| &r.contacts).map(|c| c.point.z).fold(0.0, f64::min);
        assert!(lowest >= reached - 0.01, "{draft} {low}: {lowest}");
        let tips = cuts().flat_map(|r| &r.poses).map(|p| p.tip.z).fold(0.0, f64::min);
        assert!(tips >= -12.01, "{tips}");
    }
}

#[test]
fn a_wall_that_opens_downwards_is_not_reached() {
    let (part, faces) = pocket(6.0, 0.0);
    let cutter = end_mill(Form::Ball, 6.0, None);
    let frame = Frame { x: Vec3::X, y: -Vec3::Y, up: -Vec3::Z };
    let job = FaceJob { frame, ..levels(&part, &faces, &cutter, 2.0) };
    let refused = finish_face(&job, &|_| ());
    assert!(matches!(refused, Err(PatternError::NotReached { .. })), "{refused:?}");
}
