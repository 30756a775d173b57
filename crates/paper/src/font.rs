//! The two fonts of a page, regular and bold, and how wide text is in them.

use crate::PaperError;
use std::sync::Arc;

const REGULAR: &[u8] = include_bytes!("../fonts/serif.ttf");
const BOLD: &[u8] = include_bytes!("../fonts/serif-bold.ttf");

/// A font and the widths of its characters.
pub(crate) struct Face {
    /// For the page.
    pub(crate) font: krilla::text::Font,
    widths: ttf_parser::Face<'static>,
}

impl Face {
    fn new(bytes: &'static [u8]) -> Result<Self, PaperError> {
        let font = krilla::text::Font::new(bytes.to_vec().into(), 0).ok_or(PaperError::Font)?;
        let widths = ttf_parser::Face::parse(bytes, 0).map_err(|_| PaperError::Font)?;
        Ok(Self { font, widths })
    }

    /// Width of a text at a size, pt.
    pub(crate) fn width(&self, text: &str, size: f32) -> f32 {
        let advance = |c: char| {
            let glyph = self.widths.glyph_index(c).unwrap_or_default();
            f32::from(self.widths.glyph_hor_advance(glyph).unwrap_or_default())
        };
        text.chars().map(advance).sum::<f32>() * size / f32::from(self.widths.units_per_em())
    }
}

/// Both fonts.
pub(crate) struct Fonts {
    regular: Face,
    bold: Face,
}

impl Fonts {
    pub(crate) fn new() -> Result<Self, PaperError> {
        Ok(Self { regular: Face::new(REGULAR)?, bold: Face::new(BOLD)? })
    }

    pub(crate) fn face(&self, bold: bool) -> &Face {
        if bold { &self.bold } else { &self.regular }
    }

    /// The fonts for drawings.
    pub(crate) fn database() -> Arc<usvg::fontdb::Database> {
        let mut fonts = usvg::fontdb::Database::new();
        fonts.load_font_data(REGULAR.to_vec());
        fonts.load_font_data(BOLD.to_vec());
        let family = fonts.faces().next().and_then(|f| f.families.first()).map(|f| f.0.clone());
        fonts.set_serif_family(family.unwrap_or_default());
        Arc::new(fonts)
    }
}

/// Text with what the fonts lack put in other signs.
pub(crate) fn spelled(text: &str) -> String {
    text.replace('⌀', "Ø").replace('☐', "□")
}
