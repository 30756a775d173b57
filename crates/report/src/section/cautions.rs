//! The cautions that every document carries.

/// Cautions as HTML.
pub(crate) const HTML: &str = "<section class=\"cautions\"><h2>Cautions</h2><ul>\
<li>Every number here is predicted unless it is marked measured. None replaces a trial.</li>\
<li>Milling can injure people and break machines. The machine's manual, local codes and a qualified \
person decide over everything on these pages.</li>\
<li>Before a first cut: doors closed, workholding and stick-out checked, tool lengths measured, \
program run clear of the part in single block with reduced rapid; rotary signs, tip control and \
offsets confirmed by a small move clear of the part.</li>\
<li>Respect the rotational speed limits of cutter and holder at their stick-out; balance the assembly \
for its speed.</li>\
<li>Clamps, fixtures and stock are checked only where the pages say so.</li>\
<li>Wear eye protection; keep swarf from burning and from hands; follow the safety sheet of coolant \
and work material.</li></ul></section>\n";
