//! Blocks that are read while the axes move and stand: what is waited for where the reading falls
//! behind.
//!
//! Block k is read within the block time once block k−1 is, and once there is room for it: block k−N
//! has begun. It begins when the one before is done, and is read itself. Both are sums and maxima over
//! the blocks in order (derived); what stopping for want of a block costs is left out.

use super::drive::Driven;
use super::limit::Limit;
use crate::Dynamics;
use crate::route::Route;

/// A block: the last of its intervals and when the axes are through with it, if nothing is waited for.
struct Block {
    stretch: usize,
    interval: usize,
    time_s: f64,
}

/// Adds the time that is waited for blocks to the intervals before which it is.
pub(super) fn wait_for_blocks(route: &Route, dynamics: &Dynamics, driven: &mut [Driven]) {
    let block_s = dynamics.block_time_s;
    if block_s <= 0.0 {
        return;
    }
    let blocks = blocks(route, driven, dynamics.in_position_s);
    let room = if dynamics.look_ahead < blocks.len() as f64 {
        (dynamics.look_ahead.round() as usize).max(1)
    } else {
        blocks.len()
    };
    let mut begun: Vec<f64> = Vec::with_capacity(blocks.len());
    let (mut read_s, mut done_s) = (0.0f64, 0.0f64);
    for (k, block) in blocks.iter().enumerate() {
        if let Some(freed_s) = k.checked_sub(room).map(|j| begun[j]) {
            read_s = read_s.max(freed_s);
        }
        read_s += block_s;
        let waited_s = (read_s - done_s).max(0.0);
        begun.push(done_s + waited_s);
        done_s += waited_s + block.time_s;
        if waited_s > 0.0 {
            let at = &mut driven[block.stretch];
            at.time_s[block.interval] += waited_s;
            if waited_s > 0.5 * at.time_s[block.interval] {
                at.limit[block.interval] = Limit::BlockTime;
            }
        }
    }
}

fn blocks(route: &Route, driven: &[Driven], settling_s: f64) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    let mut run = None;
    for (stretch, (path, driven)) in route.stretches.iter().zip(driven).enumerate() {
        for (interval, (span, time_s)) in path.spans.iter().zip(&driven.time_s).enumerate() {
            let own = route.legs[span.leg as usize].run;
            if run != Some(own) {
                run = Some(own);
                blocks.push(Block { stretch, interval, time_s: 0.0 });
            }
            if let Some(block) = blocks.last_mut() {
                block.time_s += time_s;
                block.interval = interval;
            }
        }
        if let Some(block) = blocks.last_mut() {
            block.time_s += driven.after_s + settling_s;
        }
    }
    blocks
}
