//! Runs of text and how they break into lines.

use crate::font::{Fonts, spelled};
use crate::slab::Mark;
use crate::style::Colour;

/// Text in one look.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Run {
    pub(crate) text: String,
    pub(crate) bold: bool,
    pub(crate) colour: Colour,
}

/// A word with the look of each of its parts.
#[derive(Debug, Clone, Default)]
struct Word {
    parts: Vec<Run>,
    /// A line ends before it.
    breaks: bool,
}

/// Height of a line over the size of its letters.
pub(crate) const LEADING: f32 = 1.36;

/// Height of the letters over their size.
const ASCENT: f32 = 0.82;

/// The words of some runs; white space but for the hard one parts them.
fn words(runs: &[Run]) -> Vec<Word> {
    let mut out: Vec<Word> = Vec::new();
    let mut word = Word::default();
    let close = |word: &mut Word, out: &mut Vec<Word>| {
        if !word.parts.is_empty() {
            out.push(std::mem::take(word));
        }
    };
    for run in runs {
        for (i, piece) in spelled(&run.text).split([' ', '\n', '\t', '\r']).enumerate() {
            if i > 0 {
                close(&mut word, &mut out);
            }
            if piece == BREAK {
                close(&mut word, &mut out);
                word.breaks = true;
            } else if !piece.is_empty() {
                word.parts.push(Run { text: piece.to_owned(), ..run.clone() });
            }
        }
    }
    close(&mut word, &mut out);
    out
}

/// What stands for a forced end of a line.
pub(crate) const BREAK: &str = "\u{2028}";

impl Word {
    fn width(&self, fonts: &Fonts, size: f32) -> f32 {
        self.parts.iter().map(|p| fonts.face(p.bold).width(&p.text, size)).sum()
    }

    /// The word in pieces that are no wider than `room`.
    fn broken(self, fonts: &Fonts, size: f32, room: f32) -> Vec<Word> {
        if self.width(fonts, size) <= room {
            return vec![self];
        }
        let mut out = vec![Word { breaks: self.breaks, ..Word::default() }];
        let mut used = 0.0;
        for part in &self.parts {
            for c in part.text.chars() {
                let wide = fonts.face(part.bold).width(c.encode_utf8(&mut [0; 4]), size);
                if used + wide > room && used > 0.0 {
                    out.push(Word::default());
                    used = 0.0;
                }
                used += wide;
                let Some(word) = out.last_mut() else { continue };
                match word
                    .parts
                    .last_mut()
                    .filter(|p| p.bold == part.bold && p.colour == part.colour)
                {
                    Some(last) => last.text.push(c),
                    None => word.parts.push(Run { text: c.to_string(), ..part.clone() }),
                }
            }
        }
        out
    }
}

/// Widths that text takes on one line, and that its widest word takes, pt.
pub(crate) fn extent(runs: &[Run], fonts: &Fonts, size: f32) -> (f32, f32) {
    let space = fonts.face(false).width(" ", size);
    let (mut whole, mut word, mut line) = (0.0f32, 0.0f32, 0.0f32);
    for w in words(runs) {
        let wide = w.width(fonts, size);
        line = if w.breaks || line == 0.0 { wide } else { line + space + wide };
        (whole, word) = (whole.max(line), word.max(wide));
    }
    (whole, word)
}

/// The lines of some text in `room`, each the marks of one line with its top at 0.
pub(crate) fn lines(runs: &[Run], fonts: &Fonts, size: f32, room: f32) -> Vec<Vec<Mark>> {
    let space = fonts.face(false).width(" ", size);
    let mut out: Vec<Vec<Mark>> = Vec::new();
    let mut x = 0.0;
    let words = words(runs).into_iter().flat_map(|w| w.broken(fonts, size, room));
    for word in words {
        let wide = word.width(fonts, size);
        let next = x > 0.0 && x + space + wide > room + 0.01;
        if out.is_empty() || word.breaks || next {
            out.push(Vec::new());
            x = 0.0;
        } else if x > 0.0 {
            x += space;
        }
        let Some(line) = out.last_mut() else { continue };
        for part in word.parts {
            let step = fonts.face(part.bold).width(&part.text, size);
            join(line, part, [x, x + step], size);
            x += step;
        }
    }
    out
}

/// Adds a part of a word to the marks of a line, to the last one where it looks the same.
fn join(line: &mut Vec<Mark>, part: Run, [from, to]: [f32; 2], size: f32) {
    if let Some(Mark::Text { text, end, bold, colour, .. }) = line.last_mut()
        && *bold == part.bold
        && *colour == part.colour
    {
        if from > *end + 0.01 {
            text.push(' ');
        }
        text.push_str(&part.text);
        *end = to;
        return;
    }
    let at = [from, size * (0.5 * (LEADING - 1.0) + ASCENT)];
    line.push(Mark::Text {
        at,
        end: to,
        size,
        text: part.text,
        bold: part.bold,
        colour: part.colour,
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(text: &str) -> Vec<Run> {
        vec![Run { text: text.to_owned(), bold: false, colour: [0; 3] }]
    }

    fn shown(lines: &[Vec<Mark>]) -> Vec<String> {
        let text = |m: &Mark| match m {
            Mark::Text { text, .. } => text.clone(),
            _ => String::new(),
        };
        lines.iter().map(|l| l.iter().map(text).collect()).collect()
    }

    #[test]
    fn lines_break_at_spaces_and_keep_to_their_room() {
        let fonts = Fonts::new().expect("fonts");
        let text = "the feed is never reached in pockets";
        let found = lines(&plain(text), &fonts, 10.0, 90.0);
        assert!(found.len() > 1);
        assert_eq!(shown(&found).join(" "), text);
        for line in shown(&found) {
            assert!(fonts.face(false).width(&line, 10.0) <= 90.1, "{line}");
        }
    }

    #[test]
    fn a_word_wider_than_the_room_is_broken() {
        let fonts = Fonts::new().expect("fonts");
        let found = lines(&plain("0123456789abcdef0123456789abcdef"), &fonts, 10.0, 60.0);
        assert!(found.len() > 2);
        assert_eq!(shown(&found).concat(), "0123456789abcdef0123456789abcdef");
    }

    #[test]
    fn looks_change_within_a_word() {
        let fonts = Fonts::new().expect("fonts");
        let mut runs = plain("to");
        runs.push(Run { text: "day 5".to_owned(), bold: true, colour: [0; 3] });
        let found = lines(&runs, &fonts, 10.0, 500.0);
        assert_eq!(shown(&found), ["today 5"]);
        assert_eq!(found[0].len(), 2);
    }
}
