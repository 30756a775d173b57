//! Which stock a program begins with: the study's, or what roughing would have left where the program
//! only finishes.

use nc::audit::ToolAlong;
use study::{Operation, OperationKind, Stock, Study};

/// The stock of the study; near-net stock where all that the matched cutters do in the study is to
/// finish faces, walls and floors, as `compare` takes it where no operation ran before.
pub(super) fn of(study: &Study, tools: &[ToolAlong], notes: &mut Vec<String>) -> Option<Stock> {
    let stock = study.part.stock.clone()?;
    let matched = |o: &&Operation| {
        let id = &study.cutters[o.cutter].id;
        tools.iter().any(|t| t.cutter.as_ref() == Some(id))
    };
    let operations: Vec<&Operation> =
        study.processes.iter().flat_map(|p| &p.operations).filter(matched).collect();
    let used = |tool: &ToolAlong| {
        operations.iter().any(|o| Some(&study.cutters[o.cutter].id) == tool.cutter.as_ref())
    };
    let finishes = operations.iter().all(|o| {
        matches!(
            o.kind,
            OperationKind::FinishFace | OperationKind::FinishWall | OperationKind::FinishFloor
        )
    });
    if !finishes || tools.is_empty() || !tools.iter().all(used) || matches!(stock, Stock::File(_)) {
        return Some(stock);
    }
    let layer_mm = operations.iter().map(|o| o.allowance_mm).fold(0.0, f64::max);
    notes.push(format!(
        "the study's operations with these cutters only finish: near-net stock of {layer_mm} mm on the \
         part is assumed, not the stock that roughing begins with"
    ));
    Some(Stock::NearNet { layer_mm })
}
