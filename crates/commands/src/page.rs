//! Pages as files: HTML for a browser or PDF for paper, by the ending of the name.

use crate::failure::Failure;
use std::path::Path;

/// What a page is written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    /// One HTML file.
    Html,
    /// PDF on A4.
    Pdf,
}

impl Form {
    /// The form that the name of a file asks for, which `option` gave.
    ///
    /// # Errors
    /// A name with another ending.
    pub(crate) fn of(option: &str, path: &Path) -> Result<Self, Failure> {
        let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
        match ending.as_deref() {
            Some("html" | "htm") => Ok(Self::Html),
            Some("pdf") => Ok(Self::Pdf),
            _ => Err(Failure::call(
                format!("{option} is {}", path.display()),
                "a file name that ends in .html or .pdf",
                "change the name",
            )),
        }
    }

    /// The bytes of a page.
    ///
    /// # Errors
    /// A page that cannot be put on paper; a fault of the program.
    pub(crate) fn bytes(self, html: &str) -> Result<Vec<u8>, Failure> {
        match self {
            Self::Html => Ok(html.as_bytes().to_vec()),
            Self::Pdf => paper::pdf(html).map_err(|error| {
                let message = format!("the page cannot be written as PDF: {error}");
                Failure::other(message, "write it as .html, and report this fault")
            }),
        }
    }

    /// How to look at it.
    pub(crate) fn remark(self) -> &'static str {
        match self {
            Self::Html => "Open it in a browser; it prints on A4.",
            Self::Pdf => "It is made for A4.",
        }
    }
}
