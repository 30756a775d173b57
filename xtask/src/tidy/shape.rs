//! The shape of files: a purpose line at the top, no long functions, no long files, no drawers for
//! odds and ends.

use super::Source;

/// No function may be longer than this, from `fn` to its closing brace.
const FUNCTION_LINES: usize = 70;
/// No file may be longer than this, tests left out.
const FILE_LINES: usize = 700;
const DRAWERS: [&str; 5] = ["utils", "common", "helpers", "misc", "types"];

/// Lists what is wrong with the shape of one file.
pub(crate) fn check(source: &Source) -> Vec<String> {
    let mut faults = Vec::new();
    if source.krate().is_some() && !source.text.starts_with("//!") {
        faults.push(format!("{}: begins without a line that says its purpose", source.path));
    }
    let stem = source.path.rsplit('/').next().unwrap_or_default().trim_end_matches(".rs");
    if DRAWERS.contains(&stem) {
        faults.push(format!("{}: a drawer for odds and ends; name the concept", source.path));
    }
    let product = source.text.split("#[cfg(test)]").next().unwrap_or_default();
    if product.lines().count() > FILE_LINES {
        faults.push(format!("{}: longer than {FILE_LINES} lines; split it", source.path));
    }
    if !source.is_product() {
        return faults;
    }
    faults.extend(long_functions(product).map(|(line, length)| {
        format!("{}:{line}: function of {length} lines; the limit is {FUNCTION_LINES}", source.path)
    }));
    faults
}

/// Functions that are too long: line of `fn`, length. Relies on the formatter's indentation.
fn long_functions(text: &str) -> impl Iterator<Item = (usize, usize)> {
    let lines: Vec<&str> = text.lines().collect();
    let starts: Vec<(usize, String)> = lines
        .iter()
        .enumerate()
        .filter(|(_, l)| is_function(l))
        .map(|(i, l)| (i, l.chars().take_while(|c| *c == ' ').collect()))
        .collect();
    let lengths: Vec<(usize, usize)> = starts
        .into_iter()
        .filter_map(|(start, indent)| {
            let close = format!("{indent}}}");
            let length = lines[start..].iter().position(|l| *l == close)? + 1;
            Some((start + 1, length))
        })
        .filter(|(_, length)| *length > FUNCTION_LINES)
        .collect();
    lengths.into_iter()
}

fn is_function(line: &str) -> bool {
    let words = line.trim_start();
    let start =
        ["fn ", "pub fn ", "pub(crate) fn ", "pub(super) fn ", "const fn ", "pub const fn "];
    start.iter().any(|s| words.starts_with(s)) && line.trim_end().ends_with('{')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_function_is_found() {
        let body = "    let x = 1;\n".repeat(FUNCTION_LINES);
        let text = format!("fn long() {{\n{body}}}\nfn short() {{\n}}\n");
        assert_eq!(long_functions(&text).collect::<Vec<_>>(), [(1, FUNCTION_LINES + 2)]);
    }
}
