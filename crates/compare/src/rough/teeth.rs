//! The number of teeth: which other cutter of the study, of the same shape, would finish faster.

use super::finish::Task;
use super::lay::Ground;
use super::step_down;
use crate::job::{self, Prepared};
use crate::operation;
use study::StudyCutter;

/// Shapes that differ by less are the same, mm.
const SAME_MM: f64 = 1e-6;
/// Share of the time from which another cutter is worth a word.
const WORTH: f64 = 0.95;

/// The cutter of the study that differs in its teeth alone and would take least time, in words; `None`
/// where none is quicker. At the same speed and chip the time goes with layers over teeth; a wall of a
/// height takes as many layers as that cutter needs for the tolerance.
pub(super) fn told(
    ground: &Ground<'_>,
    height_mm: f64,
    width_mm: f64,
    layers: usize,
) -> Option<String> {
    let own = ground.prepared.cutter;
    let mut best: Option<(f64, usize, &StudyCutter)> = None;
    for cutter in ground.scene.study.cutters.iter().filter(|c| alike(own, c)) {
        let Some(prepared) = with(ground, cutter) else { continue };
        let other = Ground { prepared: &prepared, ..*ground };
        let count = match Task::of(ground.prepared.operation.kind) {
            Task::Walls => {
                let choice = step_down::choose(&other, height_mm, width_mm);
                if !choice.holds()
                    && ground.scene.study.feature_of(prepared.operation).tolerance_mm.is_some()
                {
                    continue;
                }
                choice.count
            }
            _ => layers,
        };
        let share =
            count as f64 / layers.max(1) as f64 * f64::from(own.teeth) / f64::from(cutter.teeth);
        if share < best.map_or(WORTH, |b| b.0) {
            best = Some((share, count, cutter));
        }
    }
    let (share, count, cutter) = best?;
    Some(format!(
        "cutter \"{}\" with {} teeth instead of {} would need {:.0} % of the cutting time at the same speed \
         and chip, in {count} layers",
        cutter.id,
        cutter.teeth,
        own.teeth,
        100.0 * share
    ))
}

/// Whether two cutters differ in their teeth and cut the same shape.
fn alike(own: &StudyCutter, other: &StudyCutter) -> bool {
    let corner = |c: &StudyCutter| c.spec.corner_radius_mm.unwrap_or(0.0);
    own.teeth != other.teeth
        && own.spec.form == other.spec.form
        && (own.spec.diameter_mm - other.spec.diameter_mm).abs() < SAME_MM
        && (corner(own) - corner(other)).abs() < SAME_MM
}

/// The operation with another cutter, at the same speed and chip; `None` where the cutter cannot.
fn with<'a>(ground: &Ground<'a>, cutter: &'a StudyCutter) -> Option<Prepared<'a>> {
    let now = ground.prepared;
    let assembly = operation::assembly(ground.scene, cutter).ok()?;
    let too_fast = cutter.max_rev_s.is_some_and(|most| now.rev_s > most);
    let feed_mm_s = job::feed_mm_s(now.operation, cutter.teeth, now.rev_s);
    let prepared = Prepared { cutter, assembly, feed_mm_s, ..now.clone() };
    (!too_fast && ground.shape.reached(ground.scene, &prepared).is_ok()).then_some(prepared)
}
