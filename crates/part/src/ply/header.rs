//! The header of a PLY file: encoding, elements, properties.

use crate::error::{Blame, Place, ReadError, quoted};
use crate::format::without_mark;

/// How the body is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Encoding {
    Text,
    Little,
    Big,
}

/// Kind of number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Scalar {
    I8,
    U8,
    I16,
    U16,
    I32,
    U32,
    F32,
    F64,
}

impl Scalar {
    fn named(word: &str) -> Option<Self> {
        Some(match word {
            "char" | "int8" => Self::I8,
            "uchar" | "uint8" => Self::U8,
            "short" | "int16" => Self::I16,
            "ushort" | "uint16" => Self::U16,
            "int" | "int32" => Self::I32,
            "uint" | "uint32" => Self::U32,
            "float" | "float32" => Self::F32,
            "double" | "float64" => Self::F64,
            _ => return None,
        })
    }

    pub(super) fn bytes(self) -> usize {
        match self {
            Self::I8 | Self::U8 => 1,
            Self::I16 | Self::U16 => 2,
            Self::I32 | Self::U32 | Self::F32 => 4,
            Self::F64 => 8,
        }
    }
}

/// One property of an element; a list where `list` gives the kind of its length.
#[derive(Debug, Clone)]
pub(super) struct Property {
    pub(super) name: String,
    pub(super) scalar: Scalar,
    pub(super) list: Option<Scalar>,
}

/// One element: a table of rows.
#[derive(Debug, Clone)]
pub(super) struct Element {
    pub(super) name: String,
    pub(super) count: u64,
    pub(super) properties: Vec<Property>,
    pub(super) line: usize,
}

/// The header, and where the body begins.
#[derive(Debug, Clone)]
pub(super) struct Header {
    pub(super) encoding: Encoding,
    pub(super) elements: Vec<Element>,
    /// Offset of the body's first byte.
    pub(super) body: usize,
    /// Lines of the header.
    pub(super) lines: usize,
}

pub(super) fn place(line: usize) -> Place {
    Place::Line(line)
}

impl Header {
    pub(super) fn read(bytes: &[u8], blame: Blame<'_>) -> Result<Self, ReadError> {
        let mut at = bytes.len() - without_mark(bytes).len();
        let mut header = Self { encoding: Encoding::Text, elements: Vec::new(), body: 0, lines: 0 };
        let mut encoding = None;
        while let Some(length) = bytes[at..].iter().position(|&b| b == b'\n') {
            let line = String::from_utf8_lossy(&bytes[at..at + length]).into_owned();
            at += length + 1;
            header.lines += 1;
            let words: Vec<&str> = line.split_whitespace().collect();
            match words.as_slice() {
                ["end_header"] => {
                    header.body = at;
                    let wrong = || blame.at(place(header.lines), "no line \"format\"", "one above");
                    header.encoding = encoding.ok_or_else(wrong)?;
                    return Ok(header);
                }
                ["ply"] if header.lines == 1 => {}
                ["format", kind, _version] => encoding = Some(header.encoding_named(kind, blame)?),
                [] | ["comment" | "obj_info", ..] => {}
                words => header.table_line(words, blame)?,
            }
        }
        let found = "the file ends in its header";
        Err(blame.at(place(header.lines + 1), found, "\"end_header\""))
    }

    fn encoding_named(&self, kind: &str, blame: Blame<'_>) -> Result<Encoding, ReadError> {
        match kind {
            "ascii" => Ok(Encoding::Text),
            "binary_little_endian" => Ok(Encoding::Little),
            "binary_big_endian" => Ok(Encoding::Big),
            other => Err(blame.at(
                place(self.lines),
                format!("found format {}", quoted(other)),
                "ascii, binary_little_endian or binary_big_endian",
            )),
        }
    }

    fn table_line(&mut self, words: &[&str], blame: Blame<'_>) -> Result<(), ReadError> {
        let line = self.lines;
        let wrong = || {
            let found = format!("found {}", quoted(&words.join(" ")));
            blame.at(place(line), found, "\"element NAME NUMBER\" or \"property KIND NAME\"")
        };
        match words {
            ["element", name, count] => {
                let count = count.parse().map_err(|_| wrong())?;
                let (name, properties) = ((*name).to_owned(), Vec::new());
                self.elements.push(Element { name, count, properties, line });
            }
            ["property", "list", length, scalar, name] => {
                let list = Some(Scalar::named(length).ok_or_else(wrong)?);
                let scalar = Scalar::named(scalar).ok_or_else(wrong)?;
                let last = self.elements.last_mut().ok_or_else(wrong)?;
                last.properties.push(Property { name: (*name).to_owned(), scalar, list });
            }
            ["property", scalar, name] => {
                let scalar = Scalar::named(scalar).ok_or_else(wrong)?;
                let last = self.elements.last_mut().ok_or_else(wrong)?;
                last.properties.push(Property { name: (*name).to_owned(), scalar, list: None });
            }
            _ => return Err(wrong()),
        }
        Ok(())
    }
}
