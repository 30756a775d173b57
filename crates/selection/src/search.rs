//! Branch and bound over the sets.

use crate::Problem;

/// Subgradient steps at the root and at every other node.
const STEPS: (usize, usize) = (300, 12);
/// Slack by which a bound must pass the incumbent before a node is dropped, relative: covers the
/// rounding of sums of some hundred terms.
const ROUNDING: f64 = 1e-12;

/// A set and what it costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Candidates of the set, ascending.
    pub members: Vec<usize>,
    /// Its cost.
    pub cost: f64,
}

#[derive(Clone, Copy, PartialEq)]
enum State {
    Open,
    Taken,
    Out,
}

/// The `count` cheapest sets, the cheapest first, equal costs in order of their members; fewer
/// where there are not so many sets that clear every pocket.
pub fn best_sets(problem: &Problem, count: usize) -> Vec<Choice> {
    let n = problem.fixed.len();
    let pockets = problem.pockets.len().max(1);
    let shares = problem.fixed.iter().map(|f| vec![f / pockets as f64; pockets]).collect();
    let mut search = Search { problem, count, found: Vec::new() };
    if count > 0 {
        search.node(&mut vec![State::Open; n], shares, STEPS.0);
    }
    search.found
}

/// `shares[c][p]`: what pocket `p` pays of candidate `c`'s fixed worth.
type Shares = Vec<Vec<f64>>;

struct Search<'a> {
    problem: &'a Problem,
    count: usize,
    found: Vec<Choice>,
}

impl Search<'_> {
    fn limit(&self) -> f64 {
        if self.found.len() < self.count {
            return f64::INFINITY;
        }
        self.found.last().map_or(f64::INFINITY, |c| c.cost)
    }

    fn node(&mut self, states: &mut [State], mut shares: Shares, steps: usize) {
        let taken = states.iter().filter(|s| **s == State::Taken).count();
        if taken > self.problem.places {
            return;
        }
        if taken == self.problem.places {
            let mut closed = states.to_vec();
            closed.iter_mut().filter(|s| **s == State::Open).for_each(|s| *s = State::Out);
            return self.offer(&closed);
        }
        let Some(wanted) = self.bound(states, &mut shares, steps) else { return };
        // first the candidate on whose use the pockets disagree most
        let open = (0..states.len()).filter(|c| states[*c] == State::Open);
        let Some(branch) = open.max_by_key(|c| (wanted[*c], std::cmp::Reverse(*c))) else {
            return self.offer(states);
        };
        let likely = wanted[branch] > 0;
        for take in [likely, !likely] {
            states[branch] = if take { State::Taken } else { State::Out };
            self.node(states, shares.clone(), STEPS.1);
        }
        states[branch] = State::Open;
    }

    /// How many pockets want each candidate under the best shares found; `None` where no set below
    /// the node can be among the best.
    fn bound(&mut self, states: &[State], shares: &mut Shares, steps: usize) -> Option<Vec<usize>> {
        let n = states.len();
        let pockets = self.problem.pockets.len();
        let fixed: f64 =
            (0..n).filter(|c| states[*c] == State::Taken).map(|c| self.problem.fixed[c]).sum();
        let mut best = (f64::NEG_INFINITY, shares.clone(), vec![0; n]);
        let mut stride = 1.0;
        for _ in 0..steps {
            let mut total = fixed;
            let mut uses = vec![Vec::new(); n];
            for (p, pocket) in self.problem.pockets.iter().enumerate() {
                let weight = |c: usize| match states[c] {
                    State::Open => shares[c][p],
                    State::Taken => 0.0,
                    State::Out => f64::INFINITY,
                };
                let (cost, chain) = pocket.cheapest(&(0..n).map(weight).collect::<Vec<_>>());
                total += cost;
                chain.into_iter().for_each(|c| uses[c].push(p));
            }
            if total == f64::INFINITY || total > self.limit() * (1.0 + ROUNDING) {
                return None;
            }
            if total > best.0 {
                best = (total, shares.clone(), uses.iter().map(Vec::len).collect());
            } else {
                stride *= 0.9;
            }
            for c in (0..n).filter(|c| states[*c] == State::Open) {
                step(&mut shares[c], &uses[c], pockets, stride * self.problem.fixed[c]);
            }
        }
        *shares = best.1;
        Some(best.2)
    }

    fn offer(&mut self, states: &[State]) {
        let flags: Vec<bool> = states.iter().map(|s| *s == State::Taken).collect();
        let Some(cost) = self.problem.cost(&flags) else { return };
        let members = (0..flags.len()).filter(|c| flags[*c]).collect();
        self.found.push(Choice { members, cost });
        self.found.sort_by(|a, b| a.cost.total_cmp(&b.cost).then(a.members.cmp(&b.members)));
        self.found.truncate(self.count);
    }
}

/// Moves the shares of one candidate towards the pockets that use it, `stride` in all; they stay
/// not negative and keep their sum.
fn step(shares: &mut [f64], users: &[usize], pockets: usize, stride: f64) {
    if users.is_empty() || users.len() == pockets {
        return;
    }
    let others = (pockets - users.len()) as f64;
    let mut given = 0.0;
    for (p, share) in shares.iter_mut().enumerate() {
        if users.binary_search(&p).is_err() {
            let take = share.min(0.5 * stride / others);
            *share -= take;
            given += take;
        }
    }
    users.iter().for_each(|p| shares[*p] += given / users.len() as f64);
}
