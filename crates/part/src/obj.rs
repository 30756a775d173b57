//! Wavefront OBJ: vertices, faces, and the names of objects and groups.
//!
//! Polygons are cut into triangles; materials, texture and normals are of no use here. Lines that
//! are no surface (points, lines, curves) are counted, not taken.

use crate::build::{NO_GROUP, Soup};
use crate::error::{Blame, Place, ReadError, quoted};
use crate::format::without_mark;
use crate::polygon::triangulate;
use geom::Vec3;

/// Most corners that one polygon may have.
const MOST_CORNERS: usize = 100_000;
/// Words that an OBJ file may hold and that say nothing about its surface.
const OTHER_WORDS: [&str; 17] = [
    "vt",
    "vn",
    "vp",
    "s",
    "mtllib",
    "usemtl",
    "lod",
    "mg",
    "bevel",
    "c_interp",
    "d_interp",
    "shadow_obj",
    "trace_obj",
    "usemap",
    "maplib",
    "call",
    "csh",
];

/// Reads an OBJ file. Objects (`o`) and groups (`g`) become names of faces and part them.
pub(crate) fn read(bytes: &[u8], file: &str) -> Result<Soup, ReadError> {
    let text = String::from_utf8_lossy(without_mark(bytes));
    let mut reader = Obj::new(file);
    let mut logical = String::new();
    for (index, line) in text.lines().enumerate() {
        reader.line = index + 1;
        // a backslash at its end continues a line
        if let Some(start) = line.strip_suffix('\\') {
            logical.push_str(start);
            logical.push(' ');
            continue;
        }
        if logical.is_empty() {
            reader.read_line(line)?;
        } else {
            logical.push_str(line);
            let whole = std::mem::take(&mut logical);
            reader.read_line(&whole)?;
        }
    }
    if reader.not_surface > 0 {
        let n = reader.not_surface;
        reader.soup.notes.push(format!(
            "{n} points, lines or curves of the file were left out: they are no surface"
        ));
    }
    Ok(reader.soup)
}

struct Obj<'a> {
    soup: Soup,
    blame: Blame<'a>,
    line: usize,
    group: u32,
    not_surface: usize,
}

impl<'a> Obj<'a> {
    fn new(file: &'a str) -> Self {
        let mut blame = Blame::new(file);
        blame.remedy = "correct the line or export the file again";
        let mut soup = Soup::default();
        soup.piece(String::new());
        Self { soup, blame, line: 0, group: NO_GROUP, not_surface: 0 }
    }

    fn read_line(&mut self, line: &str) -> Result<(), ReadError> {
        let line = line.split('#').next().unwrap_or("").trim();
        let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        match word {
            "" => {}
            "v" => self.vertex(rest)?,
            "f" | "fo" => self.face(rest)?,
            "o" | "g" => self.group = self.soup.group(rest.trim()),
            "p" | "l" | "curv" | "curv2" | "surf" | "cstype" | "deg" | "parm" | "end" | "bmat"
            | "step" | "trim" | "hole" | "scrv" | "sp" | "con" | "ctech" | "stech" => {
                self.not_surface += 1;
            }
            other if OTHER_WORDS.contains(&other) => {}
            other => {
                let found = format!("found {}", quoted(other));
                return Err(self.wrong(found, "a line of an OBJ file (v, f, g, o …)"));
            }
        }
        Ok(())
    }

    fn vertex(&mut self, rest: &str) -> Result<(), ReadError> {
        let mut xyz = [0.0; 3];
        let mut words = rest.split_whitespace();
        for x in &mut xyz {
            let word = words.next();
            *x = word.and_then(|w| w.parse().ok()).ok_or_else(|| {
                let found =
                    word.map_or("the line ends".to_owned(), |w| format!("found {}", quoted(w)));
                self.wrong(found, "three coordinates after \"v\"")
            })?;
        }
        let line = self.line;
        self.soup.vertex(Vec3::from_array(xyz), || Place::Line(line));
        Ok(())
    }

    fn face(&mut self, rest: &str) -> Result<(), ReadError> {
        let mut corners = Vec::with_capacity(4);
        for word in rest.split_whitespace() {
            corners.push(self.corner(word)?);
        }
        if corners.len() < 3 || corners.len() > MOST_CORNERS {
            let found = format!("a face of {} corners", corners.len());
            return Err(self.wrong(found, format!("3 to {MOST_CORNERS} corners")));
        }
        let places: Vec<Vec3> = corners.iter().map(|&c| self.soup.vertices[c as usize]).collect();
        for t in triangulate(&places) {
            self.soup.index_triangle(t.map(|k| corners[k]), 0, self.group);
        }
        Ok(())
    }

    /// A corner `v`, `v/vt`, `v//vn` or `v/vt/vn`; numbers count from 1, negative ones from the
    /// last vertex so far.
    fn corner(&self, word: &str) -> Result<u32, ReadError> {
        let number = word.split('/').next().and_then(|w| w.parse::<i64>().ok());
        let there = self.soup.vertices.len() as i64;
        let index = match number {
            Some(n) if n > 0 => n - 1,
            Some(n) if n < 0 => there + n,
            _ => -1,
        };
        if (0..there).contains(&index) {
            return Ok(index as u32);
        }
        let expected = format!("the number of one of the {there} vertices above it");
        Err(self.wrong(format!("found {} as a corner", quoted(word)), expected))
    }

    fn wrong(&self, found: impl Into<String>, expected: impl Into<String>) -> ReadError {
        self.blame.at(Place::Line(self.line), found, expected)
    }
}
