//! What is taken from the page's style sheet: its colours, and the rules of its drawings.

use std::collections::BTreeMap;

/// Red, green, blue.
pub(crate) type Colour = [u8; 3];

/// The colours that a sheet names, and the rules of drawings with them put in.
#[derive(Debug, Default)]
pub(crate) struct Style {
    colours: BTreeMap<String, Colour>,
    /// Rules whose selector begins with `svg`, without variables.
    pub(crate) drawings: String,
}

impl Style {
    /// Reads a style sheet; rules within `@media` and what is not understood are left out.
    pub(crate) fn read(sheet: &str) -> Self {
        let mut style = Self::default();
        let mut drawings = String::new();
        for (selector, body) in rules(sheet) {
            if selector == ":root" {
                let named = body.split(';').filter_map(|d| d.split_once(':'));
                style.colours.extend(named.filter_map(|(name, value)| {
                    Some((name.trim().strip_prefix("--")?.to_owned(), colour(value.trim())?))
                }));
            } else if selector.starts_with("svg") {
                drawings.push_str(&format!("{selector}{{{body}}}\n"));
            }
        }
        for (name, [r, g, b]) in &style.colours {
            drawings =
                drawings.replace(&format!("var(--{name})"), &format!("#{r:02x}{g:02x}{b:02x}"));
        }
        style.drawings = drawings;
        style
    }

    /// A colour by its name; black where the sheet has none of it.
    pub(crate) fn colour(&self, name: &str) -> Colour {
        self.colours.get(name).copied().unwrap_or([0; 3])
    }
}

/// Selector and body of the rules outside any `@` block.
fn rules(sheet: &str) -> Vec<(&str, &str)> {
    let mut out = Vec::new();
    let mut rest = sheet;
    while let Some((selector, after)) = rest.split_once('{') {
        let selector = selector.trim();
        let end = if selector.starts_with('@') { closing(after) } else { after.find('}') };
        let Some(end) = end else { break };
        if !selector.starts_with('@') {
            out.push((selector, &after[..end]));
        }
        rest = &after[end + 1..];
    }
    out
}

/// Where a block ends in which others may stand.
fn closing(text: &str) -> Option<usize> {
    let mut depth = 0usize;
    text.char_indices().find_map(|(at, c)| {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => return Some(at),
            '}' => depth -= 1,
            _ => {}
        }
        None
    })
}

/// `#rgb` or `#rrggbb`.
fn colour(text: &str) -> Option<Colour> {
    let hex = text.strip_prefix('#')?;
    let digit = |i: usize| u8::from_str_radix(hex.get(i..=i)?, 16).ok();
    match hex.len() {
        3 => Some([17 * digit(0)?, 17 * digit(1)?, 17 * digit(2)?]),
        6 => Some([
            16 * digit(0)? + digit(1)?,
            16 * digit(2)? + digit(3)?,
            16 * digit(4)? + digit(5)?,
        ]),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_and_rules_of_drawings_are_found() {
        let sheet = ":root{--ink:#22303a;--soft:#abc}body{color:var(--ink)}\
                     @media print{svg *{fill:none}h2{margin:0}}svg .bar{stroke:var(--ink)}";
        let style = Style::read(sheet);
        assert_eq!(style.colour("ink"), [0x22, 0x30, 0x3a]);
        assert_eq!(style.colour("soft"), [0xaa, 0xbb, 0xcc]);
        assert_eq!(style.colour("none"), [0; 3]);
        assert_eq!(style.drawings, "svg .bar{stroke:#22303a}\n");
    }
}
