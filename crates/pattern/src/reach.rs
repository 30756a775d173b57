//! Where the cutter can stand without cutting into the part.

use clearance::Obstacle;
use cutter::{Assembly, BodyKind};
use geom::{Site, Vec2, Vec3};

use crate::atlas::Row;
use crate::slice::Slice;
use crate::stance::{Stance, Standing};
use crate::steep::Steep;

/// How deep the cutting part may stand below a surface, and how finely that is resolved, mm.
const DEEP_MM: f64 = 4e-3;
const RESOLVED_MM: f64 = 1e-3;
/// How exactly the ends of what is reached are found, mm along the line.
const END_MM: f64 = 2e-3;
/// Tips so near belong to one standing cutter that touches two places, mm.
const SAME_TIP_MM: f64 = 0.02;
/// Shortest stretch that is worth a pass, mm.
const SHORTEST_MM: f64 = 0.05;
/// How far a line goes on past the feature's border at most, steps: where it leaves at a slant, places
/// on the border between two lines are nearest to what lies beyond.
const BEYOND: f64 = 2.0;
/// Places at which it is asked whether the cutter can stand there.
const BEYOND_STOPS: usize = 8;

/// The cutter, how it is held, and what stands round it.
pub(crate) struct Reach<'a> {
    pub(crate) assembly: &'a Assembly,
    pub(crate) stance: Stance<'a>,
    pub(crate) obstacles: &'a [Obstacle<'a>],
    /// What gets lines at constant height.
    pub(crate) steep: Steep,
    /// Stock left on the feature, mm.
    pub(crate) offset_mm: f64,
    /// How far the part's mesh lies from its surface, mm.
    pub(crate) mesh_off_mm: f64,
}

impl Reach<'_> {
    /// The cutter at a place, where it touches there and digs in nowhere else.
    pub(crate) fn standing(&self, site: &Site, forward: Vec3) -> Option<Standing> {
        let s = self.touching(site, forward)?;
        let at = crate::link::pose(&s);
        // where faces meet in an arc the mesh cuts its corners: standing back by as much, only what is
        // elsewhere counts
        let tip = at.tip + site.normal * (self.offset_mm + self.mesh_off_mm);
        let pose = toolpath::Pose { tip, ..at };
        let cutting = [BodyKind::Cutting];
        let near = clearance::closest_approach_below(
            self.assembly,
            pose,
            self.obstacles,
            &cutting,
            RESOLVED_MM,
            -DEEP_MM,
        );
        near.is_none_or(|a| a.distance_mm >= -DEEP_MM).then_some(s)
    }

    /// The cutter at a place, where its form takes the angle, is more curved than the surface and keeps
    /// the step.
    pub(crate) fn touching(&self, site: &Site, forward: Vec3) -> Option<Standing> {
        let standing = self.stance.stand(site, forward, false).ok()?;
        let relative = self.stance.relative(&standing).ok()?;
        self.stance.allowed_by(&standing, &relative).ok()?;
        Some(standing)
    }

    fn at(&self, slice: &Slice<'_>, t: f64) -> Option<Standing> {
        let place = slice.at(t)?;
        let step = self.stance.allowed_mm(&place.site, place.forward).ok()?;
        let lined = self.steep.near(&place.site, 0.5 * step);
        if lined { self.standing(&place.site, place.forward) } else { None }
    }

    /// Rows over what is reached of a line; where the cutter that ends one stretch already touches
    /// the begin of the next, as in a corner, both are cut in one go.
    pub(crate) fn rows<'s>(&self, slice: &Slice<'s>, start: f64, step_mm: f64) -> Vec<Row<'s>> {
        let length = slice.length_mm();
        let stops = even(slice.length_mm(), start, step_mm);
        let reached: Vec<bool> = stops.iter().map(|t| self.at(slice, *t).is_some()).collect();
        let row = |spans| self.row(slice, spans);
        if reached.iter().all(|r| *r) {
            return vec![row(vec![(start, start + length)])];
        }
        let edge = |k: usize, m: usize| self.edge(slice, stops[k], stops[m]);
        let mut spans: Vec<(f64, f64)> = Vec::new();
        let mut open: Option<f64> = None;
        for k in 0..stops.len() {
            match (reached[k], open) {
                (true, None) => open = Some(if k == 0 { stops[0] } else { edge(k, k - 1) }),
                (false, Some(from)) => {
                    spans.push((from, edge(k - 1, k)));
                    open = None;
                }
                _ => {}
            }
        }
        spans.extend(open.map(|from| (from, stops[stops.len() - 1])));
        let tip =
            |t: f64| slice.at(t).and_then(|p| self.touching(&p.site, p.forward)).map(|s| s.tip);
        let same =
            |a: f64, b: f64| tip(a).zip(tip(b)).is_some_and(|(a, b)| a.distance(b) <= SAME_TIP_MM);
        let mut groups: Vec<Vec<(f64, f64)>> = Vec::new();
        for span in spans.into_iter().filter(|(a, b)| b - a > SHORTEST_MM) {
            match groups.last_mut() {
                Some(g) if g.last().is_some_and(|last| same(last.1, span.0)) => g.push(span),
                _ => groups.push(vec![span]),
            }
        }
        wrapped(&mut groups, slice, &same);
        groups.into_iter().map(row).collect()
    }

    fn row<'s>(&self, slice: &Slice<'s>, spans: Vec<(f64, f64)>) -> Row<'s> {
        let whole = |end: Option<f64>, at: f64| end.is_some_and(|t| (t - at).abs() < END_MM);
        let begins = whole(spans.first().map(|s| s.0), 0.0);
        let ends = whole(spans.last().map(|s| s.1), slice.length_mm());
        let first = if begins { self.beyond_mm(slice, 0) } else { 0.0 };
        let last = if ends { self.beyond_mm(slice, 1) } else { 0.0 };
        Row { slice: slice.clone(), spans, beyond_mm: (first, last), level: 0 }
    }

    /// How far a line is to go on past its begin or its end, so that the strip beside it is cut as far
    /// as the border that it meets at a slant; less where the cutter cannot stand there.
    fn beyond_mm(&self, slice: &Slice<'_>, end: usize) -> f64 {
        let t = if end == 0 { 0.0 } else { slice.length_mm() };
        let found = slice.border[end].zip(slice.at(t)).and_then(|(border, place)| {
            let step = self.stance.allowed_mm(&place.site, place.forward).ok()?;
            Some((border, place, step))
        });
        let Some((border, place, step)) = found else { return 0.0 };
        let along = border.dot(place.forward).abs();
        let across = border.cross(place.forward).length();
        let wanted = (0.5 * step * along / across).min(BEYOND * step);
        let away = if end == 0 { -1.0 } else { 1.0 };
        let spot = place.spot(Vec2::ZERO);
        let stands = |d: f64| {
            let there = spot.continued(Vec2::new(away * d, 0.0)).site;
            let forward = place.forward - there.normal * place.forward.dot(there.normal);
            self.standing(&there, forward.normalize_or_zero()).is_some()
        };
        (1..=BEYOND_STOPS)
            .map(|k| wanted * k as f64 / BEYOND_STOPS as f64)
            .take_while(|d| stands(*d))
            .last()
            .unwrap_or(0.0)
    }

    /// Last reached parameter between a reached one and one that is not.
    fn edge(&self, slice: &Slice<'_>, reached: f64, not: f64) -> f64 {
        let (mut into, mut out) = (reached, not);
        while (into - out).abs() > END_MM {
            let middle = 0.5 * (into + out);
            if self.at(slice, middle).is_some() { into = middle } else { out = middle }
        }
        into
    }
}

/// On a closed line the last group goes on with the first where nothing parts them.
fn wrapped(groups: &mut Vec<Vec<(f64, f64)>>, slice: &Slice<'_>, same: &dyn Fn(f64, f64) -> bool) {
    if !slice.closed || groups.len() < 2 {
        return;
    }
    let (first, last) = (groups[0][0].0, groups[groups.len() - 1].last().map_or(0.0, |s| s.1));
    let length = slice.length_mm();
    let meets = (last - first - length).abs() < END_MM || same(last, first);
    if meets {
        let head = groups.remove(0);
        if let Some(tail) = groups.last_mut() {
            tail.extend(head.into_iter().map(|(a, b)| (a + length, b + length)));
        }
    }
}

/// Even parameters along a line from `start`, about `step_mm` apart.
fn even(length: f64, start: f64, step_mm: f64) -> Vec<f64> {
    let n = (length / step_mm).ceil().max(8.0) as usize;
    (0..=n).map(|k| start + length * k as f64 / n as f64).collect()
}

/// Parameters along a line from `start`, at most `step_mm` apart.
pub(crate) fn stops(slice: &Slice<'_>, start: f64, step_mm: f64) -> Vec<f64> {
    let length = slice.length_mm();
    let mut knots: Vec<f64> = slice
        .knots()
        .iter()
        .map(|k| if *k < start { k + length } else { *k })
        .chain([start, start + length])
        .filter(|k| *k >= start && *k <= start + length)
        .collect();
    knots.sort_by(f64::total_cmp);
    knots.dedup();
    let mut out = vec![knots[0]];
    for w in knots.windows(2) {
        let n = ((w[1] - w[0]) / step_mm).ceil().clamp(1.0, 10_000.0) as usize;
        out.extend((1..=n).map(|k| w[0] + (w[1] - w[0]) * k as f64 / n as f64));
    }
    out
}
