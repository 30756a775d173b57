//! Nodes in blocks of a fixed number, worked at in parallel; nothing depends on how many threads there
//! are.

use rayon::prelude::*;

/// Nodes of a block.
pub(super) const BLOCK: usize = 4096;

/// What `of` gives for every block, in their order.
pub(super) fn by_blocks<B: Send, R: Send>(
    blocks: impl Iterator<Item = B>,
    of: impl Fn(B) -> R + Sync + Send,
) -> Vec<R> {
    let blocks: Vec<B> = blocks.collect();
    match blocks.len() {
        0 | 1 => blocks.into_iter().map(of).collect(),
        _ => blocks.into_par_iter().map(of).collect(),
    }
}
