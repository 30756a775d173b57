//! Our own HTML pages on A4 as PDF.
//!
//! What is understood is what our pages are made of: headings, paragraphs, lists, tables, figures with SVG,
//! notes, and blocks beside each other; colours and the rules of drawings come from the page's own style
//! sheet. The same page gives the same bytes.

mod flow;
mod font;
mod page;
mod slab;
mod style;
mod table;
mod text;

use flow::Flow;
use font::Fonts;
use krilla::Document;
use krilla::metadata::Metadata;
use roxmltree::Node;
use style::Style;

/// Why a page cannot be put on paper.
#[derive(Debug, thiserror::Error)]
pub enum PaperError {
    /// The body is not well formed.
    #[error("the page is not well formed: {0}")]
    Page(#[from] roxmltree::Error),
    /// The page has no body.
    #[error("the page has no body")]
    NoBody,
    /// A drawing is not understood.
    #[error("a drawing of the page is not understood: {0}")]
    Drawing(#[from] usvg::Error),
    /// A font is not sound.
    #[error("a font is not sound")]
    Font,
    /// Something has no size.
    #[error("something on the page has no size")]
    Size,
    /// The file cannot be made.
    #[error("the PDF cannot be made: {0}")]
    Pdf(String),
}

/// The page `html` as PDF.
///
/// # Errors
/// A body that is not well formed, or a drawing that is not SVG.
pub fn pdf(html: &str) -> Result<Vec<u8>, PaperError> {
    let between = |from: &str, to: &str| html.split_once(from)?.1.rsplit_once(to).map(|x| x.0);
    let sheet = between("<style>", "</style>").unwrap_or_default();
    let body = between("<body>", "</body>").ok_or(PaperError::NoBody)?;
    let body = format!("<body>{body}</body>");
    let tree = roxmltree::Document::parse(&body)?;
    let (style, fonts) = (Style::read(sheet), Fonts::new()?);
    let flow = Flow {
        fonts: &fonts,
        style: &style,
        page_height: page::ROOM[1],
        drawings: Fonts::database(),
    };
    let (foot, others): (Vec<Node<'_, '_>>, Vec<Node<'_, '_>>) = tree
        .root_element()
        .children()
        .filter(Node::is_element)
        .partition(|n| n.has_tag_name("footer"));
    let mut slabs = Vec::new();
    for part in others {
        slabs.extend(flow.children(part, page::ROOM[0])?);
    }
    let said = |n: &Node<'_, '_>| {
        n.descendants().filter_map(|d| d.text().filter(|_| d.is_text())).collect::<String>()
    };
    let foot: String = foot.iter().map(said).collect();
    let title = tree.descendants().find(|n| n.has_tag_name("h1"));
    let title: String = title.iter().map(said).collect();
    let mut document = Document::new();
    let metadata = Metadata::new().title(title).language("en".to_owned());
    document.set_metadata(metadata);
    let soft = style.colour("soft");
    page::drawn(&page::paged(slabs), &mut document, &fonts, (&foot, soft))?;
    document.finish().map_err(|error| PaperError::Pdf(format!("{error:?}")))
}
