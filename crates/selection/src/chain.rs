//! The cheapest chain of stages of one pocket.

/// The stages of a pocket. Candidates are numbered from large to small: a stage after `a` is by a
/// candidate with a higher number.
#[derive(Debug, Clone, PartialEq)]
pub struct Pocket {
    /// Cost of each candidate's stage in the full pocket; infinite where it has none.
    pub first: Vec<f64>,
    /// `after[a][c]`: cost of candidate `c`'s stage on what `a` left; infinite where it has none.
    pub after: Vec<Vec<f64>>,
    /// Whether a chain may end with the candidate.
    pub finishes: Vec<bool>,
}

impl Pocket {
    /// The cheapest chain, with `weights[c]` added for each candidate on it: its cost, infinite
    /// where there is no chain, and its members from large to small.
    pub fn cheapest(&self, weights: &[f64]) -> (f64, Vec<usize>) {
        let n = weights.len();
        let mut cost = vec![f64::INFINITY; n];
        let mut before: Vec<Option<usize>> = vec![None; n];
        for c in 0..n {
            if weights[c] == f64::INFINITY {
                continue;
            }
            cost[c] = self.first[c];
            for a in 0..c {
                let through = cost[a] + self.after[a][c];
                if through < cost[c] {
                    (cost[c], before[c]) = (through, Some(a));
                }
            }
            cost[c] += weights[c];
        }
        let ends = (0..n).filter(|c| self.finishes[*c]);
        let Some(end) = ends.min_by(|a, b| cost[*a].total_cmp(&cost[*b])) else {
            return (f64::INFINITY, Vec::new());
        };
        let mut chain: Vec<usize> = std::iter::successors(Some(end), |c| before[*c]).collect();
        chain.reverse();
        if cost[end] == f64::INFINITY { (cost[end], Vec::new()) } else { (cost[end], chain) }
    }
}
