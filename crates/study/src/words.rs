//! The words of a study file and what they stand for.

use crate::model::feature::FeatureKind;
use crate::model::operation::{
    Clearing, Coolant, Cut, Entry, FeedAt, FeedRule, Lean, OperationKind, Pattern, Traverse,
};
use ::material::{Certainty, EdgeEnd, EdgeMaterial, HardnessScale, Hazard, IsoGroup};

pub(crate) const FEATURE_KINDS: [(&str, FeatureKind); 6] = [
    ("face", FeatureKind::Face),
    ("pocket", FeatureKind::Pocket),
    ("wall", FeatureKind::Wall),
    ("floor", FeatureKind::Floor),
    ("hole", FeatureKind::Hole),
    ("outside", FeatureKind::Outside),
];

pub(crate) const OPERATION_KINDS: [(&str, OperationKind); 9] = [
    ("finish-face", OperationKind::FinishFace),
    ("semi-finish-face", OperationKind::SemiFinishFace),
    ("rough-pocket", OperationKind::RoughPocket),
    ("rough-outside", OperationKind::RoughOutside),
    ("finish-wall", OperationKind::FinishWall),
    ("finish-floor", OperationKind::FinishFloor),
    ("rest-corners", OperationKind::RestCorners),
    ("drill", OperationKind::Drill),
    ("chamfer", OperationKind::Chamfer),
];

pub(crate) const PATTERNS: [(&str, Pattern); 6] = [
    ("parallel", Pattern::Parallel),
    ("along-u", Pattern::AlongU),
    ("along-v", Pattern::AlongV),
    ("spiral", Pattern::Spiral),
    ("level", Pattern::Level),
    ("equal-cusp", Pattern::EqualCusp),
];

/// The words for how an axis stands; the angles come with other keys.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum AxisWord {
    Fixed,
    Normal,
    Tilted,
}

pub(crate) const AXES: [(&str, AxisWord); 3] =
    [("fixed", AxisWord::Fixed), ("normal", AxisWord::Normal), ("tilted", AxisWord::Tilted)];

pub(crate) const LEANS: [(&str, Lean); 3] =
    [("auto", Lean::Auto), ("left", Lean::Left), ("right", Lean::Right)];

pub(crate) const TRAVERSES: [(&str, Traverse); 2] =
    [("both-ways", Traverse::BothWays), ("one-way", Traverse::OneWay)];

pub(crate) const CUTS: [(&str, Cut); 2] = [("down", Cut::Down), ("up", Cut::Up)];

pub(crate) const FEED_POINTS: [(&str, FeedAt); 2] =
    [("contact", FeedAt::Contact), ("tip", FeedAt::Tip)];

pub(crate) const ENTRIES: [(&str, Entry); 3] =
    [("helix", Entry::Helix), ("ramp", Entry::Ramp), ("plunge", Entry::Plunge)];

pub(crate) const CLEARINGS: [(&str, Clearing); 2] = [
    ("constant-engagement", Clearing::ConstantEngagement),
    ("contour-parallel", Clearing::ContourParallel),
];

pub(crate) const FEED_RULES: [(&str, FeedRule); 2] =
    [("constant", FeedRule::Constant), ("scheduled", FeedRule::Scheduled)];

pub(crate) const COOLANTS: [(&str, Coolant); 5] = [
    ("flood", Coolant::Flood),
    ("through", Coolant::Through),
    ("air", Coolant::Air),
    ("mist", Coolant::Mist),
    ("dry", Coolant::Dry),
];

/// The word that stands for a value; every value has one.
pub(crate) fn word<T: Copy + PartialEq>(words: &[(&'static str, T)], value: T) -> &'static str {
    words.iter().find(|(_, v)| *v == value).map_or("", |(word, _)| word)
}

pub(crate) const ISO_GROUPS: [(&str, IsoGroup); 6] = [
    ("P", IsoGroup::P),
    ("M", IsoGroup::M),
    ("K", IsoGroup::K),
    ("N", IsoGroup::N),
    ("S", IsoGroup::S),
    ("H", IsoGroup::H),
];

pub(crate) const CERTAINTIES: [(&str, Certainty); 3] = [
    ("published", Certainty::Published),
    ("from memory", Certainty::FromMemory),
    ("common practice", Certainty::CommonPractice),
];

pub(crate) const HARDNESS_SCALES: [(&str, HardnessScale); 3] = [
    ("HBW", HardnessScale::Brinell),
    ("HRC", HardnessScale::RockwellC),
    ("Shore D", HardnessScale::ShoreD),
];

pub(crate) const EDGES: [(&str, EdgeMaterial); 5] = [
    ("coated carbide", EdgeMaterial::CoatedCarbide),
    ("bright carbide", EdgeMaterial::BrightCarbide),
    ("high-speed steel", EdgeMaterial::HighSpeedSteel),
    ("boron nitride", EdgeMaterial::BoronNitride),
    ("diamond", EdgeMaterial::Diamond),
];

pub(crate) const EDGE_ENDS: [(&str, EdgeEnd); 7] = [
    ("flank wear", EdgeEnd::FlankWear),
    ("notch", EdgeEnd::Notch),
    ("crater", EdgeEnd::Crater),
    ("built-up edge", EdgeEnd::BuiltUpEdge),
    ("chipping", EdgeEnd::Chipping),
    ("thermal cracks", EdgeEnd::ThermalCracks),
    ("finish", EdgeEnd::Finish),
];

pub(crate) const HAZARDS: [(&str, Hazard); 4] = [
    ("burning chips", Hazard::BurningChips),
    ("burning fines", Hazard::BurningFines),
    ("hydrogen", Hazard::Hydrogen),
    ("breathing", Hazard::Breathing),
];
