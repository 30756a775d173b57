//! A closed interval of a quantity whose unit stands in the name of the field that holds it.

/// `low ..= high`, with `low <= high`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    /// An interval from two ends in either order.
    pub fn new(a: f64, b: f64) -> Self {
        Self { low: a.min(b), high: a.max(b) }
    }

    /// The interval that holds only `value`.
    pub fn point(value: f64) -> Self {
        Self { low: value, high: value }
    }

    /// The smallest interval that holds all `values`; `None` when there are none.
    pub fn hull(values: impl IntoIterator<Item = f64>) -> Option<Self> {
        values.into_iter().fold(None, |acc, v| {
            Some(match acc {
                None => Self::point(v),
                Some(i) => Self { low: i.low.min(v), high: i.high.max(v) },
            })
        })
    }

    /// Whether `value` lies inside, ends included.
    pub fn contains(self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// Length of the interval.
    pub fn width(self) -> f64 {
        self.high - self.low
    }

    /// Middle of the interval.
    pub fn middle(self) -> f64 {
        0.5 * (self.low + self.high)
    }
}
