//! What one part costs, line by line.
//!
//! Machine time, set-up shared by the lot, cutters worn, and the time to change worn ones:
//! `(cut + idle) r + price/edges · cut/life + change · cut/life · r + setup · r / lot`
//! (the usual account of machining economics; derived: each line is a price times a share).

use study::outcome::{Assumed, CostLine, Life};
use study::{Study, StudyCutter};
use units::Interval;

/// Cutting time that an edge is taken to last where nothing better is known, min. Common practice,
/// no source.
const LIFE_MIN: f64 = 90.0;
/// Range of that time, min.
const LIFE_RANGE_MIN: Interval = Interval { low: 30.0, high: 270.0 };

/// The life of an edge that cost is reckoned with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct EdgeLife {
    /// Cutting time, min.
    pub(crate) minutes: f64,
    /// Its range, min.
    pub(crate) range_min: Interval,
    /// Why that.
    pub(crate) because: &'static str,
}

impl EdgeLife {
    /// From what was computed: the figure itself; where it is only an upper bound, the usual life
    /// below that bound; where there is none, the usual life.
    pub(crate) fn from(life: &Life) -> Self {
        let (Some(minutes), Some(range)) = (life.minutes, life.range_min) else {
            return Self {
                minutes: LIFE_MIN,
                range_min: LIFE_RANGE_MIN,
                because: "no tool life is computed or given; common practice, no source",
            };
        };
        if !life.upper_bound {
            return Self { minutes, range_min: range, because: "tool life as computed" };
        }
        let best = LIFE_MIN.min(minutes);
        Self {
            minutes: best,
            range_min: Interval::new(
                LIFE_RANGE_MIN.low.min(range.low).min(best),
                LIFE_RANGE_MIN.high.min(range.high).max(best),
            ),
            because: "the computed tool life is an upper bound: the usual life (common practice, no \
                      source) below it",
        }
    }

    /// Range as a factor on the life.
    pub(crate) fn factor(&self) -> Interval {
        Interval::new(self.range_min.low / self.minutes, self.range_min.high / self.minutes)
    }
}

/// Time of one cutter in cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Use<'a> {
    /// The cutter.
    pub(crate) cutter: &'a StudyCutter,
    /// Its time in cut for one part, s.
    pub(crate) cut_s: f64,
    /// How long its edge lasts.
    pub(crate) life: EdgeLife,
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

/// Cost of one part from its cycle time and its cutters' use, at their lives times `life_factors`
/// (one for each use).
pub(crate) fn per_part(rates: &Rates, time_s: f64, uses: &[Use<'_>], life_factors: &[f64]) -> f64 {
    let machine = rates.machine_per_s * (time_s + rates.setup_s / rates.lot);
    let worn = uses.iter().zip(life_factors).map(|(u, f)| wear(rates, u, *f)).map(|(a, b)| a + b);
    machine + worn.sum::<f64>()
}

/// Cutter price and change time of one use, per part.
fn wear(rates: &Rates, used: &Use<'_>, life_factor: f64) -> (f64, f64) {
    let lives = used.cut_s / (60.0 * used.life.minutes * life_factor);
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
            "price per use times time in cut over the life of an edge",
        ),
        line(
            "changing worn cutters",
            worn(|w| w.1),
            "machine rate times change over the life of an edge",
        ),
    ]
}

/// The life that cost is reckoned with, as an assumption.
pub(crate) fn assumed_life(process: &str, operation: &str, life: EdgeLife) -> Assumed {
    Assumed {
        key: format!("life of an edge in {process}, {operation}, min"),
        value: life.minutes,
        range: life.range_min,
        because: life.because.to_owned(),
    }
}
