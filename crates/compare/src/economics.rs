//! What one part costs, line by line.
//!
//! Machine time, set-up shared by the lot, cutters worn, and the time to change worn ones:
//! `(cut + idle) r + price/edges · cut/life + change · cut/life · r + setup · r / lot`
//! (the usual account of machining economics; derived: each line is a price times a share).

use study::outcome::{Assumed, CostLine};
use study::{Study, StudyCutter};
use units::Interval;

/// Cutting time that a cutter is taken to last where nothing better is known, min.
pub(crate) const LIFE_MIN: f64 = 90.0;
/// Range of that time, min.
pub(crate) const LIFE_RANGE_MIN: Interval = Interval { low: 30.0, high: 270.0 };

/// Time of one cutter in cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Use<'a> {
    /// The cutter.
    pub(crate) cutter: &'a StudyCutter,
    /// Its time in cut for one part, s.
    pub(crate) cut_s: f64,
}

/// Rates that cost is reckoned with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Rates {
    /// Machine, per s.
    pub(crate) machine_per_s: f64,
    /// Set-up of a lot, s.
    pub(crate) setup_s: f64,
    /// Parts of a lot.
    pub(crate) lot: f64,
}

impl Rates {
    /// The study's rates; `None` where the machine has no price.
    pub(crate) fn of(study: &Study) -> Option<Self> {
        Some(Self {
            machine_per_s: study.machine.rate_per_hour? / 3600.0,
            setup_s: study.setup_s,
            lot: study.lot_size,
        })
    }
}

/// Cost of one part from its cycle time and its cutters' use, at the assumed life times
/// `life_factors` (one for each use).
pub(crate) fn per_part(rates: &Rates, time_s: f64, uses: &[Use<'_>], life_factors: &[f64]) -> f64 {
    let machine = rates.machine_per_s * (time_s + rates.setup_s / rates.lot);
    let worn = uses.iter().zip(life_factors).map(|(u, f)| wear(rates, u, *f)).map(|(a, b)| a + b);
    machine + worn.sum::<f64>()
}

/// Cutter price and change time of one use, per part.
fn wear(rates: &Rates, used: &Use<'_>, life_factor: f64) -> (f64, f64) {
    let lives = used.cut_s / (60.0 * LIFE_MIN * life_factor);
    let price = used.cutter.price.unwrap_or(0.0) / f64::from(used.cutter.edges.max(1));
    let change_s = used.cutter.change_s.unwrap_or(0.0);
    (price * lives, change_s * lives * rates.machine_per_s)
}

/// The lines of the account.
pub(crate) fn lines(rates: Option<&Rates>, time_s: f64, uses: &[Use<'_>]) -> Vec<CostLine> {
    let line = |what: &str, per_part: Option<f64>, rests_on: &str| CostLine {
        what: what.to_owned(),
        per_part,
        rests_on: rests_on.to_owned(),
    };
    let worn = |pick: fn((f64, f64)) -> f64| -> Option<f64> {
        let rates = rates?;
        Some(uses.iter().map(|u| pick(wear(rates, u, 1.0))).sum())
    };
    let priced = uses.iter().all(|u| u.cutter.price.is_some());
    vec![
        line(
            "machine, cycle time",
            rates.map(|r| r.machine_per_s * time_s),
            "machine rate times predicted cycle time",
        ),
        line(
            "set-up",
            rates.map(|r| r.machine_per_s * r.setup_s / r.lot),
            "machine rate times set-up over the lot",
        ),
        line(
            "cutters worn",
            worn(|w| w.0).filter(|_| priced),
            "price per use times time in cut over an assumed life",
        ),
        line(
            "changing worn cutters",
            worn(|w| w.1),
            "machine rate times change over an assumed life",
        ),
    ]
}

/// The life that is assumed for a cutter.
pub(crate) fn assumed_life(cutter: &StudyCutter) -> Assumed {
    Assumed {
        key: format!("life_min of cutter {}", cutter.id),
        value: LIFE_MIN,
        range: LIFE_RANGE_MIN,
        because: "no tool life is computed or given; common practice, no source".to_owned(),
    }
}
