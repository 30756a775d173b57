//! Middle lines of the marked nodes of a grid: thinning (Zhang and Suen, Commun. ACM 27, 1984, from
//! memory), then the chains between ends and forks.

/// Marked nodes, row by row.
pub(crate) struct Mask {
    /// Nodes along both coordinates.
    pub(crate) size: [usize; 2],
    /// Whether each is marked.
    pub(crate) on: Vec<bool>,
}

/// The eight places round a node, counter-clockwise.
const ROUND: [(i64, i64); 8] =
    [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1)];

impl Mask {
    fn beside(&self, node: usize, (di, dj): (i64, i64)) -> Option<usize> {
        let i = (node % self.size[0]) as i64 + di;
        let j = (node / self.size[0]) as i64 + dj;
        let within = i >= 0 && j >= 0 && i < self.size[0] as i64 && j < self.size[1] as i64;
        within.then(|| j as usize * self.size[0] + i as usize)
    }

    fn round(&self, node: usize) -> [bool; 8] {
        ROUND.map(|d| self.beside(node, d).is_some_and(|m| self.on[m]))
    }

    /// Takes nodes off from outside until lines one node wide are left.
    pub(crate) fn thin(&mut self) {
        loop {
            let before = self.count();
            for second in [false, true] {
                let off: Vec<usize> = (0..self.on.len())
                    .filter(|k| self.on[*k] && is_loose(self.round(*k), second))
                    .collect();
                for k in off {
                    self.on[k] = false;
                }
            }
            if self.count() == before {
                return;
            }
        }
    }

    fn count(&self) -> usize {
        self.on.iter().filter(|on| **on).count()
    }

    /// Marked neighbours; one across a corner does not count where a straight way leads there.
    fn neighbours(&self, node: usize) -> Vec<usize> {
        let round = self.round(node);
        (0..8)
            .filter(|k| round[*k] && (k % 2 == 0 || !(round[k - 1] || round[(k + 1) % 8])))
            .filter_map(|k| self.beside(node, ROUND[k]))
            .collect()
    }

    /// Chains of nodes between ends and forks, both included; rings repeat their first node.
    pub(crate) fn chains(&self) -> Vec<Vec<usize>> {
        let near: Vec<Vec<usize>> = (0..self.on.len())
            .map(|k| if self.on[k] { self.neighbours(k) } else { Vec::new() })
            .collect();
        let mut used = std::collections::BTreeSet::new();
        let mut out = Vec::new();
        let tips = (0..near.len()).filter(|k| !near[*k].is_empty() && near[*k].len() != 2);
        let inner = (0..near.len()).filter(|k| near[*k].len() == 2);
        for start in tips.chain(inner) {
            for &next in &near[start] {
                if used.contains(&(start, next)) {
                    continue;
                }
                let mut chain = vec![start];
                let (mut here, mut there) = (start, next);
                loop {
                    used.insert((here, there));
                    used.insert((there, here));
                    chain.push(there);
                    if near[there].len() != 2 || there == start {
                        break;
                    }
                    let Some(&onward) = near[there].iter().find(|m| **m != here) else { break };
                    if used.contains(&(there, onward)) {
                        break;
                    }
                    (here, there) = (there, onward);
                }
                out.push(chain);
            }
        }
        out
    }
}

/// Whether a node may go in one of the two half-rounds of thinning.
fn is_loose(p: [bool; 8], second: bool) -> bool {
    let [east, _, north, _, west, _, south, _] = p;
    let marked = p.iter().filter(|on| **on).count();
    let rises = (0..8).filter(|k| !p[*k] && p[(k + 1) % 8]).count();
    let sides = if second {
        !north || !west || !(east || south)
    } else {
        !east || !south || !(north || west)
    };
    (2..=6).contains(&marked) && rises == 1 && sides
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(rows: &[&str]) -> Mask {
        let on = rows.iter().flat_map(|r| r.chars().map(|c| c == '#')).collect();
        Mask { size: [rows[0].len(), rows.len()], on }
    }

    #[test]
    fn a_bar_becomes_one_chain_along_its_middle() {
        let mut bar =
            drawn(&["..........", ".########.", ".########.", ".########.", ".........."]);
        bar.thin();
        let chains = bar.chains();
        assert_eq!(chains.len(), 1);
        assert!(chains[0].iter().all(|k| k / 10 == 2), "{chains:?}");
        assert!(chains[0].len() >= 5);
    }

    #[test]
    fn a_ring_closes_and_a_fork_has_three_chains() {
        let ring = drawn(&[".......", "..###..", ".#...#.", ".#...#.", "..###..", "......."]);
        let chains = ring.chains();
        assert_eq!(chains.len(), 1);
        assert_eq!(chains[0].first(), chains[0].last());
        let fork = drawn(&["...#...", "...#...", "...#...", "..#.#..", ".#...#.", "#.....#"]);
        assert_eq!(fork.chains().len(), 3);
    }
}
