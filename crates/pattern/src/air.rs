//! Ways through the air: up along the axis, across, down again, over whatever stands between.

use toolpath::{Pose, Run, RunKind};

use crate::link::{Linker, slerp};

/// Spacing of the places at which the height of a way is found, mm; that it is clear is proven after.
const STEP_MM: f64 = 2.0;

/// How much farther than asked for a way goes: along the axis before it crosses, and upwards, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Detour {
    along_axis_mm: f64,
    upwards_mm: f64,
}

impl Detour {
    /// None: as asked for.
    pub(crate) const NONE: Self = Self { along_axis_mm: 0.0, upwards_mm: 0.0 };
}

/// Detours in the order in which they are tried where going as asked for is not clear.
pub(crate) const DETOURS: [Detour; 6] = [
    Detour { along_axis_mm: 0.0, upwards_mm: 5.0 },
    Detour { along_axis_mm: 0.0, upwards_mm: 25.0 },
    Detour { along_axis_mm: 10.0, upwards_mm: 0.0 },
    Detour { along_axis_mm: 40.0, upwards_mm: 0.0 },
    Detour { along_axis_mm: 100.0, upwards_mm: 0.0 },
    Detour { along_axis_mm: 250.0, upwards_mm: 0.0 },
];

/// A way through the air. An operation's first has no retract, its last no approach.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Airway {
    /// From the lead along the axis.
    pub(crate) retract: Option<[Pose; 2]>,
    /// Across.
    pub(crate) across: Vec<Pose>,
    /// Along the axis to the lead.
    pub(crate) approach: Option<[Pose; 2]>,
    /// Rise over the clearance asked for, mm.
    pub(crate) rise_mm: f64,
}

impl Airway {
    /// Stretches that begin or end near the surface.
    pub(crate) fn near(&self) -> Vec<Vec<Pose>> {
        let straight_across = self.across.len() == 2 && self.retract.is_some() && self.ends();
        let up = self.across.first_chunk::<2>().filter(|_| !straight_across);
        let down = self.across.last_chunk::<2>().filter(|_| !straight_across);
        let mut out = Vec::new();
        if let Some([from, a]) = self.retract {
            out.push([from, a].into_iter().chain(up.map(|w| w[1])).collect());
        }
        if let Some([b, to]) = self.approach {
            out.push(down.map(|w| w[0]).into_iter().chain([b, to]).collect());
        }
        out
    }

    /// The stretch in the air.
    pub(crate) fn free(&self) -> Vec<Pose> {
        match self.across.as_slice() {
            [_, a, b, _] => vec![*a, *b],
            [a, b] if self.ends() => vec![*a, *b],
            _ => Vec::new(),
        }
    }

    fn ends(&self) -> bool {
        self.retract.is_some() && self.approach.is_some()
    }

    /// Its runs.
    pub(crate) fn runs(&self, linker: &Linker<'_>, pass: usize) -> Vec<Run> {
        let rapid = f64::INFINITY;
        let retract = self.retract.map(|w| linker.run(RunKind::Retract, pass, w.to_vec(), rapid));
        let across = linker.run(RunKind::Rapid, pass, self.across.clone(), rapid);
        let approach = self.approach.map(|w| linker.at_feed(RunKind::Approach, pass, w.to_vec()));
        retract.into_iter().chain([across]).chain(approach).collect()
    }
}

impl Linker<'_> {
    /// From one lead to another, from over the part to the first lead, or from the last one away.
    pub(crate) fn airway(&self, from: Option<Pose>, to: Option<Pose>, detour: Detour) -> Airway {
        let lift_mm = self.clearance_mm + detour.along_axis_mm;
        let lifted = |p: Pose| Pose { tip: p.tip + p.axis * lift_mm, axis: p.axis };
        let (a, b) = (from.map(lifted), to.map(lifted));
        let retract = from.zip(a).map(|(from, a)| [from, a]);
        let approach = to.zip(b).map(|(to, b)| [b, to]);
        let up = |p: Pose, by: f64| Pose { tip: p.tip + self.frame.up * by, axis: p.axis };
        let rise = |a, b| self.rise_needed(a, b) + detour.upwards_mm;
        let (across, rise_mm) = match (a, b) {
            (Some(a), Some(b)) => match rise(a, b) {
                r if r > 0.0 => (vec![a, up(a, r), up(b, r), b], r),
                r => (vec![a, b], r),
            },
            (Some(a), None) => (vec![a, up(a, rise(a, a).max(self.clearance_mm))], 0.0),
            (None, Some(b)) => (vec![up(b, rise(b, b).max(self.clearance_mm)), b], 0.0),
            (None, None) => (Vec::new(), 0.0),
        };
        Airway { retract, across, approach, rise_mm }
    }

    /// Rise over a straight way at which the assembly passes over everything, mm. A turn of the
    /// axis on the way is checked where it happens.
    fn rise_needed(&self, a: Pose, b: Pose) -> f64 {
        let Some(map) = self.heights else { return 0.0 };
        let n = (a.tip.distance(b.tip) / STEP_MM).ceil().clamp(1.0, 400.0);
        (0..=n as usize)
            .map(|k| {
                let f = k as f64 / n;
                let at = Pose { tip: a.tip.lerp(b.tip, f), axis: slerp(a.axis, b.axis, f) };
                map.rise_mm(self.discs, &at, self.clearance_mm)
            })
            .fold(0.0, f64::max)
    }
}
