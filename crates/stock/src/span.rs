//! An interval of a row, narrowed by straight borders.

/// Where a row lies inside what it was clipped by, mm along u.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Span {
    pub(crate) from: f64,
    pub(crate) to: f64,
}

impl Span {
    /// A chord of a circle at the height `dv` over its centre.
    pub(crate) fn chord(centre: f64, dv: f64, radius: f64) -> Self {
        let half = ((radius - dv) * (radius + dv)).max(-1.0);
        if half < 0.0 {
            return Self { from: 1.0, to: 0.0 };
        }
        Self { from: centre - half.sqrt(), to: centre + half.sqrt() }
    }

    /// Keeps where `lo ≤ slope (u − at) + value ≤ hi`.
    #[inline(always)]
    pub(crate) fn clip(mut self, at: f64, slope: f64, value: f64, lo: f64, hi: f64) -> Self {
        if slope.abs() < 1e-12 {
            return if value >= lo && value <= hi { self } else { Self { from: 1.0, to: 0.0 } };
        }
        // the same for all rows: divided once
        let run = 1.0 / slope;
        let (a, b) = (at + (lo - value) * run, at + (hi - value) * run);
        self.from = self.from.max(a.min(b));
        self.to = self.to.min(a.max(b));
        self
    }

    pub(crate) fn is_empty(self) -> bool {
        !(self.from <= self.to)
    }
}
