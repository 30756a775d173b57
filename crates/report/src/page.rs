//! The frame of the document: head, style, title, foot. One file, nothing fetched.

use crate::Provenance;
use crate::markup::escape;

const STYLE: &str = include_str!("page.css");

/// What a page is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Processes side by side.
    Comparison,
    /// Where the time of a program goes.
    Audit,
    /// What is set up before a program runs.
    Sheet,
}

impl Kind {
    fn word(self) -> &'static str {
        match self {
            Self::Comparison => "comparison",
            Self::Audit => "audit",
            Self::Sheet => "setup sheet",
        }
    }

    fn kicker(self) -> &'static str {
        match self {
            Self::Comparison => "Comparison of milling processes",
            Self::Audit => "Audit of an NC program",
            Self::Sheet => "Setup sheet",
        }
    }
}

/// Puts the body into a complete page.
pub(crate) fn wrap(title: &str, kind: Kind, body: &str, provenance: &Provenance) -> String {
    let (word, kicker) = (kind.word(), kind.kicker());
    let name = escape(title);
    let made = if provenance.date.is_empty() {
        String::new()
    } else {
        format!(", {}", escape(&provenance.date))
    };
    let version = escape(&provenance.version);
    format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\
         <title>{name}: {word}</title><style>{STYLE}</style></head><body>\
         <header><p class=\"kicker\">{kicker}</p><h1>{name}</h1>\
         <p class=\"small\">trialcut {version}{made}. Predicted, not measured.</p></header>\n\
         <main>{body}</main><footer><p class=\"small\">{name} · trialcut {version}{made} · predicted \
         numbers, open until a trial settles them</p></footer></body></html>\n"
    )
}
