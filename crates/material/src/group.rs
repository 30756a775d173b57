//! Application groups after ISO 513.

/// Application group after ISO 513:2012 (from memory: letters, meanings).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum IsoGroup {
    /// Steel, but stainless with austenite.
    P,
    /// Stainless steel: austenitic, duplex.
    M,
    /// Cast iron.
    K,
    /// Non-ferrous metals and non-metals.
    N,
    /// Heat-resistant alloys and titanium.
    S,
    /// Hard materials.
    H,
}

impl IsoGroup {
    /// All groups in the order of the standard.
    pub const ALL: [Self; 6] = [Self::P, Self::M, Self::K, Self::N, Self::S, Self::H];

    /// The letter.
    pub fn letter(self) -> &'static str {
        match self {
            Self::P => "P",
            Self::M => "M",
            Self::K => "K",
            Self::N => "N",
            Self::S => "S",
            Self::H => "H",
        }
    }
}
