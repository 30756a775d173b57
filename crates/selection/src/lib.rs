//! Which cutters to load: the set whose fixed worths and cheapest chains of stages sum least,
//! proven by branch and bound.
//!
//! A set costs the fixed worth of each of its members, and for each pocket its cheapest chain of
//! stages from large to small that ends with a finisher of that pocket. A node of the search has
//! members taken, left out and open. Its bound lets every pocket pay a share of the open members'
//! fixed worths along its own chain; the shares of one member sum to its worth, so no set below the
//! node can cost less (Lagrangian bound of a location problem). Shares are improved by subgradient
//! steps. Everything is deterministic.

mod chain;
mod search;

pub use chain::Pocket;
pub use search::{Choice, best_sets};

/// The choice of a set: worths of the candidates and the pockets to clear.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// What loading each candidate costs, in the unit of the stages; not negative.
    pub fixed: Vec<f64>,
    /// The pockets.
    pub pockets: Vec<Pocket>,
    /// Most members of a set.
    pub places: usize,
}

impl Problem {
    /// What a set costs; `None` where a pocket cannot be cleared with it. `members` holds one flag
    /// for each candidate.
    pub fn cost(&self, members: &[bool]) -> Option<f64> {
        let loaded = self.fixed.iter().zip(members).filter(|(_, m)| **m);
        let fixed: f64 = loaded.map(|(f, _)| f).sum();
        let weights: Vec<f64> =
            members.iter().map(|m| if *m { 0.0 } else { f64::INFINITY }).collect();
        let chains: f64 = self.pockets.iter().map(|p| p.cheapest(&weights).0).sum();
        let cost = fixed + chains;
        cost.is_finite().then_some(cost)
    }
}
