//! What usually ends an edge in a material.

/// What ends an edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeEnd {
    /// Even wear of the flank.
    FlankWear,
    /// Wear at the depth line.
    Notch,
    /// A crater in the rake face.
    Crater,
    /// Metal that welds on and tears off.
    BuiltUpEdge,
    /// Pieces that break out of the edge.
    Chipping,
    /// Cracks from heating and cooling.
    ThermalCracks,
    /// The finish that is left, or burr, before any wear is seen.
    Finish,
}

impl EdgeEnd {
    /// All of them.
    pub const ALL: [Self; 7] = [
        Self::FlankWear,
        Self::Notch,
        Self::Crater,
        Self::BuiltUpEdge,
        Self::Chipping,
        Self::ThermalCracks,
        Self::Finish,
    ];

    /// The words that files and messages use.
    pub fn words(self) -> &'static str {
        match self {
            Self::FlankWear => "flank wear",
            Self::Notch => "notch",
            Self::Crater => "crater",
            Self::BuiltUpEdge => "built-up edge",
            Self::Chipping => "chipping",
            Self::ThermalCracks => "thermal cracks",
            Self::Finish => "finish",
        }
    }
}

/// What usually ends an edge, the most usual first.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeEnds {
    /// Never empty.
    pub ends: Vec<EdgeEnd>,
    /// Cutting speed below which a built-up edge is usual, m/min; `None` where it is not.
    pub built_up_below_m_min: Option<f64>,
}

impl EdgeEnds {
    /// Whether something else usually ends the edge before flank wear does; a life by flank wear
    /// is then an upper bound.
    pub fn before_flank_wear(&self) -> bool {
        self.ends.first().is_some_and(|end| *end != EdgeEnd::FlankWear)
    }
}
