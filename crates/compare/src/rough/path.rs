//! From plane clearings of layers to a toolpath: ways down, cuts, links and lifts at their feeds.

use super::levels::Layer;
use clearing::{Clearing, Kind};
use geom::Vec3;
use pattern::Frame;
use toolpath::{Contact, Pose, Run, RunKind, Toolpath};

/// Shorter moves are left out, mm: half of the usual chord, below what a control's blocks resolve.
const LEAST_MOVE_MM: f64 = 0.005;

/// Feeds and heights of the moves that do not cut a layer.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ways {
    pub(crate) frame: Frame,
    /// Feed while a layer is cut, mm/s.
    pub(crate) feed_mm_s: f64,
    /// Feed on the way down into material, mm/s.
    pub(crate) entry_mm_s: f64,
    /// Feed over cleared ground, mm/s.
    pub(crate) link_mm_s: f64,
    /// Height of ways through the air, mm.
    pub(crate) safe_mm: f64,
    /// How far over stock a rapid ends, mm.
    pub(crate) clearance_mm: f64,
    /// Tangent of the slope of helix and ramp.
    pub(crate) slope: f64,
}

/// Arc of contact on arriving at each pose, rad, for each run of a toolpath; empty where it does not
/// cut a layer.
pub(crate) type Arcs = Vec<Vec<f64>>;

/// A toolpath as it grows.
pub(crate) struct Path {
    ways: Ways,
    pub(crate) toolpath: Toolpath,
    pub(crate) arcs: Arcs,
    /// Depth of the layer that each run cuts, mm.
    pub(crate) depth_mm: Vec<f64>,
    at: Option<Vec3>,
    pass: usize,
}

impl Path {
    pub(crate) fn new(ways: Ways) -> Self {
        let toolpath = Toolpath::default();
        Self { ways, toolpath, arcs: Vec::new(), depth_mm: Vec::new(), at: None, pass: 0 }
    }

    fn place(&self, [x, y]: [f64; 2], z: f64) -> Vec3 {
        self.ways.frame.x * x + self.ways.frame.y * y + self.ways.frame.up * z
    }

    fn plan(&self, p: Vec3) -> [f64; 2] {
        self.ways.frame.plan(p).to_array()
    }

    /// A run through `points` from where the cutter stands.
    fn run(&mut self, kind: RunKind, points: &[Vec3], feed_mm_s: f64, arcs: Vec<f64>, depth: f64) {
        let axis = self.ways.frame.up;
        let mut tips: Vec<Vec3> = self.at.into_iter().collect();
        let mut kept: Vec<f64> = tips.iter().map(|_| 0.0).collect();
        for (i, p) in points.iter().enumerate() {
            if tips.last().is_none_or(|last| last.distance(*p) > LEAST_MOVE_MM) {
                tips.push(*p);
                kept.push(arcs.get(i).copied().unwrap_or(0.0));
            }
        }
        self.at = tips.last().copied();
        if tips.len() < 2 {
            return;
        }
        let contact = |tip: &Vec3| Contact { point: *tip, normal: axis };
        let cuts = kind.is_cut();
        self.arcs.push(if arcs.is_empty() { Vec::new() } else { kept });
        self.depth_mm.push(depth);
        self.toolpath.runs.push(Run {
            kind,
            pass: self.pass,
            contacts: if cuts { tips.iter().map(contact).collect() } else { Vec::new() },
            tip_feed_mm_s: vec![feed_mm_s; tips.len() - 1],
            poses: tips.into_iter().map(|tip| Pose { tip, axis }).collect(),
        });
        self.pass += usize::from(cuts);
    }

    fn air(&mut self, kind: RunKind, to: Vec3) {
        self.run(kind, &[to], f64::INFINITY, Vec::new(), 0.0);
    }

    /// Up, across, and down to a height over a place.
    fn over(&mut self, to: [f64; 2], height_mm: f64) {
        let safe = self.ways.safe_mm;
        if let Some(at) = self.at {
            let up = self.place(self.plan(at), safe);
            self.air(RunKind::Retract, up);
        }
        let above = self.place(to, safe);
        self.air(RunKind::Rapid, above);
        self.at = self.at.or(Some(above));
        let down = self.place(to, height_mm.min(safe));
        self.air(RunKind::Approach, down);
    }

    /// All of a layer.
    pub(crate) fn layer(&mut self, layer: &Layer, clearing: &Clearing) {
        let bottom = layer.bottom_mm;
        let mut down = false;
        for run in &clearing.runs {
            let (Some(first), Some(last)) = (run.points.first(), run.points.last()) else {
                continue;
            };
            if !down {
                let entry = run.kind == Kind::Entry;
                let from = layer.top_mm + if entry { self.ways.clearance_mm } else { 0.0 };
                self.over(*first, from);
                down = true;
            }
            let level = |p: &[f64; 2]| self.place(*p, bottom);
            match run.kind {
                Kind::Entry => self.entry(layer, &run.points),
                Kind::Link => {
                    let points: Vec<Vec3> = run.points.iter().map(level).collect();
                    self.run(RunKind::Link, &points, self.ways.link_mm_s, Vec::new(), 0.0);
                }
                Kind::Lift => {
                    let to = level(last);
                    self.over(*last, bottom + self.ways.clearance_mm);
                    self.run(RunKind::LeadIn, &[to], self.ways.link_mm_s, Vec::new(), 0.0);
                }
                Kind::Cut | Kind::Slot | Kind::Trochoid => {
                    let points: Vec<Vec3> = run.points.iter().map(level).collect();
                    let arcs = run.arc_of_contact_rad.clone();
                    self.beside(*first, layer);
                    self.run(RunKind::Cut, &points, self.ways.feed_mm_s, arcs, layer.depth_mm());
                }
            }
        }
    }

    /// Down to the layer beside the stock, where no entry led there.
    fn beside(&mut self, first: [f64; 2], layer: &Layer) {
        let to = self.place(first, layer.bottom_mm);
        let feed = self.ways.link_mm_s;
        self.run(RunKind::LeadIn, &[to], feed, Vec::new(), 0.0);
    }

    /// Down a helix, a ramp, or straight.
    fn entry(&mut self, layer: &Layer, points: &[[f64; 2]]) {
        let lengths = points.windows(2).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1]));
        let lengths: Vec<f64> = lengths.collect();
        let turn: f64 = lengths.iter().sum();
        let top = layer.top_mm;
        let feed = self.ways.entry_mm_s;
        let start = points[0];
        let touch = self.place(start, top);
        self.run(RunKind::LeadIn, &[touch], feed, Vec::new(), 0.0);
        if turn <= geom::tolerance::COINCIDENT_MM {
            let end = self.place(start, layer.bottom_mm);
            self.run(RunKind::LeadIn, &[end], feed, Vec::new(), 0.0);
            return;
        }
        let closed = start == points[points.len() - 1];
        let mut turns = (layer.depth_mm() / (turn * self.ways.slope)).ceil().max(1.0) as usize;
        // to and fro: the level leg that follows must end where the path goes on
        turns += usize::from(!closed && turns % 2 == 1);
        let fall = layer.depth_mm() / (turn * turns as f64);
        let mut way = Vec::new();
        let mut gone = 0.0;
        for k in 0..turns {
            let back = !closed && k % 2 == 1;
            for i in 0..lengths.len() {
                let j = if back { lengths.len() - 1 - i } else { i };
                gone += lengths[j];
                let to = if back { points[j] } else { points[j + 1] };
                way.push(self.place(to, top - gone * fall));
            }
        }
        way.extend(points[1..].iter().map(|p| self.place(*p, layer.bottom_mm)));
        self.run(RunKind::LeadIn, &way, feed, Vec::new(), 0.0);
    }

    /// Up to where the next operation starts from.
    pub(crate) fn finish(&mut self) {
        if let Some(at) = self.at {
            let up = self.place(self.plan(at), self.ways.safe_mm);
            self.air(RunKind::Retract, up);
        }
    }
}
