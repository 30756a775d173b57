//! Blocks that are no words: assignments, IF, WHILE, GOTO.

use crate::block::Block;
use crate::calls::{Call, Spot};
use crate::expression::{Evaluator, Value, Wrong};
use crate::fault::Topic;
use crate::lexer::Lexer;
use crate::run::Reader;
use crate::store::Store;
use crate::structure::Structure;

/// What a block that begins with letters does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Keyword {
    If,
    While,
    Goto,
    Do,
    End,
    /// Writes text to somewhere; moves nothing.
    Print,
    /// A word of programs that is not followed.
    Other,
}

/// Words that begin a block; the first that fits counts.
const KEYWORDS: [(&str, Keyword); 21] = [
    ("IF", Keyword::If),
    ("WHILE", Keyword::While),
    ("GOTO", Keyword::Goto),
    ("ENDIF", Keyword::Other),
    ("ENDFOR", Keyword::Other),
    ("ENDWHILE", Keyword::Other),
    ("ENDLOOP", Keyword::Other),
    ("END", Keyword::End),
    ("DO", Keyword::Do),
    ("POPEN", Keyword::Print),
    ("PCLOS", Keyword::Print),
    ("DPRNT", Keyword::Print),
    ("BPRNT", Keyword::Print),
    ("ELSE", Keyword::Other),
    ("THEN", Keyword::Other),
    ("FOR", Keyword::Other),
    ("REPEAT", Keyword::Other),
    ("UNTIL", Keyword::Other),
    ("LOOP", Keyword::Other),
    ("CASE", Keyword::Other),
    ("SETVN", Keyword::Print),
];

/// The word that begins at a place, if a block may begin with it.
pub(crate) fn keyword(bytes: &[u8], at: usize) -> Option<(&'static str, Keyword)> {
    let is = |word: &str| {
        let next = bytes.get(at..at + word.len());
        next.is_some_and(|text| text.eq_ignore_ascii_case(word.as_bytes()))
    };
    KEYWORDS.into_iter().find(|(word, _)| is(word))
}

/// The last jump back, and what the program depended on.
#[derive(Debug, Default)]
pub(crate) struct JumpBack {
    from: Option<usize>,
    changes: u64,
    calls: Vec<Call>,
}

impl Reader<'_> {
    fn evaluator<'b>(
        bytes: &'b [u8],
        at: usize,
        store: Option<&'b Store>,
    ) -> Option<Evaluator<'b>> {
        store.map(|store| Evaluator::new(bytes, at, store))
    }

    /// Runs the block's statement, which begins at `at`; the block begins at `start`.
    #[cold]
    pub(crate) fn statement(
        &mut self,
        block: &Block,
        start: usize,
        at: usize,
        lexer: &mut Lexer<'_>,
    ) -> Result<(), Wrong> {
        match keyword(self.bytes, at) {
            None => self.assignments(block, at),
            Some((word, Keyword::If)) => self.choice(block, start, at + word.len(), lexer),
            Some((word, Keyword::Goto)) => self.go_to(block, start, at + word.len(), lexer),
            Some((word, Keyword::While)) => {
                let (holds, rest) = self.condition(block, at + word.len(), word)?;
                let Some((word, Keyword::Do)) = keyword(self.bytes, rest) else {
                    return Err(Wrong::new(
                        rest,
                        "no DO after the condition of WHILE",
                        "DO and a number from 1 to 3",
                        "write it as WHILE [..] DO1",
                    ));
                };
                self.level(rest + word.len())?;
                let found = self.structure().begins(start)?;
                if !holds {
                    (lexer.at, lexer.line) = (found.after.at, found.after.line);
                }
                Ok(())
            }
            Some((word, Keyword::Do)) => {
                self.level(at + word.len())?;
                self.structure().begins(start).map(|_| ())
            }
            Some((word, Keyword::End)) => {
                self.level(at + word.len())?;
                let back = self.structure().ends(start)?.from;
                self.jump(back, start, at, lexer)
            }
            Some((word, Keyword::Print)) => {
                self.list.word(block.line, word.to_owned(), "writes text or names; moves nothing");
                Ok(())
            }
            Some((word, Keyword::Other)) => Err(Wrong::new(
                at,
                format!("{word} is not followed"),
                "IF [..] GOTO n, IF [..] THEN #n = .., WHILE [..] DO m, END m, GOTO n",
                "write it with these",
            )),
        }
    }

    /// Evaluates with the variables as they are; lists what deserves a look.
    fn evaluate<T>(
        &mut self,
        block: &Block,
        at: usize,
        work: impl FnOnce(&mut Evaluator<'_>) -> Result<T, Wrong>,
    ) -> Result<(T, usize), Wrong> {
        let Some(mut evaluator) = Self::evaluator(self.bytes, at, self.store.as_ref()) else {
            // the lexer refuses variables where the dialect has none
            return Err(Wrong::new(at, "variables", "plain numbers", "write the program out"));
        };
        let found = work(&mut evaluator)?;
        let (heard, end) = (evaluator.heard, evaluator.at);
        if heard.vacant {
            self.list.topic(Topic::VacantAsZero, block.line, || {
                let why = "a variable that holds nothing counts as 0 in an expression";
                ("#".into(), why.into())
            });
        }
        if heard.near {
            self.list.topic(Topic::NearlyEqual, block.line, || {
                let why = "numbers that differ by rounding alone count as equal or as whole; a control \
                           that compares every digit may run this block otherwise";
                ("#".into(), why.into())
            });
        }
        Ok((found, end))
    }

    /// Whether the condition after `word` holds, and where the rest begins.
    fn condition(&mut self, block: &Block, at: usize, word: &str) -> Result<(bool, usize), Wrong> {
        self.evaluate(block, at, |e| {
            let holds = e.condition(word)?;
            e.peek();
            Ok(holds)
        })
    }

    /// Refuses what is no number of a loop, or what follows it.
    fn level(&mut self, at: usize) -> Result<(), Wrong> {
        let digits = self.bytes[at..].iter().take_while(|b| matches!(b, b' ' | b'\t')).count();
        let from = at + digits;
        let count = self.bytes[from..].iter().take_while(|b| b.is_ascii_digit()).count();
        if !matches!(&self.bytes[from..from + count], b"1" | b"2" | b"3") {
            return Err(Wrong::new(
                from,
                "a loop without a number from 1 to 3",
                "DO1, DO2 or DO3, and END with the same number",
                "number the loop; loops go three deep",
            ));
        }
        self.nothing_after(from + count)
    }

    /// Refuses words after a statement.
    fn nothing_after(&mut self, at: usize) -> Result<(), Wrong> {
        let Some(mut rest) = Self::evaluator(self.bytes, at, self.store.as_ref()) else {
            return Ok(());
        };
        if rest.is_over() {
            return Ok(());
        }
        Err(rest.misplaced("the end of the block"))
    }

    /// One assignment after the other.
    fn assignments(&mut self, block: &Block, mut at: usize) -> Result<(), Wrong> {
        loop {
            let begin = at;
            let ((number, value), end) = self.evaluate(block, at, |e| {
                let number = e.variable_number()?;
                if e.peek() != b'=' {
                    return Err(e.misplaced("`=` and what the variable shall hold"));
                }
                e.at += 1;
                let begin = e.at;
                let value = match e.sum()? {
                    Value::Vacant => None,
                    value => Some(e.number(value, begin)?),
                };
                if !e.is_over() && e.peek() != b'#' {
                    return Err(e.misplaced("an operator, or the end of the block"));
                }
                Ok((number, value))
            })?;
            if let Some(store) = &mut self.store
                && let Err(why) = store.set(number, value)
            {
                return Err(Wrong::unknown(begin, number, why, &store.rules));
            }
            at = end;
            if self.bytes.get(at) != Some(&b'#') {
                return Ok(());
            }
        }
    }

    /// IF with GOTO or THEN.
    fn choice(
        &mut self,
        block: &Block,
        start: usize,
        at: usize,
        lexer: &mut Lexer<'_>,
    ) -> Result<(), Wrong> {
        let (holds, rest) = self.condition(block, at, "IF")?;
        let mut rest = rest;
        let then = keyword(self.bytes, rest).is_some_and(|(word, _)| word == "THEN");
        if then {
            rest += "THEN".len();
            while matches!(self.bytes.get(rest), Some(b' ' | b'\t')) {
                rest += 1;
            }
        }
        let goes = matches!(keyword(self.bytes, rest), Some((_, Keyword::Goto)));
        let sets = then && self.bytes.get(rest) == Some(&b'#');
        if !goes && !sets {
            return Err(Wrong::new(
                rest,
                "what IF shall do is not followed",
                "IF [..] GOTO n or IF [..] THEN #n = ..",
                "jump over the words with GOTO where the condition does not hold",
            ));
        }
        match (holds, goes) {
            (false, _) => Ok(()),
            (true, true) => self.go_to(block, start, rest + "GOTO".len(), lexer),
            (true, false) => self.assignments(block, rest),
        }
    }

    fn go_to(
        &mut self,
        block: &Block,
        start: usize,
        at: usize,
        lexer: &mut Lexer<'_>,
    ) -> Result<(), Wrong> {
        let (number, end) = self.evaluate(block, at, |e| {
            if e.is_over() {
                return Err(e.misplaced("the number of a block after GOTO"));
            }
            let value = e.word()?.unwrap_or(0.0);
            e.whole(Value::Number(value), at)
        })?;
        self.nothing_after(end)?;
        self.go_to_number(block, number, (start, at), start, lexer)
    }

    /// Jumps to the block with `number` in the program that holds `from`; `told`: beginning of the
    /// block, and the place of a complaint.
    pub(crate) fn go_to_number(
        &mut self,
        block: &Block,
        number: f64,
        told: (usize, usize),
        from: usize,
        lexer: &mut Lexer<'_>,
    ) -> Result<(), Wrong> {
        let (start, at) = told;
        let target = if (0.0..f64::from(u32::MAX)).contains(&number) {
            self.structure().target(number as u32, from)
        } else {
            None
        };
        let Some((to, several)) = target else {
            return Err(Wrong::new(
                at,
                format!("there is no block N{number} in this program to jump to"),
                format!("a block that begins with N{number}"),
                "correct the number, or number the block that is meant",
            ));
        };
        if several {
            self.list.topic(Topic::NumberTwice, block.line, || {
                let why = "this block number stands several times: the next one is taken, after the \
                           last the first";
                (format!("N{number}"), why.into())
            });
        }
        if self.structure().enters(from, to.at) {
            return Err(Wrong::new(
                at,
                format!("a jump into a loop: N{number} in line {} stands inside one", to.line),
                "a target outside the loop, or a jump from within it",
                "jump to the block that begins the loop",
            ));
        }
        self.jump(to, start, at, lexer)
    }

    /// Goes on at `to`; a jump back that can only repeat itself is refused.
    fn jump(
        &mut self,
        to: Spot,
        start: usize,
        at: usize,
        lexer: &mut Lexer<'_>,
    ) -> Result<(), Wrong> {
        if to.at <= start {
            let changes = self.store.as_ref().map_or(0, |s| s.changes);
            let last = &mut self.jump_back;
            // what a program does next depends on its variables and calls alone
            if last.from == Some(start) && last.changes == changes && last.calls == self.calls {
                return Err(Wrong::new(
                    at,
                    format!(
                        "the program goes back to line {} without end: no variable changes on \
                             the way",
                        to.line
                    ),
                    "a loop whose condition comes to an end",
                    "let the loop change the variable that its condition compares",
                ));
            }
            last.from = Some(start);
            last.changes = changes;
            last.calls.clone_from(&self.calls);
        }
        (lexer.at, lexer.line) = (to.at, to.line);
        Ok(())
    }

    fn structure(&mut self) -> &Structure {
        let (bytes, dialect, deleted) = (self.bytes, self.dialect, self.options.block_delete);
        self.structure.get_or_insert_with(|| Structure::of(bytes, dialect, deleted))
    }

    /// Words of the block whose numbers are variables or expressions.
    #[cold]
    pub(crate) fn numbers(&mut self, block: &mut Block) -> Result<(), Wrong> {
        for index in 0..block.computed.len() {
            let (letter, at) = block.computed[index];
            let (value, end) = self.evaluate(block, at, |e| e.word())?;
            let Some(value) = value else {
                block.leave_out(letter);
                let shown = String::from_utf8_lossy(&self.bytes[at..end.min(at + 20)]).into_owned();
                self.list.topic(Topic::Vacant, block.line, || {
                    let why = "the variable holds nothing: the word is left out, as a control does";
                    (format!("{}{shown}", char::from(letter)), why.into())
                });
                continue;
            };
            let whole = value.round();
            let near = (value - whole).abs() <= self.whole_within();
            if matches!(letter, b'G' | b'M') {
                let code = if letter == b'M' && near { whole } else { value };
                block.code(letter, code).map_err(|[message, expected, remedy]| {
                    Wrong::new(at, message, expected, remedy)
                })?;
            } else {
                // numbers of tools, programs and repeats are whole but for rounding
                let count = near && matches!(letter, b'D' | b'H' | b'L' | b'P' | b'S' | b'T');
                block.put(letter, if count { whole } else { value }, !count);
            }
        }
        Ok(())
    }

    fn whole_within(&self) -> f64 {
        self.store.as_ref().map_or(0.0, |s| s.rules.equal_within)
    }
}
