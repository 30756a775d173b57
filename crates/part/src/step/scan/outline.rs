//! What the scan keeps of a file: its schema, and number, type and line of every instance.

use std::fmt;

/// The application protocol that a file says it follows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Schema {
    /// AP203, configuration controlled design.
    Ap203,
    /// AP214, automotive design.
    Ap214,
    /// AP242, managed model based engineering.
    Ap242,
    /// Something else, as the file names it.
    Other(String),
    /// The file says nothing.
    #[default]
    Unnamed,
}

impl Schema {
    /// From what stands in `FILE_SCHEMA`.
    pub(super) fn of(parameters: &[u8]) -> Self {
        let text = String::from_utf8_lossy(parameters);
        let name = text.split('\'').nth(1).unwrap_or_default().trim().to_ascii_uppercase();
        if name.contains("AP203") || name.starts_with("CONFIG_CONTROL") {
            Self::Ap203
        } else if name.contains("AUTOMOTIVE_DESIGN") || name.contains("AP214") {
            Self::Ap214
        } else if name.contains("AP242") {
            Self::Ap242
        } else if name.is_empty() {
            Self::Unnamed
        } else {
            Self::Other(name)
        }
    }
}

impl fmt::Display for Schema {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Ap203 => f.write_str("STEP AP203"),
            Self::Ap214 => f.write_str("STEP AP214"),
            Self::Ap242 => f.write_str("STEP AP242"),
            Self::Other(name) => write!(f, "STEP ({name})"),
            Self::Unnamed => f.write_str("STEP without a schema name"),
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Instance {
    id: u64,
    line: u32,
    kind: u32,
}

/// How far a walk along the references has come with an instance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Visit {
    New,
    Open,
    Done,
}

/// What the syntax of a STEP file says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outline {
    /// Application protocol.
    pub schema: Schema,
    instances: Vec<Instance>,
    kinds: Vec<String>,
    kind_numbers: std::collections::HashMap<String, u32>,
    references: Vec<Reference>,
}

/// One instance naming another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Reference {
    owner: u64,
    to: u64,
    line: u32,
}

impl Outline {
    pub(super) fn add(&mut self, id: u64, line: usize, kind: &str) {
        let number = match self.kind_numbers.get(kind) {
            Some(known) => *known,
            None => {
                let next = self.kinds.len() as u32;
                self.kinds.push(kind.to_owned());
                self.kind_numbers.insert(kind.to_owned(), next);
                next
            }
        };
        self.instances.push(Instance { id, line: line as u32, kind: number });
    }

    pub(super) fn refer(&mut self, owner: u64, to: u64, line: usize) {
        self.references.push(Reference { owner, to, line: line as u32 });
    }

    /// Sorts by number. Gives line and number of an instance that is there twice.
    pub(super) fn close(&mut self) -> Result<(), (usize, u64)> {
        self.instances.sort_by_key(|i| (i.id, i.line));
        self.references.sort_unstable();
        let twice = self.instances.windows(2).find(|w| w[0].id == w[1].id);
        twice.map_or(Ok(()), |w| Err((w[1].line as usize, w[1].id)))
    }

    fn find(&self, id: u64) -> Option<&Instance> {
        self.instances.binary_search_by_key(&id, |i| i.id).ok().map(|i| &self.instances[i])
    }

    /// How many instances there are.
    pub fn entities(&self) -> usize {
        self.instances.len()
    }

    /// Line of an instance, from 1.
    pub fn line_of(&self, id: u64) -> Option<usize> {
        self.find(id).map(|i| i.line as usize)
    }

    /// Type of an instance as written; several types are joined by `+`.
    pub fn kind_of(&self, id: u64) -> Option<&str> {
        self.find(id).map(|i| self.kinds[i.kind as usize].as_str())
    }

    /// Numbers of the instances of a type, ascending.
    pub fn of_kind<'a>(&'a self, kind: &'a str) -> impl Iterator<Item = u64> + 'a {
        let number = self.kind_numbers.get(kind).copied();
        self.instances.iter().filter(move |i| Some(i.kind) == number).map(|i| i.id)
    }

    /// A reference to an instance that is not there, with its line: the first in the file.
    pub fn dangling(&self) -> Option<(u64, usize)> {
        let lost = self.references.iter().filter(|r| self.find(r.to).is_none());
        lost.min_by_key(|r| (r.line, r.to)).map(|r| (r.to, r.line as usize))
    }

    /// An instance that leads back to itself, with the line of the reference that closes the
    /// circle. No reader's recursion survives one.
    pub fn circle(&self) -> Option<(u64, usize)> {
        let mut state = vec![Visit::New; self.instances.len()];
        for start in 0..self.instances.len() {
            if state[start] == Visit::New
                && let Some(found) = self.circle_from(start, &mut state)
            {
                return Some(found);
            }
        }
        None
    }

    fn circle_from(&self, start: usize, state: &mut [Visit]) -> Option<(u64, usize)> {
        let mut path = vec![(start, self.references_of(start))];
        state[start] = Visit::Open;
        while let Some((at, rest)) = path.last_mut() {
            let Some((next, others)) = rest.split_first() else {
                state[*at] = Visit::Done;
                path.pop();
                continue;
            };
            *rest = others;
            let Ok(to) = self.instances.binary_search_by_key(&next.to, |i| i.id) else { continue };
            match state[to] {
                Visit::Open => return Some((next.to, next.line as usize)),
                Visit::Done => {}
                Visit::New => {
                    state[to] = Visit::Open;
                    path.push((to, self.references_of(to)));
                }
            }
        }
        None
    }

    fn references_of(&self, instance: usize) -> &[Reference] {
        let id = self.instances[instance].id;
        let first = self.references.partition_point(|r| r.owner < id);
        let end = self.references.partition_point(|r| r.owner <= id);
        &self.references[first..end]
    }

    /// An instance as a message names it: `#12 (line 40)`.
    pub fn place_of(&self, id: u64) -> String {
        match self.line_of(id) {
            Some(line) => format!("#{id} (line {line})"),
            None if id == 0 => "the file".to_owned(),
            None => format!("#{id}"),
        }
    }
}
