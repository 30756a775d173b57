//! The frame of the document: head, style, title, foot. One file, nothing fetched.

use crate::Provenance;
use crate::markup::escape;

const STYLE: &str = include_str!("page.css");

/// Puts the body into a complete page.
pub(crate) fn wrap(title: &str, body: &str, provenance: &Provenance) -> String {
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
         <title>{name}: comparison</title><style>{STYLE}</style></head><body>\
         <header><p class=\"kicker\">Comparison of milling processes</p><h1>{name}</h1>\
         <p class=\"small\">trialcut {version}{made}. Predicted, not measured.</p></header>\n\
         <main>{body}</main><footer><p class=\"small\">{name} · trialcut {version}{made} · predicted \
         numbers, open until a trial settles them</p></footer></body></html>\n"
    )
}
