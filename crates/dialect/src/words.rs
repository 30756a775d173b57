//! From meanings back to the words that a writer needs.

use crate::{Comments, Dialect, GCode, MCode, ToolCall, Words};

/// A G word by its tenths: `G0`, `G43.4`.
pub fn g_word(tenths: u16) -> String {
    if tenths.is_multiple_of(10) {
        format!("G{}", tenths / 10)
    } else {
        format!("G{}.{}", tenths / 10, tenths % 10)
    }
}

impl Dialect {
    /// The G word for a meaning; `None` where the dialect has none.
    pub fn g_for(&self, code: GCode) -> Option<String> {
        self.g.iter().find(|(_, meant)| *meant == code).map(|(tenths, _)| g_word(*tenths))
    }

    /// The M word for a meaning; `None` where the dialect has none.
    pub fn m_for(&self, code: MCode) -> Option<String> {
        self.m.iter().find(|(_, meant)| *meant == code).map(|(number, _)| format!("M{number}"))
    }

    /// The word that switches tip control on or off; `None` where the dialect has none.
    pub fn tip_word(&self, on: bool) -> Option<String> {
        let (g, m) = if on { (GCode::TipOn, MCode::TipOn) } else { (GCode::TipOff, MCode::TipOff) };
        self.m_for(m).or_else(|| self.g_for(g))
    }

    /// Whether tip control has to be switched on before X, Y, Z are the tip.
    pub fn switches_tip(&self) -> bool {
        self.words == Words::Axes
    }

    /// A line that is a comment.
    pub fn remark(&self, text: &str) -> String {
        match self.comments {
            Comments::Parentheses => format!("({text})"),
            Comments::Semicolon => format!("; {text}"),
        }
    }

    /// The words of a change to a tool.
    pub fn change(&self, number: u32) -> String {
        match (self.tool_call, self.m_for(MCode::ToolChange)) {
            (ToolCall::ByChangeWord, Some(word)) => format!("T{number} {word}"),
            _ => format!("T{number}"),
        }
    }

    /// What a G word in tenths does that is known but not followed.
    pub fn refusal(&self, tenths: u16) -> Option<&str> {
        self.refused.iter().find(|(g, _)| *g == tenths).map(|(_, text)| text.as_str())
    }

    /// What an M word of this dialect means, where a file says so.
    pub fn meaning(&self, number: u16) -> Option<&str> {
        self.meanings.iter().find(|(m, _)| *m == number).map(|(_, text)| text.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_come_back_from_their_meanings() {
        let (a, b) = (Dialect::a(), Dialect::b());
        assert_eq!(a.g_for(GCode::Metric).as_deref(), Some("G21"));
        assert_eq!(b.g_for(GCode::Metric).as_deref(), Some("G71"));
        assert_eq!(a.change(7), "T7 M6");
        assert_eq!(b.change(7), "T7");
        assert_eq!(b.tip_word(true).as_deref(), Some("M80"));
        assert_eq!(a.tip_word(true).as_deref(), Some("G43.4"));
        assert_eq!(a.m_for(MCode::End).as_deref(), Some("M30"));
        assert_eq!((a.remark("X"), b.remark("X")), ("(X)".into(), "; X".into()));
    }

    #[test]
    fn every_word_of_a_dialect_has_one_meaning() {
        for dialect in [Dialect::a(), Dialect::b()] {
            let mut g: Vec<u16> = dialect.g.iter().map(|(code, _)| *code).collect();
            g.extend(dialect.refused.iter().map(|(code, _)| *code));
            g.sort_unstable();
            assert!(g.windows(2).all(|w| w[0] != w[1]), "{}", dialect.name);
            let mut m: Vec<u16> = dialect.m.iter().map(|(code, _)| *code).collect();
            m.sort_unstable();
            assert!(m.windows(2).all(|w| w[0] != w[1]), "{}", dialect.name);
        }
    }
}
