//! The ZIP package round a 3MF model.

use crate::error::{Blame, Place, ReadError};
use std::io::{Cursor, Read};
use zip::ZipArchive;

/// Most bytes that one unpacked model may have.
const MOST_BYTES: u64 = 2 << 30;

/// An opened package.
pub(super) struct Package<'a> {
    archive: ZipArchive<Cursor<&'a [u8]>>,
    blame: Blame<'a>,
}

impl<'a> Package<'a> {
    pub(super) fn open(bytes: &'a [u8], blame: Blame<'a>) -> Result<Self, ReadError> {
        let archive = ZipArchive::new(Cursor::new(bytes)).map_err(|e| {
            blame.at(Place::Whole, format!("the package does not open ({e})"), "a ZIP package")
        })?;
        Ok(Self { archive, blame })
    }

    /// Name of the root model: the target of the package's relationship to a 3-D model, else the
    /// usual name.
    pub(super) fn root(&mut self) -> Result<String, ReadError> {
        const RELATIONS: &str = "_rels/.rels";
        let usual = "3D/3dmodel.model".to_owned();
        if self.archive.index_for_name(RELATIONS).is_none() {
            return Ok(usual);
        }
        let text = self.text(RELATIONS)?;
        let tree = roxmltree::Document::parse(&text).map_err(|e| self.no_xml(RELATIONS, &e))?;
        let target = tree
            .descendants()
            .filter(|n| n.tag_name().name() == "Relationship")
            .find(|n| n.attribute("Type").is_some_and(|t| t.ends_with("/3dmodel")))
            .and_then(|n| n.attribute("Target"));
        Ok(target.map_or(usual, clean))
    }

    /// The text of one file of the package.
    pub(super) fn text(&mut self, name: &str) -> Result<String, ReadError> {
        let blame = self.blame;
        let place = || Place::Inside(name.to_owned());
        let mut entry = self.archive.by_name(name).map_err(|e| {
            blame.at(place(), format!("the package does not hold it ({e})"), "a model of this name")
        })?;
        let mut bytes = Vec::new();
        let read = entry.by_ref().take(MOST_BYTES + 1).read_to_end(&mut bytes);
        read.map_err(|e| blame.at(place(), format!("it does not unpack ({e})"), "packed text"))?;
        if bytes.len() as u64 > MOST_BYTES {
            return Err(ReadError::TooLarge {
                file: blame.file.to_owned(),
                what: format!("the unpacked size of {name} in bytes"),
                number: bytes.len() as u64,
                most: MOST_BYTES,
            });
        }
        String::from_utf8(bytes).map_err(|e| {
            let at = e.utf8_error().valid_up_to();
            blame.at(place(), format!("byte {at} of it is no UTF-8"), "text in UTF-8")
        })
    }

    pub(super) fn no_xml(&self, name: &str, error: &roxmltree::Error) -> ReadError {
        let found = format!("it is no sound XML ({error})");
        self.blame.at(Place::Inside(name.to_owned()), found, "an XML document")
    }
}

/// A path of the package without its leading slash, as the archive names it.
pub(super) fn clean(path: &str) -> String {
    path.trim_start_matches('/').to_owned()
}
