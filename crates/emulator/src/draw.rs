//! Numbers drawn by a seed, the same on every machine.

/// A generator of 64-bit numbers: a counter whose bits are mixed.
///
/// Source: Steele, Lea, Flood 2014, "Fast splittable pseudorandom number generators" (constants from
/// memory).
#[derive(Debug, Clone)]
pub(crate) struct Draw {
    state: u64,
}

impl Draw {
    /// Stream `stream` of a seed.
    pub(crate) fn new(seed: u64, stream: u64) -> Self {
        let mut draw = Self { state: seed ^ stream.wrapping_mul(0xD1B5_4A32_D192_ED03) };
        draw.next();
        draw
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Evenly from `low` up to `high`.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 / (1_u64 << 53) as f64)
    }

    /// Evenly in the logarithm.
    pub(crate) fn scale(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    /// A whole number from `low` to `high`, both included.
    pub(crate) fn whole(&mut self, low: usize, high: usize) -> usize {
        low + (self.next() % (high - low + 1) as u64) as usize
    }

    /// True with that probability.
    pub(crate) fn chance(&mut self, probability: f64) -> bool {
        self.between(0.0, 1.0) < probability
    }
}
