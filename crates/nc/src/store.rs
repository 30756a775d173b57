//! What the variables of a program hold.

use crate::dialect::Variables;
use crate::dialect::variables::Kind;
use std::collections::BTreeMap;

/// Local variables by number; number 0 is never used.
pub(crate) type Locals = Vec<Option<f64>>;

/// Why a variable cannot be read or set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Unknown {
    /// The program reads what only the control holds.
    Kept,
    /// The control's own.
    System,
    /// Setting it is an alarm.
    Alarm,
    /// No such number.
    Missing,
    /// Number 0 holds nothing and cannot be set.
    Vacant,
}

/// One run of a macro: what its variables hold, and what they held when it began.
#[derive(Debug, Clone)]
struct Level {
    now: Locals,
    given: Locals,
}

/// All variables.
#[derive(Debug)]
pub(crate) struct Store {
    pub(crate) rules: Variables,
    levels: Vec<Level>,
    shared: BTreeMap<u32, Option<f64>>,
    /// How often a variable came to hold something else.
    pub(crate) changes: u64,
}

impl Store {
    /// Variables of `rules`; those of `given` hold what it says.
    pub(crate) fn new(rules: Variables, given: &[(u32, f64)]) -> Self {
        let now = vec![None; rules.local_to as usize + 1];
        let mut store = Self {
            rules,
            levels: vec![Level { given: now.clone(), now }],
            shared: BTreeMap::new(),
            changes: 0,
        };
        for (number, value) in given {
            match store.local(*number) {
                Some(slot) => *slot = Some(*value),
                None => {
                    store.shared.insert(*number, Some(*value));
                }
            }
        }
        store
    }

    fn local(&mut self, number: u32) -> Option<&mut Option<f64>> {
        if self.rules.kind(number) != Kind::Local {
            return None;
        }
        self.levels.last_mut()?.now.get_mut(number as usize)
    }

    /// What a variable holds; `None`: nothing.
    pub(crate) fn get(&self, number: u32) -> Result<Option<f64>, Unknown> {
        let kind = self.rules.kind(number);
        if kind == Kind::Local {
            let level = self.levels.last().and_then(|l| l.now.get(number as usize));
            return Ok(level.copied().flatten());
        }
        match (self.shared.get(&number), kind) {
            (_, Kind::Vacant) => Ok(None),
            (Some(value), _) => Ok(*value),
            (None, Kind::Kept) => Err(Unknown::Kept),
            (None, Kind::System) => Err(Unknown::System),
            (None, Kind::Missing) => Err(Unknown::Missing),
            (None, _) => Ok(None),
        }
    }

    /// A variable comes to hold `value`.
    pub(crate) fn set(&mut self, number: u32, value: Option<f64>) -> Result<(), Unknown> {
        let slot = match self.rules.kind(number) {
            Kind::Vacant => return Err(Unknown::Vacant),
            Kind::Missing => return Err(Unknown::Missing),
            Kind::System if self.rules.alarm == Some(number) => return Err(Unknown::Alarm),
            Kind::System => return Err(Unknown::System),
            Kind::Local => self.local(number).ok_or(Unknown::Missing)?,
            Kind::Common | Kind::Kept => self.shared.entry(number).or_default(),
        };
        if slot.map(f64::to_bits) != value.map(f64::to_bits) {
            *slot = value;
            self.changes += 1;
        }
        Ok(())
    }

    /// A macro begins whose local variables are `given`, and nothing else.
    pub(crate) fn enter(&mut self, given: &[(u32, f64)]) {
        let mut now = vec![None; self.rules.local_to as usize + 1];
        for (number, value) in given {
            if let Some(slot) = now.get_mut(*number as usize) {
                *slot = Some(*value);
            }
        }
        self.levels.push(Level { given: now.clone(), now });
        self.changes += 1;
    }

    /// The macro begins again.
    pub(crate) fn again(&mut self) {
        if let Some(level) = self.levels.last_mut() {
            level.now.clone_from(&level.given);
            self.changes += 1;
        }
    }

    /// The macro ends.
    pub(crate) fn leave(&mut self) {
        if self.levels.len() > 1 {
            self.levels.pop();
            self.changes += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_call_has_its_own_local_variables() {
        let mut store = Store::new(Variables::default(), &[(500, 7.0), (1, 3.0)]);
        assert_eq!((store.get(500), store.get(1)), (Ok(Some(7.0)), Ok(Some(3.0))));
        store.enter(&[(1, 5.0)]);
        assert_eq!((store.get(1), store.get(2)), (Ok(Some(5.0)), Ok(None)));
        store.set(1, Some(9.0)).unwrap();
        store.set(100, Some(4.0)).unwrap();
        store.again();
        assert_eq!(store.get(1), Ok(Some(5.0)));
        store.leave();
        assert_eq!((store.get(1), store.get(100)), (Ok(Some(3.0)), Ok(Some(4.0))));
    }

    #[test]
    fn what_a_file_cannot_know_is_no_value() {
        let mut store = Store::new(Variables::default(), &[]);
        assert_eq!(store.get(501), Err(Unknown::Kept));
        store.set(501, Some(1.0)).unwrap();
        assert_eq!(store.get(501), Ok(Some(1.0)));
        assert_eq!(store.get(5021), Err(Unknown::System));
        assert_eq!(store.set(5021, None), Err(Unknown::System));
        assert_eq!(store.set(3000, Some(1.0)), Err(Unknown::Alarm));
        assert_eq!(store.set(0, None), Err(Unknown::Vacant));
        assert_eq!(store.get(40), Err(Unknown::Missing));
    }

    #[test]
    fn only_another_value_is_a_change() {
        let mut store = Store::new(Variables::default(), &[]);
        store.set(1, Some(2.0)).unwrap();
        let before = store.changes;
        store.set(1, Some(2.0)).unwrap();
        assert_eq!(store.changes, before);
        store.set(1, None).unwrap();
        assert_eq!(store.changes, before + 1);
    }
}
