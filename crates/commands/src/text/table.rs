//! Tables with aligned columns: a rule under the heading, no frame.

/// On which side a column is flush.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table that is filled row by row.
pub(crate) struct Table {
    columns: Vec<Align>,
    heading: Option<Vec<String>>,
    rows: Vec<Vec<String>>,
}

/// Space between columns.
const GAP: &str = "  ";

impl Table {
    /// A table with a heading.
    pub(crate) fn new<const N: usize>(columns: [(&str, Align); N]) -> Self {
        let heading = columns.iter().map(|(name, _)| (*name).to_owned()).collect();
        let columns = columns.iter().map(|(_, align)| *align).collect();
        Self { columns, heading: Some(heading), rows: Vec::new() }
    }

    /// A table without a heading.
    pub(crate) fn plain(columns: Vec<Align>) -> Self {
        Self { columns, heading: None, rows: Vec::new() }
    }

    /// A table of so many columns, the first of words, the others of numbers.
    pub(crate) fn with_heading(heading: Vec<String>) -> Self {
        let mut columns = vec![Align::Right; heading.len()];
        if let Some(first) = columns.first_mut() {
            *first = Align::Left;
        }
        Self { columns, heading: Some(heading), rows: Vec::new() }
    }

    /// Adds a row of as many cells as there are columns.
    pub(crate) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// The table as lines, each indented by `indent` spaces.
    pub(crate) fn text(&self, indent: usize) -> String {
        let widths = self.widths();
        let mut out = String::new();
        if let Some(heading) = &self.heading {
            self.line(&mut out, indent, heading, &widths);
            let ruled: Vec<String> = widths.iter().map(|w| "─".repeat(*w)).collect();
            self.line(&mut out, indent, &ruled, &widths);
        }
        for row in &self.rows {
            self.line(&mut out, indent, row, &widths);
        }
        out
    }

    fn widths(&self) -> Vec<usize> {
        let cells = self.heading.iter().chain(&self.rows);
        let mut widths = vec![0; self.columns.len()];
        for row in cells {
            for (width, cell) in widths.iter_mut().zip(row) {
                *width = (*width).max(cell.chars().count());
            }
        }
        widths
    }

    fn line(&self, out: &mut String, indent: usize, cells: &[String], widths: &[usize]) {
        let mut line = " ".repeat(indent);
        for (i, (cell, width)) in cells.iter().zip(widths).enumerate() {
            let pad = " ".repeat(width.saturating_sub(cell.chars().count()));
            if i > 0 {
                line.push_str(GAP);
            }
            match self.columns.get(i) {
                Some(Align::Right) => line.extend([pad.as_str(), cell.as_str()]),
                _ => line.extend([cell.as_str(), pad.as_str()]),
            }
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_right_and_words_left() {
        let mut table = Table::new([("face", Align::Left), ("area", Align::Right)]);
        table.row(["plane".to_owned(), "1.5".to_owned()]);
        table.row(["sphere".to_owned(), "12.25".to_owned()]);
        let expected = "face     area\n──────  ─────\nplane     1.5\nsphere  12.25\n";
        assert_eq!(table.text(0), expected);
    }
}
