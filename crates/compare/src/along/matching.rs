//! Which cutter of the study a tool of a program is: as the caller says, as comments name or
//! describe it, or not known.

use nc::Program;
use nc::audit::ToolAlong;
use study::Study;

/// One line for each tool of the program.
pub(super) fn of(study: &Study, program: &Program, named: &[(u32, String)]) -> Vec<ToolAlong> {
    program.tools.iter().map(|number| one(study, program, named, *number)).collect()
}

fn one(study: &Study, program: &Program, named: &[(u32, String)], number: u32) -> ToolAlong {
    let found = |cutter: &str, by: &str| ToolAlong {
        number,
        cutter: Some(cutter.to_owned()),
        matched_by: by.to_owned(),
        ..ToolAlong::default()
    };
    if let Some((_, id)) = named.iter().find(|(n, _)| *n == number) {
        return found(id, "as the call says");
    }
    let comments = about(program, number);
    for text in &comments {
        let plain = plain(text);
        // the longest id that stands in the comment
        let ids = study.cutters.iter().filter(|c| plain.contains(&self::plain(&c.id)));
        if let Some(cutter) = ids.max_by_key(|c| c.id.len()) {
            return found(&cutter.id, &format!("comment \"{}\"", text.trim()));
        }
    }
    for text in &comments {
        let Some(diameter) = diameter_mm(text) else { continue };
        let mut same =
            study.cutters.iter().filter(|c| (c.spec.diameter_mm - diameter).abs() < 1e-3);
        if let (Some(cutter), None) = (same.next(), same.next()) {
            return found(&cutter.id, &format!("diameter {diameter} mm in \"{}\"", text.trim()));
        }
    }
    ToolAlong {
        number,
        matched_by: "no comment names one of the study's cutters or a diameter that only one has"
            .to_owned(),
        ..ToolAlong::default()
    }
}

/// Comments that speak of a tool: those that name it, and those beside or just before its call.
fn about(program: &Program, number: u32) -> Vec<String> {
    let calls = program.track.waits.iter();
    let calls = calls.filter(|w| w.event == machine::Event::ToolChange);
    let lines: Vec<u32> = calls.filter(|w| u32::from(w.tool) == number).map(|w| w.block).collect();
    let names = |text: &str| {
        let words = text.split(|c: char| !c.is_ascii_alphanumeric());
        words
            .map(str::to_ascii_uppercase)
            .any(|w| w.strip_prefix('T').and_then(|d| d.parse::<u32>().ok()) == Some(number))
    };
    let beside = |line: u32| lines.iter().any(|l| line <= *l && line + 2 >= *l);
    let near = program.comments.iter().filter(|(line, text)| names(text) || beside(*line));
    near.map(|(_, text)| text.clone()).collect()
}

/// Letters and digits alone, in capitals.
fn plain(text: &str) -> String {
    text.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_ascii_uppercase()
}

/// A diameter as comments have it: D12, DIA 12.5, 12 MM.
fn diameter_mm(text: &str) -> Option<f64> {
    let upper = text.to_ascii_uppercase().replace(',', ".");
    let words: Vec<&str> = upper
        .split(|c: char| !(c.is_ascii_alphanumeric() || c == '.'))
        .filter(|w| !w.is_empty())
        .collect();
    let number = |w: &str| w.trim_end_matches('.').parse::<f64>().ok();
    words.iter().enumerate().find_map(|(i, w)| {
        let next = words.get(i + 1).copied().unwrap_or_default();
        let stuck = ["DIA", "DC", "D"].iter().find_map(|p| number(w.strip_prefix(p)?));
        let apart = ["DIA", "DIAMETER", "D", "DC"].contains(w).then(|| number(next)).flatten();
        let unit = number(w).filter(|_| next == "MM").or_else(|| number(w.strip_suffix("MM")?));
        stuck.or(apart).or(unit)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn diameters_are_read_as_people_write_them() {
        for (text, diameter) in [
            ("T1 D12 BALL", Some(12.0)),
            ("END MILL DIA 12,5", Some(12.5)),
            ("10MM ROUGHER", Some(10.0)),
            ("16 MM", Some(16.0)),
            ("DC20.", Some(20.0)),
            ("DRILL", None),
            ("T12", None),
        ] {
            assert_eq!(diameter_mm(text), diameter, "{text}");
        }
    }
}
