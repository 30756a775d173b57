//! Programs that a fit has not seen, on emulated machines of families that are told apart by one run
//! of the test program: bars for one machine of a family.

mod measure;

use emulator::zoo::{Chassis, Kind};
use measure::Tally;

#[test]
fn times_and_savings_of_unseen_programs_keep_to_their_bars() {
    for (kind, chassis, seed) in BARS {
        let (specimen, fit) = measure::machine(kind, chassis, seed);
        let all = measure::programs(&specimen, &fit, (seed, 1));
        let mut tally = Tally::default();
        tally.add(&all);
        println!("{kind:?} {chassis:?} {seed}: {}\n{}", fit.shape.words(), tally.words());
        all.iter().for_each(|t| println!("  {}", t.words()));
        let (median, most) = (tally.fitted(0.5), tally.fitted(0.95));
        assert!(median <= 0.02, "{kind:?}: median {median}");
        assert!(most <= 0.04, "{kind:?}: 95th percentile {most}");
        assert!(tally.savings_near() >= 0.9, "{kind:?}: savings {}", tally.savings_near());
        assert!(median < tally.sheet(0.5), "{kind:?}: the sheet alone is nearer");
    }
}

/// Machines of the families that meet the bars.
const BARS: [(Kind, Chassis, u64); 3] = [
    (Kind::Band, Chassis::Three, 7),
    (Kind::Stopping, Chassis::Three, 8),
    (Kind::Filtered, Chassis::Table, 3),
];
