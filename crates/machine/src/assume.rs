//! Values that are stated on a data sheet and values that are assumed because nobody stated them.
//!
//! Both carry the interval inside which the truth is held to lie; the width of a claim rests on it.
//! All intervals here: common practice, no source.

/// A value with the interval that it is good to, in the unit of the field that holds it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated {
    /// What is reckoned with.
    pub value: f64,
    /// Lowest value held possible.
    pub low: f64,
    /// Highest value held possible.
    pub high: f64,
    /// Whether nobody stated the value.
    pub assumed: bool,
}

/// A value that the machine file leaves out and that was assumed, for the list of cautions.
#[derive(Debug, Clone, PartialEq)]
pub struct Assumption {
    /// Dotted key of the machine file, in whose unit the figures are.
    pub key: String,
    /// What was assumed.
    pub value: f64,
    /// Low end of the interval.
    pub low: f64,
    /// High end of the interval.
    pub high: f64,
    /// Where the figure comes from.
    pub why: String,
}

/// Relative interval of a figure: `low` and `high` times the value.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Spread {
    pub(crate) low: f64,
    pub(crate) high: f64,
}

/// A figure that stands in for a missing one, in the unit of the key, and why.
#[derive(Debug, Clone, Copy)]
pub(crate) struct StandIn {
    pub(crate) value: f64,
    pub(crate) spread: Spread,
    pub(crate) why: &'static str,
}

const fn spread(low: f64, high: f64) -> Spread {
    Spread { low, high }
}

/// A loaded axis seldom reaches its sheet's acceleration, hardly ever more.
pub(crate) const SHEET_ACCEL: Spread = spread(0.8, 1.05);
/// Jerk is often a setting, changed at the machine.
pub(crate) const SHEET_JERK: Spread = spread(0.6, 1.4);
/// Block time as told by a sheet: best case on one side, long words on the other.
pub(crate) const SHEET_BLOCK_TIME: Spread = spread(0.8, 1.5);
/// Corner tolerance: a cycle may set it anew.
pub(crate) const SHEET_TOLERANCE: Spread = spread(0.7, 1.4);
/// Chip to chip: measured with a light tool in a neighbouring place.
pub(crate) const SHEET_TOOL_CHANGE: Spread = spread(0.95, 1.3);

/// Acceleration of a linear axis, m/s².
pub(crate) const LINEAR_ACCEL: StandIn = StandIn {
    value: 4.0,
    spread: spread(0.5, 2.0),
    why: "machining centres with ball screws accelerate with 2 to 8 m/s2",
};
/// Jerk of a linear axis, m/s³.
pub(crate) const LINEAR_JERK: StandIn = StandIn {
    value: 50.0,
    spread: spread(0.4, 3.0),
    why: "controls are set to 20 to 150 m/s3 on such axes",
};
/// Time in which a rotary axis reaches full speed, s.
pub(crate) const ROTARY_RAMP_S: StandIn = StandIn {
    value: 0.2,
    spread: spread(0.5, 2.0),
    why: "rotary axes reach full speed in 0.1 to 0.4 s",
};
/// Time in which a rotary axis reaches full acceleration, s.
pub(crate) const ROTARY_JERK_S: StandIn = StandIn {
    value: 0.08,
    spread: spread(0.4, 3.0),
    why: "rotary axes reach full acceleration in 0.03 to 0.2 s",
};
/// Block time, ms.
pub(crate) const BLOCK_TIME: StandIn =
    StandIn { value: 1.0, spread: spread(0.4, 4.0), why: "controls need 0.4 to 4 ms for a block" };
/// Corner tolerance, mm.
pub(crate) const TOLERANCE: StandIn =
    StandIn { value: 0.01, spread: spread(0.5, 2.0), why: "finishing is run with 5 to 20 um" };
/// Step of an axis' speed at a corner as told by a setting.
pub(crate) const SHEET_CORNER_STEP: Spread = spread(0.7, 1.4);
/// Any other setting.
pub(crate) const SHEET_SETTING: Spread = spread(0.7, 1.4);
/// Filter of the axes as told by a setting.
pub(crate) const SHEET_FILTER: Spread = spread(0.8, 1.25);
/// Step of an axis' speed at a corner, mm/min.
pub(crate) const CORNER_STEP: StandIn = StandIn {
    value: 400.0,
    spread: spread(0.25, 4.0),
    why: "controls let an axis step by 100 to 1500 mm/min at a corner",
};
/// Filter of the axes, ms.
pub(crate) const FILTER: StandIn =
    StandIn { value: 40.0, spread: spread(0.3, 2.5), why: "axis filters are set to 15 to 100 ms" };
/// Tool change chip to chip, s.
pub(crate) const TOOL_CHANGE: StandIn = StandIn {
    value: 6.0,
    spread: spread(0.5, 2.0),
    why: "tool changes take 3 to 12 s from chip to chip",
};

impl Stated {
    /// A value known exactly.
    pub fn exact(value: f64) -> Self {
        Self { value, low: value, high: value, assumed: false }
    }

    pub(crate) fn sheet(value: f64, spread: Spread) -> Self {
        Self { value, low: value * spread.low, high: value * spread.high, assumed: false }
    }

    pub(crate) fn assumed(default: StandIn, scale: f64) -> Self {
        let Spread { low, high } = default.spread;
        let value = default.value * scale;
        Self { value, low: value * low, high: value * high, assumed: true }
    }

    /// Every figure times `factor`.
    pub fn scaled(self, factor: f64) -> Self {
        Self {
            value: self.value * factor,
            low: self.low * factor,
            high: self.high * factor,
            assumed: self.assumed,
        }
    }

    /// Ends of the interval over the value; 1 and 1 where the value is zero.
    pub fn factors(self) -> units::Interval {
        if self.value == 0.0 {
            return units::Interval::point(1.0);
        }
        units::Interval::new(self.low / self.value, self.high / self.value)
    }
}
