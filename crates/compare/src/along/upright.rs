//! Moves of an upright tool: engagement along the way, from columns along its axis.

use super::tally::Motion;
use super::{Leg, Stretch};
use geom::Vec3;
use machine::Kinematics;
use machine::track::{Feed, Place};
use nc::Program;
use stock::{Columns, Cutting, Sweep, Tiles};

/// Rings of the cutter's profile are no longer than this share of its radius.
const RING_SHARE: f64 = 0.25;

impl Leg {
    pub(super) fn new(i: usize, program: &Program, kinematics: &Kinematics, times: &[f64]) -> Self {
        let step = program.track.moves[i];
        let tip = |p: &Place| kinematics.converted(p, step.frame, machine::track::Frame::Tip);
        let from = tip(&program.track.before(i, kinematics));
        Self { step, from: from.linear, to: tip(&step.to).linear, time_s: times[i] }
    }

    fn start(&self) -> Place {
        Place { linear: self.from, rotary: self.step.to.rotary }
    }

    fn is_rapid(&self) -> bool {
        self.step.feed == Feed::Rapid
    }
}

impl Stretch<'_> {
    pub(super) fn upright(&mut self, legs: &[Leg], (stock, tiles): (&mut Columns, &mut Tiles)) {
        let before_mm3 = stock.volume_mm3();
        let profile = self.held.assembly.cutter.profile();
        let reach_mm = profile.top_mm().hypot(profile.largest_radius_mm());
        for run in legs.chunk_by(|a, b| a.is_rapid() == b.is_rapid()) {
            if !run[0].is_rapid() {
                // the tiles' tops stay too high: that costs time, not truth
                self.at_feed(run, stock);
                continue;
            }
            for leg in run {
                let body = profile.kernel();
                let sweep = Sweep { body, from: leg.from, to: leg.to, axis: Vec3::Z };
                let taken = tiles.cut(stock, &sweep, reach_mm);
                self.rapids.note(leg.step.block, taken);
            }
        }
        self.tally.volume_mm3 += before_mm3 - stock.volume_mm3() - self.rapids.volume_mm3;
    }

    fn at_feed(&mut self, run: &[Leg], stock: &mut Columns) {
        let cutter = &self.held.assembly.cutter;
        let width_mm = RING_SHARE * cutter.profile().largest_radius_mm();
        let mut cutting = Cutting::new(stock, cutter, run[0].from, width_mm);
        let mut at = run[0].from;
        let (mut since_mm, mut since_s) = (0.0, 0.0);
        for (n, leg) in run.iter().enumerate() {
            let length_mm = super::length(&leg.start(), &leg.step);
            let count = (length_mm / self.look_mm).ceil().max(1.0) as u32;
            for k in 1..=count {
                let t = f64::from(k) / f64::from(count);
                let end = Place { linear: leg.to, ..leg.step.to };
                let to = super::along(&leg.start(), &end, &leg.step, t);
                // the reader lets no place pass that is none
                if cutting.pass(to).is_err() {
                    continue;
                }
                let way = to - at;
                at = to;
                since_mm += length_mm / f64::from(count);
                since_s += leg.time_s / f64::from(count);
                let last = n + 1 == run.len() && k == count;
                // short moves are looked at together
                if since_mm < 0.5 * self.look_mm && !last {
                    continue;
                }
                let speed_mm_s = if since_s > 0.0 { since_mm / since_s } else { 0.0 };
                let steep = way.z / way.length().max(f64::MIN_POSITIVE);
                let motion = Motion {
                    time_s: since_s,
                    across_mm_s: speed_mm_s * (1.0 - steep * steep).max(0.0).sqrt(),
                    along_mm_s: speed_mm_s * steep,
                    rpm: self.rpm,
                };
                self.tally.look(self.held.cutter, &cutting.look(), self.law, &motion);
                (since_mm, since_s) = (0.0, 0.0);
            }
        }
        // as above
        let _ = cutting.finish();
    }
}
