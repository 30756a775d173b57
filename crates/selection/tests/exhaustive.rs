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

/// Every set's cost from the end of its chains, apart from the search: what is still to pay once a
/// candidate has run.
fn from_the_end(problem: &Problem, set: u32) -> f64 {
    let n = problem.fixed.len();
    let members: Vec<usize> = (0..n).filter(|c| set >> c & 1 == 1).collect();
    let chain = |pocket: &Pocket| {
        let mut to_pay = vec![f64::INFINITY; n];
        for (k, &c) in members.iter().enumerate().rev() {
            let end = if pocket.finishes[c] { 0.0 } else { f64::INFINITY };
            let next = members[k + 1..].iter().map(|&s| pocket.after[c][s] + to_pay[s]);
            to_pay[c] = next.fold(end, f64::min);
        }
        members.iter().map(|&c| pocket.first[c] + to_pay[c]).fold(f64::INFINITY, f64::min)
    };
    let fixed: f64 = members.iter().map(|c| problem.fixed[*c]).sum();
    fixed + problem.pockets.iter().map(chain).sum::<f64>()
}

fn check_all(problem: &Problem) {
    let n = problem.fixed.len();
    let sets = (0u32..1 << n).filter(|s| s.count_ones() as usize <= problem.places);
    let mut costs: Vec<f64> =
        sets.map(|s| from_the_end(problem, s)).filter(|c| c.is_finite()).collect();
    costs.sort_by(f64::total_cmp);
    costs.truncate(4);
    let found = best_sets(problem, 4);
    assert_eq!(found.len(), costs.len());
    for (choice, cost) in found.iter().zip(&costs) {
        assert!((choice.cost - cost).abs() <= 1e-9 * cost.max(1.0), "{found:?} {costs:?}");
        assert!(choice.members.len() <= problem.places);
        let set = choice.members.iter().fold(0, |s, c| s | 1 << c);
        assert!((from_the_end(problem, set) - choice.cost).abs() <= 1e-9 * cost.max(1.0));
    }
}

/// A shop of up to twelve cutters, as its stages would be: areas by size, rates with scatter, prices by
/// cutter, cutters that do not fit or do not reach, places from too few to more than enough.
fn shop() -> impl Strategy<Value = Problem> {
    let cutter = (1.5..25.0f64, 0.7..1.3f64, prop_oneof![Just(5.0), 0.0..40.0]);
    let room = (2000.0..50_000.0f64, 5.0..45.0f64, 0.05..0.5f64, any::<u16>());
    (prop::collection::vec(cutter, 9..=12), prop::collection::vec(room, 1..=8), 1usize..=13)
        .prop_map(|(mut cutters, rooms, places)| {
            cutters.sort_by(|a, b| b.0.total_cmp(&a.0));
            let n = cutters.len();
            let rate = |c: usize| cutters[c].0.powf(1.7) * cutters[c].1;
            let pocket = |(volume, width, corner, reaches): &(f64, f64, f64, u16)| {
                let works = |c: usize| cutters[c].0 < *width && reaches >> c & 1 == 0;
                let left = |c: usize| volume * (cutters[c].0 / width).powi(2) * 0.4;
                let stage = |is: bool, cost: f64| if is { cost } else { f64::INFINITY };
                let first = (0..n).map(|c| stage(works(c), (volume - left(c)) / rate(c)));
                let after = |a: usize, c: usize| {
                    stage(a < c && works(a) && works(c), (left(a) - left(c)).max(0.0) / rate(c))
                };
                Pocket {
                    first: first.collect(),
                    after: (0..n).map(|a| (0..n).map(|c| after(a, c)).collect()).collect(),
                    finishes: (0..n)
                        .map(|c| works(c) && cutters[c].0 <= 0.9 * corner * width)
                        .collect(),
                }
            };
            let pockets = rooms.iter().map(pocket).filter(|p| p.finishes.contains(&true)).collect();
            Problem { fixed: cutters.iter().map(|c| c.2).collect(), pockets, places }
        })
}

fn random_of_twelve() -> impl Strategy<Value = Problem> {
    (9usize..=12, 1usize..=4, 1usize..=12).prop_flat_map(|(n, pockets, places)| {
        let fixed = prop::collection::vec(prop_oneof![0.0..40.0, Just(5.0), Just(0.0)], n);
        let pockets = prop::collection::vec(pocket(n), pockets);
        (fixed, pockets).prop_map(move |(fixed, pockets)| Problem { fixed, pockets, places })
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..Default::default() })]
    #[test]
    fn up_to_twelve_cutters_of_a_shop_are_chosen_as_by_trying_all(problem in shop()) {
        check_all(&problem);
    }

    #[test]
    fn up_to_twelve_cutters_of_any_worth_are_chosen_as_by_trying_all(problem in random_of_twelve()) {
        check_all(&problem);
    }
}
