//! Small pieces of HTML: escaping, tables, notes.

/// Text made safe for element content and attribute values.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // no document may hold them, whatever a tape or a name does
            c if c.is_control() && !matches!(c, '\t' | '\n' | '\r') => out.push('\u{fffd}'),
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            _ => out.push(c),
        }
    }
    out
}

/// A table whose first row is its head and whose first column names the rows. Cells are HTML.
pub(crate) fn table(class: &str, head: &[String], rows: &[Vec<String>]) -> String {
    let cells = |row: &[String]| -> String {
        let rest: String = row.iter().skip(1).map(|c| format!("<td>{c}</td>")).collect();
        let first = row.first().map(String::as_str).unwrap_or_default();
        format!("<tr><th scope=\"row\">{first}</th>{rest}</tr>")
    };
    let top: String = head.iter().map(|c| format!("<th scope=\"col\">{c}</th>")).collect();
    let body: String = rows.iter().map(|row| cells(row)).collect();
    format!(
        "<div class=\"wide\"><table class=\"{class}\"><thead><tr>{top}</tr></thead>\
         <tbody>{body}</tbody></table></div>\n"
    )
}

/// A list of notes; nothing where there are none.
pub(crate) fn notes(title: &str, lines: &[String]) -> String {
    if lines.is_empty() {
        return String::new();
    }
    let items: String = lines.iter().map(|l| format!("<li>{}</li>", escape(l))).collect();
    format!(
        "<div class=\"notes\"><p class=\"lead-in\">{}</p><ul>{items}</ul></div>\n",
        escape(title)
    )
}

/// A figure with its caption.
pub(crate) fn figure(svg: &str, caption: &str) -> String {
    format!("<figure>{svg}<figcaption>{caption}</figcaption></figure>\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_of_a_tape_are_shown_as_unreadable() {
        assert_eq!(escape("\u{12}\u{c}T1\u{14}\n"), "\u{fffd}\u{fffd}T1\u{fffd}\n");
    }

    #[test]
    fn a_name_cannot_break_out_of_its_cell() {
        let name = "<script>alert('x')</script> & \"co\"";
        let cell = table("t", &[escape(name)], &[]);
        assert!(!cell.contains("<script>") && cell.contains("&lt;script&gt;"));
        assert!(cell.contains("&amp; &quot;co&quot;"));
    }
}
