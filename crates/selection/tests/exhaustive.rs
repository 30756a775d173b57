//! The best sets against every set, one by one.

use proptest::prelude::*;
use selection::{Pocket, Problem, best_sets};

/// The cost of a set by walking every chain, apart from the search.
fn by_hand(problem: &Problem, set: u32) -> f64 {
    let n = problem.fixed.len();
    let has = |c: usize| set >> c & 1 == 1;
    fn walk(pocket: &Pocket, at: usize, so_far: f64, has: &dyn Fn(usize) -> bool) -> f64 {
        let end = if pocket.finishes[at] { so_far } else { f64::INFINITY };
        let next = (at + 1..pocket.first.len()).filter(|c| has(*c));
        next.map(|c| walk(pocket, c, so_far + pocket.after[at][c], has)).fold(end, f64::min)
    }
    let chain = |p: &Pocket| {
        let starts = (0..n).filter(|c| has(*c));
        starts.map(|c| walk(p, c, p.first[c], &has)).fold(f64::INFINITY, f64::min)
    };
    let fixed: f64 = (0..n).filter(|c| has(*c)).map(|c| problem.fixed[c]).sum();
    fixed + problem.pockets.iter().map(chain).sum::<f64>()
}

fn stage() -> impl Strategy<Value = f64> {
    prop_oneof![4 => 0.0..100.0, 1 => Just(f64::INFINITY), 1 => (0u8..5).prop_map(f64::from)]
}

fn pocket(n: usize) -> impl Strategy<Value = Pocket> {
    let row = || prop::collection::vec(stage(), n);
    (row(), prop::collection::vec(row(), n), prop::collection::vec(any::<bool>(), n))
        .prop_map(|(first, after, finishes)| Pocket { first, after, finishes })
}

fn problem() -> impl Strategy<Value = Problem> {
    (1usize..=8, 1usize..=5, 1usize..=8).prop_flat_map(|(n, pockets, places)| {
        let fixed = prop::collection::vec(prop_oneof![0.0..40.0, Just(5.0)], n);
        let pockets = prop::collection::vec(pocket(n), pockets);
        (fixed, pockets).prop_map(move |(fixed, pockets)| Problem { fixed, pockets, places })
    })
}

fn check(problem: &Problem) {
    let n = problem.fixed.len();
    let sets = (0u32..1 << n).filter(|s| s.count_ones() as usize <= problem.places);
    let mut costs: Vec<f64> = sets.map(|s| by_hand(problem, s)).filter(|c| c.is_finite()).collect();
    costs.sort_by(f64::total_cmp);
    costs.truncate(4);
    let found = best_sets(problem, 4);
    assert_eq!(found.len(), costs.len());
    for (choice, cost) in found.iter().zip(&costs) {
        assert!((choice.cost - cost).abs() <= 1e-9 * cost.max(1.0), "{found:?} {costs:?}");
        let set = choice.members.iter().fold(0, |s, c| s | 1 << c);
        assert!((by_hand(problem, set) - choice.cost).abs() <= 1e-9 * cost.max(1.0));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..Default::default() })]
    #[test]
    fn the_four_best_sets_are_those_of_all(problem in problem()) {
        check(&problem);
    }
}
