//! What kind of file the bytes are: by content first, by name only where content is silent.

use std::fmt;

/// A kind of part file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// STEP, ISO 10303-21.
    Step,
    /// STL as text.
    StlAscii,
    /// STL as bytes.
    StlBinary,
    /// Wavefront OBJ.
    Obj,
    /// PLY, text or bytes.
    Ply,
    /// 3MF package.
    ThreeMf,
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Step => "STEP",
            Self::StlAscii => "STL (text)",
            Self::StlBinary => "STL (binary)",
            Self::Obj => "OBJ",
            Self::Ply => "PLY",
            Self::ThreeMf => "3MF",
        })
    }
}

impl Format {
    /// The format that the content shows, else the one that the name ends in, else `None`.
    pub fn of(bytes: &[u8], display_name: &str) -> Option<Self> {
        Self::from_content(bytes).or_else(|| Self::from_name(display_name, bytes))
    }

    /// The format that the bytes themselves show; `None` where they could be anything.
    pub fn from_content(bytes: &[u8]) -> Option<Self> {
        let text = without_mark(bytes);
        if text.trim_ascii_start().starts_with(b"ISO-10303-21") {
            return Some(Self::Step);
        }
        if bytes.starts_with(b"PK\x03\x04") {
            return Some(Self::ThreeMf);
        }
        if text.starts_with(b"ply\n") || text.starts_with(b"ply\r") {
            return Some(Self::Ply);
        }
        if is_binary_stl(bytes) {
            return Some(Self::StlBinary);
        }
        if text.trim_ascii_start().starts_with(b"solid") && has_word(text, b"facet") {
            return Some(Self::StlAscii);
        }
        looks_like_obj(text).then_some(Self::Obj)
    }

    fn from_name(name: &str, bytes: &[u8]) -> Option<Self> {
        let ending = name.rsplit_once('.').map(|(_, e)| e.to_ascii_lowercase())?;
        match ending.as_str() {
            "step" | "stp" | "p21" => Some(Self::Step),
            "stl" if without_mark(bytes).trim_ascii_start().starts_with(b"solid") => {
                Some(Self::StlAscii)
            }
            "stl" => Some(Self::StlBinary),
            "obj" => Some(Self::Obj),
            "ply" => Some(Self::Ply),
            "3mf" => Some(Self::ThreeMf),
            _ => None,
        }
    }

    /// The ending of the name, where it is another format's than this one's; an ending that belongs
    /// to no format of parts says nothing.
    pub(crate) fn contradicted_by(self, name: &str) -> Option<String> {
        let ending = name.rsplit_once('.').map(|(_, e)| e.to_ascii_lowercase())?;
        let known = ENDINGS.iter().flat_map(|(_, endings)| *endings).any(|e| *e == ending);
        let own = ENDINGS.iter().any(|(f, endings)| *f == self && endings.contains(&&*ending));
        (known && !own).then_some(ending)
    }
}

/// How names of files of a format end.
const ENDINGS: [(Format, &[&str]); 6] = [
    (Format::Step, &["step", "stp", "p21"]),
    (Format::StlAscii, &["stl"]),
    (Format::StlBinary, &["stl"]),
    (Format::Obj, &["obj"]),
    (Format::Ply, &["ply"]),
    (Format::ThreeMf, &["3mf"]),
];

/// The bytes after a byte-order mark of UTF-8, if there is one.
pub(crate) fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes)
}

/// Bytes of a binary STL's header, and of one of its triangles.
const STL_HEADER: usize = 84;
const STL_TRIANGLE: usize = 50;

/// A binary STL says its own length: 84 bytes and 50 for each triangle. That decides also for
/// those whose header begins with `solid`; a few bytes more at the end are let pass if the file is
/// clearly no text.
fn is_binary_stl(bytes: &[u8]) -> bool {
    let Some(count) = bytes.get(80..84).and_then(|b| b.try_into().ok()).map(u32::from_le_bytes)
    else {
        return false;
    };
    let expected = STL_HEADER as u64 + STL_TRIANGLE as u64 * u64::from(count);
    let length = bytes.len() as u64;
    if length == expected && count > 0 {
        return true;
    }
    let looks_like_text = bytes.iter().take(1024).all(|&b| b != 0 && b < 0x80);
    !looks_like_text && count > 0 && length > expected && length - expected < 1024
}

fn has_word(bytes: &[u8], word: &[u8]) -> bool {
    bytes.windows(word.len()).take(4096).any(|w| w.eq_ignore_ascii_case(word))
}

/// The first lines that say anything say what an OBJ file says, and one of them is a vertex.
fn looks_like_obj(bytes: &[u8]) -> bool {
    const WORDS: [&[u8]; 11] =
        [b"v", b"vn", b"vt", b"f", b"g", b"o", b"s", b"mtllib", b"usemtl", b"l", b"p"];
    let mut vertices = 0;
    for line in bytes.split(|&b| b == b'\n').take(200) {
        let mut words = line.split(u8::is_ascii_whitespace).filter(|w| !w.is_empty());
        let Some(first) = words.next() else { continue };
        if first.starts_with(b"#") {
            continue;
        }
        if !WORDS.contains(&first) {
            return false;
        }
        vertices += usize::from(first == b"v" && words.count() >= 3);
    }
    vertices > 0
}
