//! `[[process.operation]]`, with the defaults of every key that may be left out.

use super::process::{Names, resolve};
use super::range;
use crate::model::operation::{
    AxisRule, Clearing, Cut, Feed, FeedAt, FeedRule, Lean, Operation, OperationKind, Pattern,
    Roughing, Spacing, Speed, Traverse,
};
use crate::text::{Bound, Table};
use crate::words;
use units::convert::{m_to_mm, mm_min_to_mm_s, rpm_to_rev_s, um_to_mm};

/// Stock on a face before it is finished where the study does not say, mm.
const ALLOWANCE_MM: f64 = 0.2;
/// Radius of leads and links where the study does not say, mm.
const LEAD_RADIUS_MM: f64 = 2.0;
/// Lift of links that may not stay down where the study does not say, mm.
const CLEARANCE_MM: f64 = 2.0;

/// How passes lie and how far apart.
struct Passes {
    pattern: Option<Pattern>,
    direction_deg: Option<f64>,
    spacing: Option<Option<Spacing>>,
    traverse: Option<Traverse>,
    cut: Option<Cut>,
    lead_radius_mm: Option<f64>,
    clearance_mm: Option<f64>,
    chord_um: Option<f64>,
}

pub(super) fn read(mut table: Table<'_>, names: &Names) -> Option<Operation> {
    let name = table.need_text("name", "Finish crown");
    if let Some(name) = &name {
        table.call(&name.value);
    }
    let feature = table.need_text("feature", "crown");
    let feature_place = feature.as_ref().map(|f| table.place_of(&f.span));
    let feature = feature.and_then(|f| resolve(&table, "feature", &f, &names.features));
    let cutter = table.need_text("cutter", "ball-12");
    let cutter_place = cutter.as_ref().map(|c| table.place_of(&c.span));
    let cutter = cutter.and_then(|c| resolve(&table, "cutter", &c, names.cutters.as_deref()?));
    let kind = table.need_choice("kind", &words::OPERATION_KINDS);
    let passes = read_passes(&table, kind);
    let axis = read_axis(&table);
    let lead_deg = table.number_or("lead_deg", &range::LEAD_DEG, 0.0);
    let speed = read_speed(&table);
    let (feed, feed_at) = read_feed(&table);
    let allowance_mm = table.number_or("allowance_mm", &range::ALLOWANCE, ALLOWANCE_MM);
    let roughing = read_roughing(&table, kind);
    let coolant = table.choice("coolant", &words::COOLANTS);
    let measured_time_s = table.number("measured_time_s", &range::SECONDS);
    let place = table.place();
    table.finish();
    Some(Operation {
        name: name?.value,
        feature: feature?,
        kind: kind?,
        cutter: cutter?,
        pattern: passes.pattern?,
        direction_rad: passes.direction_deg?.to_radians(),
        axis: axis?,
        lead_rad: lead_deg?.to_radians(),
        spacing: passes.spacing?,
        speed: speed?,
        feed: feed?,
        feed_at: feed_at?,
        allowance_mm: allowance_mm?,
        traverse: passes.traverse?,
        cut: passes.cut?,
        lead_radius_mm: passes.lead_radius_mm?,
        clearance_mm: passes.clearance_mm?,
        chord_mm: passes.chord_um.map(um_to_mm),
        roughing,
        coolant,
        measured_time_s,
        place,
        feature_place: feature_place?,
        cutter_place: cutter_place?,
    })
}

fn read_passes(table: &Table<'_>, kind: Option<OperationKind>) -> Passes {
    Passes {
        pattern: table.choice_or("pattern", &words::PATTERNS, Pattern::Parallel),
        direction_deg: table.number_or("direction_deg", &range::TURN, 0.0),
        spacing: read_spacing(table, kind),
        traverse: table.choice_or("traverse", &words::TRAVERSES, Traverse::BothWays),
        cut: table.choice_or("cut", &words::CUTS, Cut::Down),
        lead_radius_mm: table.number_or("lead_radius_mm", &range::LEAD_RADIUS, LEAD_RADIUS_MM),
        clearance_mm: table.number_or("clearance_mm", &range::CLEARANCE, CLEARANCE_MM),
        chord_um: table.number("chord_um", &range::CHORD_UM),
    }
}

/// The spacing; the outer `None` is a fault, the inner one a kind that needs none.
fn read_spacing(table: &Table<'_>, kind: Option<OperationKind>) -> Option<Option<Spacing>> {
    let stepover = Choice { key: "stepover_mm", bound: &range::STEPOVER, like: "0.2" };
    let cusp = Choice { key: "cusp_um", bound: &range::CUSP_UM, like: "3.0" };
    let given = table.has(stepover.key) | table.has(cusp.key);
    if !given && !kind.is_some_and(OperationKind::covers_a_face) {
        return Some(None);
    }
    let (stepover_mm, cusp_um) = one_of(table, &stepover, &cusp)?;
    let cusp = cusp_um.map(|um| Spacing::Cusp { mm: um_to_mm(um) });
    Some(stepover_mm.map(|mm| Spacing::Stepover { mm }).or(cusp))
}

fn read_axis(table: &Table<'_>) -> Option<AxisRule> {
    let word = table.choice_or("axis", &words::AXES, words::AxisWord::Fixed);
    let kappa_deg = table.number("kappa_deg", &range::KAPPA_DEG);
    let lean = table.choice_or("lean", &words::LEANS, Lean::Auto);
    let word = word?;
    if word != words::AxisWord::Tilted {
        refuse_tilt_keys(table);
    }
    Some(match word {
        words::AxisWord::Fixed => AxisRule::Fixed,
        words::AxisWord::Normal => AxisRule::Normal,
        words::AxisWord::Tilted => {
            AxisRule::Tilted { kappa_rad: kappa_deg.map(f64::to_radians), lean: lean? }
        }
    })
}

fn refuse_tilt_keys(table: &Table<'_>) {
    for key in ["kappa_deg", "lean"].into_iter().filter(|key| table.has(key)) {
        let message = format!("`{key}` is given, but the axis is not tilted");
        let remedy = format!("write `axis = \"tilted\"` or take `{key}` out");
        table.report(table.span_of(key), message, "it only beside `axis = \"tilted\"`", remedy);
    }
}

fn read_speed(table: &Table<'_>) -> Option<Speed> {
    let turns = Choice { key: "rpm", bound: &range::RPM, like: "12000" };
    let cutting = Choice { key: "vc_m_min", bound: &range::VC_M_MIN, like: "300" };
    let (rpm, vc_m_min) = one_of(table, &turns, &cutting)?;
    let cutting = vc_m_min.map(|v| Speed::Cutting { mm_s: mm_min_to_mm_s(m_to_mm(v)) });
    rpm.map(|n| Speed::Spindle { rev_s: rpm_to_rev_s(n) }).or(cutting)
}

fn read_feed(table: &Table<'_>) -> (Option<Feed>, Option<FeedAt>) {
    let tooth = Choice { key: "feed_per_tooth_mm", bound: &range::FEED_PER_TOOTH, like: "0.1" };
    let rate = Choice { key: "feed_mm_min", bound: &range::FEED_MM_MIN, like: "3000" };
    let feed_at = table.choice_or("feed_at", &words::FEED_POINTS, FeedAt::Contact);
    let Some((per_tooth, rate)) = one_of(table, &tooth, &rate) else { return (None, feed_at) };
    let rate = rate.map(|f| Feed::Rate { mm_s: mm_min_to_mm_s(f) });
    (per_tooth.map(|mm| Feed::PerTooth { mm }).or(rate), feed_at)
}

fn read_roughing(table: &Table<'_>, kind: Option<OperationKind>) -> Roughing {
    if kind.is_some_and(OperationKind::is_roughing) {
        for (key, like) in [("depth_per_pass_mm", "6.0"), ("width_mm", "1.2")] {
            if !table.has(key) {
                table.missing(key, "a number of mm", format!("add `{key} = {like}`"));
            }
        }
    }
    if table.has("spring_passes") && kind.is_some_and(|k| k != OperationKind::FinishWall) {
        table.report(
            table.span_of("spring_passes"),
            "`spring_passes` is given, but the operation finishes no wall",
            "it only beside `kind = \"finish-wall\"`",
            "take `spring_passes` out",
        );
    }
    let clearing = table.choice_or("clearing", &words::CLEARINGS, Clearing::default());
    let feed_rule = table.choice_or("feed", &words::FEED_RULES, FeedRule::default());
    Roughing {
        depth_per_pass_mm: table.number("depth_per_pass_mm", &range::DEPTH),
        width_mm: table.number("width_mm", &range::WIDTH),
        stock_left_mm: table.number("stock_left_mm", &range::ALLOWANCE),
        entry: table.choice("entry", &words::ENTRIES),
        entry_rad: table.number("entry_deg", &range::ENTRY_DEG).map(f64::to_radians),
        clearing: clearing.unwrap_or_default(),
        feed_rule: feed_rule.unwrap_or_default(),
        // faces are cut to and fro by default, stock is not
        both_ways: table.has("traverse")
            && table.choice("traverse", &words::TRAVERSES) == Some(Traverse::BothWays),
        spring_passes: table.whole("spring_passes", &range::SPRING_PASSES).unwrap_or(0),
    }
}

/// One of two keys that say the same thing in two ways.
struct Choice {
    key: &'static str,
    bound: &'static Bound,
    like: &'static str,
}

/// Exactly one of two keys; `None` where neither or both are there, or the one is faulty.
fn one_of(table: &Table<'_>, a: &Choice, b: &Choice) -> Option<(Option<f64>, Option<f64>)> {
    let (first, second) = (table.number(a.key, a.bound), table.number(b.key, b.bound));
    let (has_first, has_second) = (table.has(a.key), table.has(b.key));
    if !has_first && !has_second {
        let message = format!("{} has neither `{}` nor `{}`", table.what(), a.key, b.key);
        let remedy = format!("add `{} = {}` or `{} = {}`", a.key, a.like, b.key, b.like);
        table.report(table.span(), message, "one of the two", remedy);
    }
    table.only_one(a.key, b.key);
    (first.is_some() != second.is_some()).then_some((first, second))
}
