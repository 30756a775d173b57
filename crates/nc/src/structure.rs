//! Where a program may jump to: block numbers, and loops with their ends.

use crate::calls::Spot;
use crate::dialect::Dialect;
use crate::expression::{Wrong, bracket_end};
use crate::lexer::Lexer;

/// A loop: the block that begins it, and the one that ends it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Loop {
    level: u8,
    pub(crate) from: Spot,
    /// Beginning of the block with END.
    to: usize,
    /// What follows it.
    pub(crate) after: Spot,
    /// The loop that holds this one.
    parent: Option<usize>,
}

/// Why a loop has no end, or an end no loop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Broken {
    NoEnd(u8),
    NoBeginning(u8),
    Crossed { ends: u8, open: u8 },
    Twice(u8),
}

/// A block number: program of the file, number, place.
type Number = (usize, u32, usize, u32);

/// Block numbers and loops of all programs of a file.
#[derive(Debug, Default)]
pub(crate) struct Structure {
    /// Where the programs of the file begin, beside the first one.
    programs: Vec<usize>,
    /// Sorted.
    numbers: Vec<Number>,
    /// By their beginnings.
    loops: Vec<Loop>,
    /// Places of ends, and which loop they end.
    ends: Vec<(usize, usize)>,
    broken: Vec<(usize, Broken)>,
}

/// What the beginning of a block says about jumps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mark {
    Begin(u8),
    End(u8),
}

impl Structure {
    /// Of the programs in `bytes`; blocks with a block delete are none where `deleted`.
    pub(crate) fn of(bytes: &[u8], dialect: &Dialect, deleted: bool) -> Self {
        let mark = u8::try_from(dialect.program_mark).unwrap_or(b'O').to_ascii_uppercase();
        let mut found = Self::default();
        let mut open: Vec<usize> = Vec::new();
        let (mut at, mut line) = (Lexer::new(bytes, dialect).at, 1);
        while at < bytes.len() {
            let rest = &bytes[at..];
            let length = rest.iter().position(|b| *b == b'\n').map_or(rest.len(), |n| n + 1);
            let spot = Spot { at, line };
            let after = Spot { at: at + length, line: line + 1 };
            let text = &rest[..length];
            let first = text.iter().find(|b| !matches!(b, b' ' | b'\t'));
            if first.is_some_and(|b| b.to_ascii_uppercase() == mark) {
                found.close(&mut open);
                found.programs.push(at);
            } else if let Some(first) = first
                && matches!(first.to_ascii_uppercase(), b'N' | b'/' | b'W' | b'D' | b'E')
            {
                found.block(text, spot, after, deleted, &mut open);
            }
            (at, line) = (after.at, after.line);
        }
        found.close(&mut open);
        found.numbers.sort_unstable();
        found.ends.sort_unstable();
        found.broken.sort_unstable_by_key(|(at, _)| *at);
        found
    }

    fn block(
        &mut self,
        text: &[u8],
        spot: Spot,
        after: Spot,
        deleted: bool,
        open: &mut Vec<usize>,
    ) {
        let Some((number, rest)) = head(text, deleted) else { return };
        if let Some(number) = number {
            self.numbers.push((self.programs.len(), number, spot.at, spot.line));
        }
        match mark(&text[rest..]) {
            Some(Mark::Begin(level)) => {
                if open.iter().any(|i| self.loops[*i].level == level) {
                    self.broken.push((spot.at, Broken::Twice(level)));
                }
                let parent = open.last().copied();
                open.push(self.loops.len());
                let to = usize::MAX;
                self.loops.push(Loop { level, from: spot, to, after: spot, parent });
            }
            Some(Mark::End(level)) => {
                let Some(&last) = open.last() else {
                    self.broken.push((spot.at, Broken::NoBeginning(level)));
                    return;
                };
                let inner = self.loops[last].level;
                if inner == level {
                    open.pop();
                    self.loops[last].to = spot.at;
                    self.loops[last].after = after;
                    self.ends.push((spot.at, last));
                } else if let Some(at) = open.iter().position(|i| self.loops[*i].level == level) {
                    let crossed = Broken::Crossed { ends: level, open: inner };
                    let outer = self.loops[open.remove(at)];
                    self.broken.extend([(spot.at, crossed), (outer.from.at, crossed)]);
                } else {
                    self.broken.push((spot.at, Broken::NoBeginning(level)));
                }
            }
            None => {}
        }
    }

    /// A program of the file ends: what is open has no end.
    fn close(&mut self, open: &mut Vec<usize>) {
        for index in open.drain(..) {
            let found = self.loops[index];
            self.broken.push((found.from.at, Broken::NoEnd(found.level)));
        }
    }

    /// Refuses a block that begins or ends a loop which has no other end.
    fn sound(&self, at: usize) -> Result<(), Wrong> {
        match self.broken.binary_search_by_key(&at, |(at, _)| *at) {
            Ok(index) => Err(broken(at, self.broken[index].1)),
            Err(_) => Ok(()),
        }
    }

    /// The loop that begins with the block at `at`.
    pub(crate) fn begins(&self, at: usize) -> Result<Loop, Wrong> {
        self.sound(at)?;
        match self.loops.binary_search_by_key(&at, |l| l.from.at) {
            Ok(index) => Ok(self.loops[index]),
            Err(_) => Err(misread(at)),
        }
    }

    /// The loop that ends with the block at `at`.
    pub(crate) fn ends(&self, at: usize) -> Result<Loop, Wrong> {
        self.sound(at)?;
        match self.ends.binary_search_by_key(&at, |(at, _)| *at) {
            Ok(index) => Ok(self.loops[self.ends[index].1]),
            Err(_) => Err(misread(at)),
        }
    }

    /// The innermost loop that holds a place.
    fn around(&self, at: usize) -> Option<Loop> {
        let mut index = self.loops.partition_point(|l| l.from.at < at).checked_sub(1);
        while let Some(found) = index.map(|i| self.loops[i]) {
            if found.to >= at {
                return Some(found);
            }
            index = found.parent;
        }
        None
    }

    /// The block with a number in the program of the file that holds `from`: the next one, else the
    /// first of the program; and whether there are several.
    pub(crate) fn target(&self, number: u32, from: usize) -> Option<(Spot, bool)> {
        let program = self.programs.partition_point(|at| *at <= from);
        let low = self.numbers.partition_point(|n| (n.0, n.1) < (program, number));
        let all = &self.numbers[low..];
        let all = &all[..all.partition_point(|n| (n.0, n.1) == (program, number))];
        let next = all.iter().find(|n| n.2 > from).or(all.first())?;
        Some((Spot { at: next.2, line: next.3 }, all.len() > 1))
    }

    /// Whether a jump from one place to another enters a loop.
    pub(crate) fn enters(&self, from: usize, to: usize) -> bool {
        self.around(to).is_some_and(|l| !(l.from.at < from && from <= l.to))
    }
}

/// Block number at the beginning of a line, and where the rest begins; `None`: deleted.
fn head(text: &[u8], deleted: bool) -> Option<(Option<u32>, usize)> {
    let (mut at, mut number) = (0, None);
    let digits = |at: usize| text[at..].iter().take_while(|b| b.is_ascii_digit()).count();
    loop {
        match text.get(at).map(u8::to_ascii_uppercase) {
            Some(b' ' | b'\t' | b'\r' | 0 | 0x7f) => at += 1,
            Some(b'/') if deleted => return None,
            Some(b'/') => at += 1 + digits(at + 1),
            Some(b'N') if number.is_none() => {
                let mut from = at + 1;
                while matches!(text.get(from), Some(b' ' | b'\t')) {
                    from += 1;
                }
                let count = digits(from);
                let value = std::str::from_utf8(&text[from..from + count]).ok()?;
                // a number that no jump can name
                number = Some(value.parse().unwrap_or(u32::MAX));
                at = from + count;
            }
            _ => return Some((number, at)),
        }
    }
}

/// Whether a loop begins or ends with this text.
fn mark(text: &[u8]) -> Option<Mark> {
    let is = |text: &[u8], word: &str| {
        text.get(..word.len()).is_some_and(|t| t.eq_ignore_ascii_case(word.as_bytes()))
    };
    let level = |text: &[u8]| {
        let blanks = text.iter().take_while(|b| matches!(b, b' ' | b'\t')).count();
        let digits = &text[blanks..];
        let count = digits.iter().take_while(|b| b.is_ascii_digit()).count();
        std::str::from_utf8(&digits[..count]).ok()?.parse().ok()
    };
    if is(text, "WHILE") {
        let open = text.iter().position(|b| *b == b'[')?;
        let rest = &text[bracket_end(text, open).ok()?..];
        let blanks = rest.iter().take_while(|b| matches!(b, b' ' | b'\t')).count();
        return is(&rest[blanks..], "DO").then(|| level(&rest[blanks + 2..]))?.map(Mark::Begin);
    }
    if is(text, "DO") {
        return level(&text[2..]).map(Mark::Begin);
    }
    is(text, "END").then(|| level(&text[3..]))?.map(Mark::End)
}

#[cold]
fn broken(at: usize, broken: Broken) -> Wrong {
    match broken {
        Broken::NoEnd(m) => Wrong::new(
            at,
            format!("the loop DO{m} that begins here has no end"),
            format!("END{m} after it in the same program"),
            "add the end; a file that was cut off ends like this",
        ),
        Broken::NoBeginning(m) => Wrong::new(
            at,
            format!("END{m} ends no loop"),
            format!("WHILE [..] DO{m} before it in the same program"),
            "add the beginning of the loop, or remove its end",
        ),
        Broken::Crossed { ends, open } => Wrong::new(
            at,
            format!("END{ends} stands inside the loop DO{open}: loops cross each other"),
            format!("END{open} before it"),
            "end the inner loop first",
        ),
        Broken::Twice(m) => Wrong::new(
            at,
            format!("a loop DO{m} inside another loop DO{m}"),
            "a number of its own, 1 to 3, for each loop inside another",
            "number the inner loop anew, and its end",
        ),
    }
}

/// A loop whose other end could not be told.
#[cold]
fn misread(at: usize) -> Wrong {
    Wrong::new(
        at,
        "the other end of this loop could not be told",
        "WHILE [..] DO1 and END1, each at the beginning of its block",
        "write both like this",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Structure {
        Structure::of(text.as_bytes(), &Dialect::a(), false)
    }

    fn at(text: &str, what: &str) -> usize {
        text.find(what).unwrap()
    }

    #[test]
    fn loops_find_their_ends_and_ends_their_loops() {
        let text = "N10 WHILE [#1 LT [2+1]] DO 1\nX1.\n/do2\n end 2\nEND1\nX2.\n";
        let found = of(text);
        let outer = found.begins(0).unwrap();
        assert_eq!(outer.after, Spot { at: at(text, "X2."), line: 6 });
        let inner = found.begins(at(text, "/do2")).unwrap();
        assert_eq!(found.ends(at(text, " end 2")).unwrap(), inner);
        assert_eq!(found.around(at(text, "X1.")), Some(outer));
        assert_eq!(found.around(at(text, " end 2")), Some(inner));
        assert_eq!(found.around(at(text, "X2.")), None);
        assert!(found.enters(at(text, "X2."), at(text, "X1.")));
        assert!(!found.enters(at(text, " end 2"), at(text, "X1.")));
        assert!(!found.enters(at(text, "X1."), at(text, "X2.")));
    }

    #[test]
    fn loops_without_ends_and_ends_without_loops_say_so() {
        for (text, what, says) in [
            ("X1.\nDO1\nX1.\n", "DO1", "has no end"),
            ("DO1\nO2\nEND1\n", "DO1", "has no end"),
            ("DO1\nO2\nEND1\n", "END1", "ends no loop"),
            ("DO1\nDO2\nEND1\nEND2\n", "END1", "cross"),
        ] {
            let found = of(text);
            let place = at(text, what);
            let wrong = found.begins(place).err().or(found.ends(place).err());
            assert!(wrong.unwrap().message.contains(says), "{text}");
        }
        let twice = of("DO1\nDO1\nEND1\nEND1\n");
        assert!(twice.begins(4).unwrap_err().message.contains("inside another"));
    }

    #[test]
    fn numbers_are_sought_onwards_and_then_from_the_top_of_the_same_program() {
        let text = "N5 X1.\nN05 X2.\nX3.\nO2\nN5 X4.\n";
        let found = of(text);
        let spot = |n, from: &str| found.target(n, at(text, from)).map(|(s, t)| (s.line, t));
        assert_eq!(spot(5, "N5 X1."), Some((2, true)));
        assert_eq!(spot(5, "X3."), Some((1, true)));
        assert_eq!(spot(5, "O2"), Some((5, false)));
        assert_eq!(spot(6, "X3."), None);
    }
}
