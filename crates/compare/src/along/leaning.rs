//! Moves of a tool that may lean: engagement by height along its own axis, from columns in three
//! directions.

use super::Stretch;
use super::tally::Motion;
use super::way::Way;
use stock::{Leaning, Sweep, Three};

/// Rings of the cutter's profile are no longer than this share of its radius.
const RING_SHARE: f64 = 0.1;

impl Stretch<'_> {
    pub(super) fn leaning(&mut self, ways: impl Iterator<Item = Way>, stock: &mut Three) {
        let mut ways = ways.peekable();
        while let Some(way) = ways.peek() {
            if way.rapid {
                self.rapid(way, stock);
                ways.next();
                continue;
            }
            let cutter = &self.held.assembly.cutter;
            let width_mm = RING_SHARE * cutter.profile().largest_radius_mm();
            let mut leaning = Leaning::new(stock, cutter, way.stances[0], width_mm);
            let mut since = Since::default();
            while let Some(way) = ways.next_if(|w| !w.rapid) {
                let last = ways.peek().is_none_or(|w| w.rapid);
                self.go(&way, last, &mut leaning, &mut since);
            }
            self.tally.volume_mm3 += leaning.finish();
        }
    }

    fn rapid(&mut self, way: &Way, stock: &mut Three) {
        let profile = self.held.assembly.cutter.profile();
        let mut all = stock::Taken::default();
        for (a, b) in way.stances.windows(2).map(|w| (w[0], w[1])) {
            let axis = (a.1 + b.1).normalize_or(b.1);
            let sweep = Sweep { body: profile.kernel(), from: a.0, to: b.0, axis };
            let here = stock.cut(&sweep, Three::reach_mm(profile));
            all.volume_mm3 += here.volume_mm3;
            all.deepest_mm = all.deepest_mm.max(here.deepest_mm);
        }
        self.rapids.note(way.block, all);
    }

    fn go(&mut self, way: &Way, last: bool, leaning: &mut Leaning<'_>, since: &mut Since) {
        let pieces = way.stances.len() - 1;
        let piece_s = way.time_s / pieces as f64;
        for (k, to) in way.stances.iter().enumerate().skip(1) {
            // the reader lets no place pass that is none
            if leaning.pass(*to).is_err() {
                continue;
            }
            since.s += piece_s;
            since.mm += way.length_mm / pieces as f64;
            // short moves are looked at together
            if since.mm < 0.5 * self.look_mm && !(last && k == pieces) {
                continue;
            }
            let look = leaning.look();
            let speed = |mm: f64| if piece_s > 0.0 { mm / piece_s } else { 0.0 };
            let motion = Motion {
                time_s: since.s,
                across_mm_s: speed(look.across_mm),
                along_mm_s: speed(look.along_mm),
                rpm: self.rpm,
            };
            self.tally.look(self.held.cutter, &look.slices, self.law, &motion);
            *since = Since::default();
        }
    }
}

/// What was passed since the last look.
#[derive(Default)]
struct Since {
    mm: f64,
    s: f64,
}
