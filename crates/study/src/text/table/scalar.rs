//! Numbers, texts and choices of a table.

use toml::Spanned;
use toml::de::DeValue;

use super::super::bound::Bound;
use super::super::near::{listed, nearest};
use super::{Given, Table};

impl<'a> Table<'a> {
    /// A number in its range.
    pub(crate) fn number(&self, key: &'static str, bound: &Bound) -> Option<f64> {
        self.number_of(key, self.value(key)?, bound)
    }

    /// A number in its range, or `default` where the key is left out.
    pub(crate) fn number_or(&self, key: &'static str, bound: &Bound, default: f64) -> Option<f64> {
        if self.has(key) { self.number(key, bound) } else { Some(default) }
    }

    /// A number in its range that has to be there.
    pub(crate) fn need_number(&self, key: &'static str, bound: &Bound, like: &str) -> Option<f64> {
        if !self.has(key) {
            self.missing(key, bound.expected(), format!("add `{key} = {like}`"));
        }
        self.number(key, bound)
    }

    /// A whole number in its range.
    pub(crate) fn whole(&self, key: &'static str, bound: &Bound) -> Option<u32> {
        let value = self.value(key)?;
        let number = self.number_of(key, value, bound)?;
        if number.fract() != 0.0 {
            let message = format!("`{key}` is {number}");
            self.report(value.span(), message, "a whole number", "leave out the fraction");
            return None;
        }
        Some(number as u32)
    }

    /// `true` or `false`.
    pub(crate) fn flag(&self, key: &'static str) -> Option<bool> {
        let value = self.value(key)?;
        let flag = value.get_ref().as_bool();
        if flag.is_none() {
            self.wrong_type(key, value, "true or false", "write it without quotation marks");
        }
        flag
    }

    /// A text that is not empty.
    pub(crate) fn text(&self, key: &'static str) -> Option<Given<String>> {
        self.text_of(key, self.value(key)?)
    }

    /// A text that has to be there.
    pub(crate) fn need_text(&self, key: &'static str, like: &str) -> Option<Given<String>> {
        if !self.has(key) {
            self.missing(key, "a text", format!("add `{key} = \"{like}\"`"));
        }
        self.text(key)
    }

    /// One of some words.
    pub(crate) fn choice<T: Copy>(&self, key: &'static str, words: &[(&str, T)]) -> Option<T> {
        self.one_of(key, &self.text(key)?, words)
    }

    /// The meaning of a word that stands under `key`.
    pub(crate) fn one_of<T: Copy>(
        &self,
        key: &str,
        given: &Given<String>,
        words: &[(&str, T)],
    ) -> Option<T> {
        if let Some((_, meant)) = words.iter().find(|(word, _)| *word == given.value) {
            return Some(*meant);
        }
        let remedy = match nearest(&given.value, words.iter().map(|(word, _)| *word)) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => "take one of these words".to_owned(),
        };
        let message = format!("`{key}` is \"{}\"", given.value);
        let expected = listed(words.iter().map(|(word, _)| *word));
        self.report(given.span.clone(), message, expected, remedy);
        None
    }

    /// One of some words, or `default` where the key is left out.
    pub(crate) fn choice_or<T: Copy>(
        &self,
        key: &'static str,
        words: &[(&str, T)],
        default: T,
    ) -> Option<T> {
        if self.has(key) { self.choice(key, words) } else { Some(default) }
    }

    /// One of some words that has to be there.
    pub(crate) fn need_choice<T: Copy>(&self, key: &'static str, words: &[(&str, T)]) -> Option<T> {
        if !self.has(key) {
            let first = words.first().map_or("", |(word, _)| word);
            let expected = listed(words.iter().map(|(word, _)| *word));
            self.missing(key, expected, format!("add `{key} = \"{first}\"` or another of them"));
        }
        self.choice(key, words)
    }

    pub(super) fn text_of(
        &self,
        key: &str,
        value: &'a Spanned<DeValue<'a>>,
    ) -> Option<Given<String>> {
        let Some(text) = value.get_ref().as_str() else {
            self.wrong_type(key, value, "a text", "write it in \"quotes\"");
            return None;
        };
        if text.trim().is_empty() {
            let message = format!("`{key}` is empty");
            self.report(value.span(), message, "a text", "fill it in or take the key out");
            return None;
        }
        Some(Given { value: text.to_owned(), span: value.span() })
    }

    pub(super) fn number_of(
        &self,
        key: &str,
        value: &'a Spanned<DeValue<'a>>,
        bound: &Bound,
    ) -> Option<f64> {
        let Some(number) = number_in(value.get_ref()) else {
            self.not_a_number(key, value, bound);
            return None;
        };
        if !bound.holds(number) {
            let unit =
                if bound.unit.is_empty() { String::new() } else { format!(" {}", bound.unit) };
            let message = format!("`{key}` is {number}{unit}");
            self.report(value.span(), message, bound.expected(), remedy_for(number, bound));
            return None;
        }
        Some(number)
    }

    fn not_a_number(&self, key: &str, value: &Spanned<DeValue<'_>>, bound: &Bound) {
        let quoted = value.get_ref().as_str().and_then(leading_number);
        let remedy = match quoted {
            Some(number) => format!("write `{key} = {number}`; the key names the unit"),
            None => "write a plain number; the key names the unit".to_owned(),
        };
        self.wrong_type(key, value, &bound.expected(), &remedy);
    }
}

fn number_in(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix()).ok().map(|n| n as f64),
        DeValue::Float(n) => n.as_str().parse().ok(),
        _ => None,
    }
}

fn leading_number(text: &str) -> Option<f64> {
    let digits = text.trim().trim_end_matches(|c: char| !c.is_ascii_digit());
    digits.replace(',', ".").parse().ok().filter(|n: &f64| n.is_finite())
}

fn remedy_for(number: f64, bound: &Bound) -> String {
    if !number.is_finite() {
        return "write a finite number".to_owned();
    }
    if number < 0.0 && bound.low >= 0.0 {
        return "leave out the minus sign".to_owned();
    }
    bound.hint.to_owned()
}
