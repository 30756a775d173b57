//! Fixed cycles written out as moves, dwells and turns of the spindle.

use crate::block::{Block, bit};
use crate::dialect::{Cycle, CycleDepth, CycleRun};
use crate::fault::{Complaint, complaint};
use crate::run::{FeedMode, Reader};
use crate::words::{LINEAR, ROTARY};
use geom::Vec3;
use machine::Event;
use machine::track::{Feed, Place, Shape};

/// Most pecks of one hole.
const MOST_PECKS: f64 = 10_000.0;

/// What is modal of a cycle; levels along the axis on the plane, programmed coordinates, mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Hole {
    /// The cycle that a call runs.
    pub(crate) defined: Option<Cycle>,
    /// Place from which the cycle began.
    from: Vec3,
    near: Option<f64>,
    depth: Option<f64>,
    peck_mm: f64,
    dwell_s: f64,
}

/// One step of a hole.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Step {
    Rapid(f64),
    Feed(f64),
    Dwell,
    /// The spindle at this multiple of its speed.
    Spindle(f64),
    Orient,
    /// Across by this share of Q.
    Aside(f64),
}

/// Levels of one hole.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Levels {
    near: f64,
    depth: f64,
    back: f64,
    peck: f64,
    clearance: f64,
    chip_break: f64,
}

fn steps(cycle: Cycle, l: &Levels) -> Vec<Step> {
    use Step::{Aside, Dwell, Feed, Orient, Rapid, Spindle};
    let (near, depth, back) = (l.near, l.depth, l.back);
    match cycle {
        Cycle::Drill => vec![Rapid(near), Feed(depth), Rapid(back)],
        Cycle::DrillDwell => vec![Rapid(near), Feed(depth), Dwell, Rapid(back)],
        Cycle::Peck | Cycle::ChipBreak => pecks(cycle == Cycle::Peck, l),
        Cycle::Tap => {
            let turn = [Dwell, Spindle(-1.0), Feed(near), Spindle(1.0), Rapid(back)];
            [Rapid(near), Feed(depth)].into_iter().chain(turn).collect()
        }
        Cycle::Bore => vec![Rapid(near), Feed(depth), Feed(near), Rapid(back)],
        Cycle::BoreDwell => vec![Rapid(near), Feed(depth), Dwell, Feed(near), Rapid(back)],
        Cycle::BoreStop | Cycle::BoreHand => {
            vec![Rapid(near), Feed(depth), Dwell, Spindle(0.0), Rapid(back), Spindle(1.0)]
        }
        Cycle::BoreOrient => {
            let off = [Dwell, Spindle(0.0), Orient, Aside(1.0), Rapid(back), Aside(-1.0)];
            let mut all = vec![Rapid(near), Feed(depth)];
            all.extend(off);
            all.push(Spindle(1.0));
            all
        }
        Cycle::BoreBack => vec![
            Spindle(0.0),
            Orient,
            Aside(1.0),
            Rapid(near),
            Aside(-1.0),
            Spindle(1.0),
            Feed(depth),
            Dwell,
            Spindle(0.0),
            Orient,
            Aside(1.0),
            Rapid(back),
            Aside(-1.0),
            Spindle(1.0),
        ],
    }
}

fn pecks(out_of_the_hole: bool, l: &Levels) -> Vec<Step> {
    let total = l.depth - l.near;
    let towards = total.signum();
    let mut all = vec![Step::Rapid(l.near)];
    let count = if l.peck > 0.0 { (total.abs() / l.peck).ceil().max(1.0) as usize } else { 1 };
    for i in 1..=count {
        let level = if i == count { l.depth } else { l.near + towards * l.peck * i as f64 };
        if i > 1 {
            let before = l.near + towards * l.peck * (i - 1) as f64;
            if out_of_the_hole {
                let clear = l.clearance.min(l.peck * (i - 1) as f64);
                all.push(Step::Rapid(l.near));
                all.push(Step::Rapid(before - towards * clear));
            } else {
                all.push(Step::Rapid(before - towards * l.chip_break.min(l.peck)));
            }
        }
        all.push(Step::Feed(level));
    }
    all.push(Step::Rapid(l.back));
    all
}

impl Hole {
    /// A cycle begins at that place.
    pub(crate) fn begin(from: Vec3) -> Self {
        Self { from, ..Self::default() }
    }
}

impl Reader<'_> {
    /// Takes the cycle's words of the block.
    fn cycle_words(&mut self, block: &Block) {
        let axis = self.state.plane.normal;
        let incremental = self.state.incremental;
        let from = self.state.hole.from[axis];
        let places = self.dialect.cycle_depth == CycleDepth::Places;
        if let Some(r) = self.length(block, b'R') {
            self.state.hole.near = Some(if incremental { from + r } else { r });
        }
        let near = self.state.hole.near;
        if let Some(z) = self.length(block, b"XYZ"[axis]) {
            let level = near.unwrap_or(from);
            self.state.hole.depth = Some(match (places, incremental) {
                (true, false) => z,
                (true, true) => level + z,
                (false, _) => level - z.abs(),
            });
        }
        if let Some(q) = self.length(block, b'Q') {
            self.state.hole.peck_mm = q.abs();
        }
        if let Some(seconds) = Self::seconds(block, b'P', self.dialect.cycle_dwell) {
            self.state.hole.dwell_s = seconds.max(0.0);
        }
    }

    /// A cycle that is only defined, to be called later.
    pub(crate) fn define_cycle(&mut self, block: &Block) -> Result<(), Complaint> {
        let axis = self.state.plane.normal;
        let across = (LINEAR & !bit(b"XYZ"[axis])) | ROTARY;
        if block.any(across) {
            return Err(complaint(
                b'G',
                "a place in the block that defines a cycle",
                "places in the blocks that call it",
                "write the place in a block with the call word",
            ));
        }
        self.cycle_words(block);
        Ok(())
    }

    /// Runs the cycle at the place of this block, where it is to be run.
    pub(crate) fn hole(
        &mut self,
        block: &Block,
        cycle: Cycle,
        begins: bool,
    ) -> Result<(), Complaint> {
        let every = self.dialect.cycle_run == CycleRun::EveryPlace;
        if every {
            self.cycle_words(block);
            if !begins && !block.any(LINEAR | ROTARY | bit(b'R')) {
                return Ok(());
            }
        } else {
            self.state.hole.from = self.state.programmed;
        }
        let axis = self.state.plane.normal;
        let times = block.get(b'L').or(block.get(b'K')).unwrap_or(1.0);
        if !(0.0..=1e5).contains(&times) || times.fract() != 0.0 {
            let message = format!("a cycle cannot be run {times} times");
            return Err(complaint(b'L', message, "a whole number", "correct the repeats"));
        }
        for _ in 0..times as u32 {
            let level = self.state.programmed[axis];
            let (mut at, rotary) = self.target(block);
            at[axis] = level;
            self.one_hole(block, cycle, at, rotary)?;
            if self.track.moves.len() as u64 > self.options.most_blocks {
                let message =
                    format!("the program has more than {} moves", self.options.most_blocks);
                return Err(complaint(b'L', message, "fewer repeats", "correct the repeats"));
            }
        }
        Ok(())
    }

    fn levels(&self, cycle: Cycle) -> Result<Levels, Complaint> {
        let hole = &self.state.hole;
        let axis = self.state.plane.normal;
        let missing = |what: &str| {
            complaint(
                b'G',
                format!("the cycle has no {what}"),
                "R and the depth in the cycle's first block",
                format!("add {what}"),
            )
        };
        let near = hole.near.ok_or_else(|| missing("R"))?;
        let depth = hole.depth.ok_or_else(|| missing("depth"))?;
        let far = hole.from[axis];
        let upward = if cycle == Cycle::BoreBack { depth - near } else { near - depth };
        let back = if self.state.return_near && cycle != Cycle::BoreBack {
            near
        } else if upward >= 0.0 {
            far.max(near)
        } else {
            far.min(near)
        };
        let peck = hole.peck_mm;
        if peck > 0.0 && (depth - near).abs() / peck > MOST_PECKS {
            let message = format!("a hole in more than {MOST_PECKS} pecks");
            return Err(complaint(b'Q', message, "a deeper peck", "correct Q"));
        }
        if self.state.feed_mode == FeedMode::InverseTime {
            let expected = "feed per minute or per revolution";
            let message = "a fixed cycle under inverse-time feed";
            return Err(complaint(b'G', message, expected, "write G94 before it"));
        }
        Ok(Levels {
            near,
            depth,
            back,
            peck,
            clearance: self.dialect.peck_clearance_mm,
            chip_break: self.dialect.chip_break_mm,
        })
    }

    fn one_hole(
        &mut self,
        block: &Block,
        cycle: Cycle,
        at: Vec3,
        rotary: [f64; 2],
    ) -> Result<(), Complaint> {
        let levels = self.levels(cycle)?;
        let (line, axis) = (block.line, self.state.plane.normal);
        let across = self.state.plane.first;
        let rpm = self.state.rpm;
        // across at the level where it stands, but never below the level of R
        let below = (levels.near - levels.depth) * (levels.near - at[axis]) > 0.0;
        if below && cycle != Cycle::BoreBack {
            let mut up = self.state.programmed;
            up[axis] = levels.near;
            self.rapid_to(line, Place { linear: self.state.out(up), ..self.state.place });
        }
        let mut here = at;
        if below && cycle != Cycle::BoreBack {
            here[axis] = levels.near;
        }
        self.rapid_to(line, Place { linear: self.state.out(here), rotary });
        for step in steps(cycle, &levels) {
            match step {
                Step::Rapid(level) => {
                    here[axis] = level;
                    self.rapid_to(line, Place { linear: self.state.out(here), rotary });
                }
                Step::Feed(level) => {
                    here[axis] = level;
                    let to = Place { linear: self.state.out(here), rotary };
                    if to != self.state.place {
                        let feed: Feed = self.cutting(block, &to)?;
                        self.push(line, to, Shape::Line, feed);
                    }
                }
                Step::Dwell if self.state.hole.dwell_s > 0.0 => {
                    self.wait(line, Event::Dwell(self.state.hole.dwell_s));
                }
                Step::Dwell => {}
                Step::Spindle(share) => self.spindle(line, share * rpm),
                Step::Orient => self.wait(line, Event::Word("M19".into())),
                Step::Aside(share) => {
                    here[across] += share * self.state.hole.peck_mm;
                    self.rapid_to(line, Place { linear: self.state.out(here), rotary });
                }
            }
        }
        self.state.programmed = here;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn levels(peck: f64) -> Levels {
        Levels { near: 2.0, depth: -10.0, back: 50.0, peck, clearance: 1.0, chip_break: 0.5 }
    }

    #[test]
    fn pecks_end_at_the_depth_and_never_below() {
        for (peck, count) in [(0.0, 1), (5.0, 3), (12.0, 1), (4.0, 3), (0.7, 18)] {
            let all = steps(Cycle::Peck, &levels(peck));
            let feeds: Vec<f64> = all
                .iter()
                .filter_map(|s| if let Step::Feed(z) = s { Some(*z) } else { None })
                .collect();
            assert_eq!(feeds.len(), count, "{peck}");
            assert_eq!(feeds.last(), Some(&-10.0));
            assert!(feeds.iter().all(|z| *z >= -10.0));
        }
    }

    #[test]
    fn a_chip_breaking_peck_stays_in_the_hole() {
        let all = steps(Cycle::ChipBreak, &levels(5.0));
        let expected = [
            Step::Rapid(2.0),
            Step::Feed(-3.0),
            Step::Rapid(-2.5),
            Step::Feed(-8.0),
            Step::Rapid(-7.5),
            Step::Feed(-10.0),
            Step::Rapid(50.0),
        ];
        assert_eq!(all, expected);
    }
}
