//! Tables: widths of the columns from what stands in them, rows that are not divided, the head said again
//! on every page.

use crate::flow::Flow;
use crate::slab::{Mark, Slab, beside};
use crate::text::{LEADING, Run, extent, lines};
use roxmltree::Node;
use std::rc::Rc;

/// Size of the letters, pt.
const SIZE: f32 = 8.2;
/// Between columns, and over and under the lines of a row, pt.
const GUTTER: f32 = 7.0;
const PADDING: f32 = 2.4;
/// Share of the room that every column gets before another has more.
const SHARE: f32 = 0.3;

/// A row as text, column by column.
type Row = Vec<Vec<Run>>;

/// Lays a table out in `room`.
pub(crate) fn table(flow: &Flow<'_>, node: Node<'_, '_>, room: f32) -> Vec<Slab> {
    let rows_of = |name: &str| -> Vec<Row> {
        let part = node.descendants().find(|n| n.has_tag_name(name));
        let rows = part.into_iter().flat_map(|p| p.children().filter(|n| n.has_tag_name("tr")));
        let cell = |n: &Node<'_, '_>| n.has_tag_name("td") || n.has_tag_name("th");
        rows.map(|r| {
            let cells = r.children().filter(cell);
            cells.map(|c| flow.runs(c, name == "thead", flow.style.colour("ink"))).collect()
        })
        .collect()
    };
    let (head, body) = (rows_of("thead"), rows_of("tbody"));
    let count = head.iter().chain(&body).map(Vec::len).max().unwrap_or_default();
    if count == 0 {
        return Vec::new();
    }
    let widths = widths(flow, &head, &body, (count, room));
    let rule = |thick: f32, name: &str| (thick, flow.style.colour(name));
    let mut top: Vec<Slab> =
        head.iter().map(|r| row(flow, r, &widths, room, rule(1.0, "ink"))).collect();
    top.iter_mut().for_each(|s| s.keeps_next = true);
    let again = top.last().cloned().map(Rc::new);
    top.extend(body.iter().map(|r| {
        let slab = row(flow, r, &widths, room, rule(0.5, "rule"));
        Slab { head: again.clone(), ..slab }
    }));
    top
}

/// Widths of the columns: what their text takes, or, where that is more than there is, at least their widest
/// words and a share of what is left.
fn widths(flow: &Flow<'_>, head: &[Row], body: &[Row], (count, room): (usize, f32)) -> Vec<f32> {
    let mut wanted = vec![(0.0f32, 0.0f32); count];
    for row in head.iter().chain(body) {
        for (most, cell) in wanted.iter_mut().zip(row) {
            let (whole, word) = extent(cell, flow.fonts, SIZE);
            *most = (most.0.max(whole + GUTTER), most.1.max(word + GUTTER));
        }
    }
    let sum = |widths: &[f32]| widths.iter().sum::<f32>();
    let words: Vec<f32> = wanted.iter().map(|w| w.1).collect();
    if sum(&words) >= room {
        let scale = room / sum(&words);
        return words.iter().map(|w| w * scale).collect();
    }
    // a column of long text does not press the others together
    let some: Vec<f32> = wanted.iter().map(|w| w.0.min(SHARE * room).max(w.1)).collect();
    let whole: Vec<f32> = wanted.iter().map(|w| w.0).collect();
    let (from, to) = if sum(&some) > room { (words, some) } else { (some, whole) };
    let more = sum(&to) - sum(&from);
    let spare = room - sum(&from);
    if more <= spare {
        let each = (spare - more) / count as f32;
        return to.iter().map(|w| w + each).collect();
    }
    from.iter().zip(&to).map(|(from, to)| from + (to - from) * spare / more).collect()
}

fn row(
    flow: &Flow<'_>,
    row: &Row,
    widths: &[f32],
    room: f32,
    (thick, colour): (f32, crate::style::Colour),
) -> Slab {
    let mut x = 0.0;
    let mut cells = Vec::new();
    for (cell, width) in row.iter().zip(widths) {
        let lines = lines(cell, flow.fonts, SIZE, width - GUTTER);
        let slabs = lines.into_iter().map(|marks| Slab {
            height: SIZE * LEADING,
            marks,
            ..Slab::default()
        });
        cells.push((x, crate::slab::stacked(slabs.collect()).shifted([0.0, PADDING])));
        x += width;
    }
    let mut slab = beside(cells);
    slab.height += 2.0 * PADDING;
    slab.marks.push(Mark::Area { at: [0.0, slab.height - thick, room, thick], colour });
    slab
}
