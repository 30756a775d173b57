//! The name that was probably meant, and lists of choices for messages.

/// Likeness (Damerau–Levenshtein, normalised) from which a name counts as meant.
const LIKENESS: f64 = 0.55;

/// Letters from which the beginning of a name counts as the name.
const CUT_SHORT: usize = 4;

/// The choice most like `given`, if one is like it at all; the first of equals.
pub fn nearest<'a>(given: &str, choices: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let given = given.to_lowercase();
    let mut best: Option<(f64, &str)> = None;
    for choice in choices {
        let lower = choice.to_lowercase();
        let likeness = strsim::normalized_damerau_levenshtein(&given, &lower);
        let cut_short = given.len() >= CUT_SHORT && lower.starts_with(&given);
        let likeness = if cut_short { likeness.max(LIKENESS) } else { likeness };
        if likeness >= LIKENESS && best.is_none_or(|(b, _)| likeness > b) {
            best = Some((likeness, choice));
        }
    }
    best.map(|(_, choice)| choice)
}

/// `"a", "b" or "c"`: the choices as a message lists them.
pub fn listed<'a>(choices: impl IntoIterator<Item = &'a str>) -> String {
    let quoted: Vec<String> = choices.into_iter().map(|c| format!("\"{c}\"")).collect();
    match quoted.split_last() {
        None => "nothing".to_owned(),
        Some((only, [])) => only.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_keys_is_recognised_and_a_stranger_is_not() {
        let keys = ["diameter_mm", "teeth", "form"];
        assert_eq!(nearest("diametre_mm", keys), Some("diameter_mm"));
        assert_eq!(nearest("tooth", keys), Some("teeth"));
        assert_eq!(nearest("zzz", keys), None);
    }

    #[test]
    fn lists_read_as_a_sentence() {
        assert_eq!(listed(["a"]), "\"a\"");
        assert_eq!(listed(["a", "b", "c"]), "\"a\", \"b\" or \"c\"");
        assert_eq!(listed([]), "nothing");
    }
}
