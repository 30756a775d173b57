//! The numbers in the body of a PLY file, one after the other, whatever its encoding.

use super::header::{Encoding, Header, Property, Scalar};
use crate::error::{Blame, Place, ReadError, quoted};

/// Reads numbers from the body.
pub(super) struct Values<'a> {
    bytes: &'a [u8],
    at: usize,
    line: usize,
    encoding: Encoding,
    pub(super) blame: Blame<'a>,
}

impl<'a> Values<'a> {
    pub(super) fn new(bytes: &'a [u8], header: &Header, blame: Blame<'a>) -> Self {
        Self { bytes, at: header.body, line: header.lines + 1, encoding: header.encoding, blame }
    }

    /// Where the next number stands.
    pub(super) fn place(&self) -> Place {
        match self.encoding {
            Encoding::Text => Place::Line(self.line),
            Encoding::Little | Encoding::Big => Place::Byte(self.at),
        }
    }

    /// The next number.
    pub(super) fn scalar(&mut self, kind: Scalar) -> Result<f64, ReadError> {
        match self.encoding {
            Encoding::Text => self.word(),
            Encoding::Little => self.binary(kind, false),
            Encoding::Big => self.binary(kind, true),
        }
    }

    /// The length that stands before a list; not more than what is left of the file could hold.
    pub(super) fn list_length(&mut self, property: &Property) -> Result<usize, ReadError> {
        let place = self.place();
        let number = self.scalar(property.list.unwrap_or(Scalar::U8))?;
        let room = self.bytes.len().saturating_sub(self.at) as f64;
        if !(number >= 0.0 && number <= room && number.fract() == 0.0) {
            let found = format!("found {number} as the length of a list");
            return Err(self.blame.at(place, found, "a number that the rest of the file can hold"));
        }
        Ok(number as usize)
    }

    fn word(&mut self) -> Result<f64, ReadError> {
        while let Some(b) = self.bytes.get(self.at).filter(|b| b.is_ascii_whitespace()) {
            self.line += usize::from(*b == b'\n');
            self.at += 1;
        }
        let rest = &self.bytes[self.at..];
        let end = rest.iter().position(u8::is_ascii_whitespace).unwrap_or(rest.len());
        let word = String::from_utf8_lossy(&rest[..end]);
        let place = Place::Line(self.line);
        if word.is_empty() {
            return Err(self.blame.at(place, "the file ends", "another number"));
        }
        let value = word
            .parse()
            .map_err(|_| self.blame.at(place, format!("found {}", quoted(&word)), "a number"))?;
        self.at += end;
        Ok(value)
    }

    fn binary(&mut self, kind: Scalar, big: bool) -> Result<f64, ReadError> {
        let size = kind.bytes();
        let Some(bytes) = self.bytes.get(self.at..self.at + size) else {
            let found = format!("the file ends after {} bytes", self.bytes.len());
            return Err(self.blame.at(Place::Byte(self.at), found, "another number"));
        };
        self.at += size;
        let mut b = [0_u8; 8];
        b[..size].copy_from_slice(bytes);
        if big {
            b[..size].reverse();
        }
        let four = [b[0], b[1], b[2], b[3]];
        Ok(match kind {
            Scalar::I8 => f64::from(b[0] as i8),
            Scalar::U8 => f64::from(b[0]),
            Scalar::I16 => f64::from(i16::from_le_bytes([b[0], b[1]])),
            Scalar::U16 => f64::from(u16::from_le_bytes([b[0], b[1]])),
            Scalar::I32 => f64::from(i32::from_le_bytes(four)),
            Scalar::U32 => f64::from(u32::from_le_bytes(four)),
            Scalar::F32 => f64::from(f32::from_le_bytes(four)),
            Scalar::F64 => f64::from_le_bytes(b),
        })
    }
}
