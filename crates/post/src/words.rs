//! The words that a writer of programs needs and ISO 6983 leaves open.

/// Words of a control that ISO 6983 leaves open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words {
    /// What a comment begins and ends with.
    pub comment: [&'static str; 2],
    /// Millimetres.
    pub metric: &'static str,
    /// What follows the T word of a tool change.
    pub change: &'static str,
    /// Length compensation of a tool: the word before its number; empty where the change does it.
    pub length: &'static str,
    /// Tip control on and off; empty where it is the rule.
    pub tip: [&'static str; 2],
}

impl Words {
    /// Those of dialect `a`.
    pub fn a() -> Self {
        Self { comment: ["(", ")"], metric: "G21", change: " M6", length: "G43 H", tip: ["", ""] }
    }

    /// Those of dialect `b`.
    pub fn b() -> Self {
        Self { comment: ["; ", ""], metric: "G71", change: "", length: "", tip: ["M80", "M81"] }
    }

    /// Those of the packaged dialect of that name.
    pub fn named(dialect: &str) -> Option<Self> {
        match dialect {
            "a" => Some(Self::a()),
            "b" => Some(Self::b()),
            _ => None,
        }
    }

    /// A line that is a comment.
    pub fn remark(&self, text: &str) -> String {
        let [open, close] = self.comment;
        format!("{open}{text}{close}")
    }
}
