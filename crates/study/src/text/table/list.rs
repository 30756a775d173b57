//! Lists, tables in tables, and lists of tables.

use toml::Spanned;
use toml::de::{DeArray, DeValue};

use super::super::bound::Bound;
use super::{Given, Table};

impl<'a> Table<'a> {
    /// Exactly `N` numbers, each in the range.
    pub(crate) fn numbers<const N: usize>(
        &self,
        key: &'static str,
        bound: &Bound,
    ) -> Option<[f64; N]> {
        self.numbers_of(key, self.value(key)?, bound)
    }

    /// The same of a value at hand.
    fn numbers_of<const N: usize>(
        &self,
        key: &str,
        value: &'a Spanned<DeValue<'a>>,
        bound: &Bound,
    ) -> Option<[f64; N]> {
        let expected = format!("a list of {N} numbers, each {}", bound.expected());
        let list = self.list_of(key, value, &expected)?;
        if list.len() != N {
            let message = format!("`{key}` has {} numbers", list.len());
            self.report(value.span(), message, expected, format!("give {N} numbers"));
            return None;
        }
        let read: Vec<Option<f64>> = list.iter().map(|v| self.number_of(key, v, bound)).collect();
        let numbers: Option<Vec<f64>> = read.into_iter().collect();
        numbers?.try_into().ok()
    }

    /// A list of whole numbers from 0, not empty.
    pub(crate) fn indices(&self, key: &'static str) -> Option<Vec<usize>> {
        const INDEX: Bound = Bound::from_zero("", 1e9, "take the numbers that `inspect` prints");
        let value = self.value(key)?;
        let expected = "a list of whole numbers as `inspect` prints them: [12, 13]";
        let list = self.list_of(key, value, expected)?;
        let read: Vec<Option<f64>> = list.iter().map(|v| self.number_of(key, v, &INDEX)).collect();
        let numbers = read.into_iter().collect::<Option<Vec<f64>>>()?;
        if numbers.is_empty() || numbers.iter().any(|n| n.fract() != 0.0) {
            let message = format!("`{key}` is not a list of face numbers");
            self.report(value.span(), message, expected, "run `trialcut inspect` on the part");
            return None;
        }
        Some(numbers.into_iter().map(|n| n as usize).collect())
    }

    /// A list of texts; empty where the key is left out.
    pub(crate) fn texts(&self, key: &'static str) -> Vec<Given<String>> {
        let Some(value) = self.value(key) else { return Vec::new() };
        let list = self.list_of(key, value, "a list of texts: [\"a\", \"b\"]");
        list.into_iter().flat_map(|l| l.iter()).filter_map(|v| self.text_of(key, v)).collect()
    }

    /// A table under a key.
    pub(crate) fn table(&self, key: &'static str) -> Option<Table<'a>> {
        self.table_of(key, self.value(key)?)
    }

    /// Lists of tables, written `[[key]]` or in line.
    pub(crate) fn tables(&self, key: &'static str) -> Vec<Table<'a>> {
        let Some(value) = self.value(key) else { return Vec::new() };
        if value.get_ref().is_table() {
            let message = format!("`{key}` is a single table");
            let remedy = format!("write the heading with double brackets: [[{key}]]");
            self.report(value.span(), message, "a list of tables", remedy);
            return self.table_of(key, value).into_iter().collect();
        }
        let list = self.list_of(key, value, "a list of tables");
        let tables = list.into_iter().flat_map(|l| l.iter()).filter_map(|v| self.table_of(key, v));
        tables.map(|t| t.renamed(format!("[[{key}]]"))).collect()
    }

    /// Every entry of this table as a name and a table: `[axis.X]`, `[axis.A]`.
    pub(crate) fn named_tables(&self) -> Vec<(Given<String>, Table<'a>)> {
        let mut named = Vec::new();
        for (key, value) in self.entries {
            let name = Given { value: key.get_ref().to_string(), span: key.span() };
            if let Some(table) = self.table_of(&name.value, value) {
                named.push((name, table));
            }
        }
        named.sort_by_key(|(name, _)| name.span.start);
        named
    }

    /// Every entry of this table as a name and a number.
    pub(crate) fn named_numbers(&self, bound: &Bound) -> Vec<(Given<String>, f64)> {
        let mut named = Vec::new();
        for (key, value) in self.entries {
            let name = key.get_ref().to_string();
            if let Some(number) = self.number_of(&name, value, bound) {
                named.push((Given { value: name, span: key.span() }, number));
            }
        }
        named.sort_by_key(|(name, _)| name.span.start);
        named
    }

    /// Every entry of this table as a name and a text.
    pub(crate) fn named_texts(&self) -> Vec<(Given<String>, Given<String>)> {
        let mut named = Vec::new();
        for (key, value) in self.entries {
            let name = key.get_ref().to_string();
            if let Some(text) = self.text_of(&name, value) {
                named.push((Given { value: name, span: key.span() }, text));
            }
        }
        named.sort_by_key(|(name, _)| name.span.start);
        named
    }

    /// Every entry of this table as a name and two numbers.
    pub(crate) fn named_pairs(&self, bound: &Bound) -> Vec<(Given<String>, [f64; 2])> {
        let mut named = Vec::new();
        for (key, value) in self.entries {
            let name = key.get_ref().to_string();
            if let Some(pair) = self.numbers_of(&name, value, bound) {
                named.push((Given { value: name, span: key.span() }, pair));
            }
        }
        named.sort_by_key(|(name, _)| name.span.start);
        named
    }

    fn table_of(&self, key: &str, value: &'a Spanned<DeValue<'a>>) -> Option<Table<'a>> {
        let Some(entries) = value.get_ref().as_table() else {
            let remedy = format!("write it as a table: {key} = {{ … }} or under a heading [{key}]");
            self.wrong_type(key, value, "a table", &remedy);
            return None;
        };
        Some(Table::of(entries, value.span(), format!("[{key}]"), self.sink))
    }

    fn list_of(
        &self,
        key: &str,
        value: &'a Spanned<DeValue<'a>>,
        expected: &str,
    ) -> Option<&'a DeArray<'a>> {
        let list = value.get_ref().as_array();
        if list.is_none() {
            self.wrong_type(key, value, expected, "write a list in [brackets]");
        }
        list
    }
}
