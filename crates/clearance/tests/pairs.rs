//! No false pass: what is certified is never found to gouge by dense sampling.

mod random;

#[test]
fn no_false_pass_in_random_pairs() {
    let t = random::tally(0, 1200);
    assert_eq!(t.false_passes, 0, "{t:?}");
    // the test decides: it both passes and refuses a good share, and seldom shrugs
    assert!(t.passed > t.pairs / 5 && t.refused > t.pairs / 5, "{t:?}");
    assert!(t.needlessly_unproven * 50 < t.pairs, "{t:?}");
    // a refusal names a depth that is attained: sampling confirms it
    assert!(t.unconfirmed * 200 < t.pairs, "{t:?}");
}
