//! What the program asks of the study's cutters, as the document has it.

use nc::audit::{LoadsAlong, MeanPeak, ToolAlong};
use serde::Serialize;

/// Loads along the program.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Along {
    /// The stock that the program begins with; null: there is none.
    pub stock: Option<StockLine>,
    /// Moves at feed that meet no stock, s.
    pub air_s: Option<f64>,
    /// The same as a share of the time at feed of the tools that were matched.
    pub air_share: Option<f64>,
    /// The tools in order of their first call.
    pub tools: Vec<ToolLoads>,
    /// Rapids that go through stock.
    pub rapid_in_stock: Vec<RapidLine>,
    /// What the figures rest on.
    pub notes: Vec<String>,
}

/// The stock before the first block.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StockLine {
    /// What it is.
    pub taken: String,
    /// Why it was taken.
    pub because: String,
}

/// One tool.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToolLoads {
    /// Its number.
    pub number: u32,
    /// The study's cutter; null: not matched.
    pub cutter: Option<String>,
    /// How it was matched, or why it was not.
    pub matched_by: String,
    /// At feed in air, s.
    pub air_s: Option<f64>,
    /// At feed in the cut, s.
    pub in_cut_s: Option<f64>,
    /// Stock removed, cm³.
    pub volume_cm3: Option<f64>,
    /// Angle in the cut, the widest over the edge.
    pub engagement_deg: Option<Pair>,
    /// Thickness of the chip.
    pub chip_thickness_um: Option<Pair>,
    /// Force across the axis.
    pub force_n: Option<Pair>,
    /// Why something was not computed.
    pub missing: Option<String>,
}

/// A mean over the time in the cut, and the largest.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Pair {
    /// Mean by time.
    pub mean: f64,
    /// Largest.
    pub peak: f64,
}

/// A rapid through stock.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RapidLine {
    /// Line of the program.
    pub line: u32,
    /// How much stock stands in its way, mm³.
    pub stock_mm3: f64,
}

fn pair(found: MeanPeak) -> Pair {
    Pair { mean: found.mean, peak: found.peak }
}

impl From<&LoadsAlong> for Along {
    fn from(loads: &LoadsAlong) -> Self {
        let stock = loads.stock.as_ref();
        Self {
            stock: stock.map(|s| StockLine { taken: s.shape.clone(), because: s.because.clone() }),
            air_s: loads.air_s,
            air_share: loads.air_share,
            tools: loads.tools.iter().map(ToolLoads::from).collect(),
            rapid_in_stock: loads
                .rapid_in_stock
                .iter()
                .map(|&(line, stock_mm3)| RapidLine { line, stock_mm3 })
                .collect(),
            notes: loads.notes.clone(),
        }
    }
}

impl From<&ToolAlong> for ToolLoads {
    fn from(tool: &ToolAlong) -> Self {
        Self {
            number: tool.number,
            cutter: tool.cutter.clone(),
            matched_by: tool.matched_by.clone(),
            air_s: tool.air_s,
            in_cut_s: tool.in_cut_s,
            volume_cm3: tool.volume_cm3,
            engagement_deg: tool.engagement_deg.map(pair),
            chip_thickness_um: tool.chip_thickness_um.map(pair),
            force_n: tool.force_n.map(pair),
            missing: tool.missing.clone(),
        }
    }
}
