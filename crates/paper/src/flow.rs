//! From the elements of a page to slabs, top down.

use crate::PaperError;
use crate::font::Fonts;
use crate::slab::{Mark, Slab, beside, height, stacked};
use crate::style::{Colour, Style};
use crate::text::{BREAK, LEADING, Run, lines};
use roxmltree::Node;
use std::rc::Rc;
use std::sync::Arc;

/// Points in a millimetre.
pub(crate) const MM: f32 = 72.0 / 25.4;
/// Size of the letters of running text, pt.
const SIZE: f32 = 9.2;
/// Between blocks beside each other, pt.
const GUTTER: f32 = 14.0;
/// Most of the page's width that a drawing of fixed size takes beside text.
const DRAWING_SHARE: f32 = 0.45;
/// Most of it that any other figure takes there.
const FIGURE_SHARE: f32 = 0.5;

/// What the layout of a page needs.
pub(crate) struct Flow<'a> {
    pub(crate) fonts: &'a Fonts,
    pub(crate) style: &'a Style,
    /// Height of a page's text, pt.
    pub(crate) page_height: f32,
    pub(crate) drawings: Arc<usvg::fontdb::Database>,
}

/// Look of a block of text.
struct Look {
    size: f32,
    bold: bool,
    colour: Colour,
    before: f32,
    after: f32,
}

impl Flow<'_> {
    /// The slabs of an element's children in `room`.
    pub(crate) fn children(&self, node: Node<'_, '_>, room: f32) -> Result<Vec<Slab>, PaperError> {
        let mut out = Vec::new();
        for child in node.children().filter(Node::is_element) {
            out.extend(self.element(child, room)?);
        }
        Ok(out)
    }

    fn element(&self, node: Node<'_, '_>, room: f32) -> Result<Vec<Slab>, PaperError> {
        let class = |name: &str| has_class(node, name);
        Ok(match node.tag_name().name() {
            _ if class("on-screen") => Vec::new(),
            "h1" | "h2" | "h3" | "p" => self.paragraph(node, room),
            "ul" | "ol" => self.list(node, room),
            "table" => {
                let mut rows = crate::table::table(self, node, room);
                rows.push(Slab::gap(0.7 * SIZE));
                rows
            }
            "figure" => vec![self.figure(node, room)?],
            "svg" => vec![self.drawing(node, room)?],
            _ if class("pair") => vec![self.pair(node, room)?],
            _ if class("notes") => self.notes(node, room)?,
            _ if class("cautions") => self.framed(node, room)?,
            _ => {
                let mut inner = self.children(node, room)?;
                if class("tool") || class("operation") || class("proof") {
                    self.keep(&mut inner);
                }
                if class("process")
                    && let Some(first) = inner.first_mut()
                {
                    first.begins_page = true;
                }
                inner
            }
        })
    }

    /// Keeps slabs together where they fit on a page.
    fn keep(&self, slabs: &mut [Slab]) {
        if height(slabs) <= self.page_height
            && let Some((_, before)) = slabs.split_last_mut()
        {
            before.iter_mut().for_each(|s| s.keeps_next = true);
        }
    }

    fn look(&self, node: Node<'_, '_>) -> Look {
        let name = node.tag_name().name();
        let ink = self.style.colour("ink");
        let plain = Look { size: SIZE, bold: false, colour: ink, before: 0.0, after: 0.5 * SIZE };
        match name {
            "h1" => Look { size: 18.0, bold: true, before: 1.0, ..plain },
            "h2" => Look { size: 13.0, bold: true, before: 6.0, ..plain },
            "h3" => Look { size: 10.4, bold: true, before: 10.0, after: 2.0, ..plain },
            _ if has_class(node, "kicker") => {
                Look { size: 10.0, colour: self.style.colour("mark"), after: 0.0, ..plain }
            }
            _ if has_class(node, "small") || name == "figcaption" => {
                Look { size: 7.8, colour: self.style.colour("soft"), ..plain }
            }
            _ if has_class(node, "lead-in") => Look { bold: true, after: 1.0, ..plain },
            _ if has_class(node, "sign") => Look { before: 14.0, ..plain },
            _ if node.parent().is_some_and(|p| has_class(p, "answer")) => {
                Look { size: 10.4, ..plain }
            }
            _ => plain,
        }
    }

    fn paragraph(&self, node: Node<'_, '_>, room: f32) -> Vec<Slab> {
        let look = self.look(node);
        let heading = node.tag_name().name().starts_with('h');
        let lines = self.lines(node, &look, room);
        let mut out = Vec::new();
        if node.has_tag_name("h2") && !node.parent().is_some_and(|p| has_class(p, "cautions")) {
            let marks = vec![Mark::Area { at: [0.0, 0.0, room, 1.2], colour: look.colour }];
            out.push(Slab::gap(14.0));
            out.push(Slab { height: 1.2, marks, keeps_next: true, ..Slab::default() });
        }
        if look.before > 0.0 {
            out.push(Slab { keeps_next: true, ..Slab::gap(look.before) });
        }
        let last = lines.len();
        for (i, mut line) in lines.into_iter().enumerate() {
            // no line of a paragraph stands alone at the foot or the head of a page
            line.keeps_next = heading || i == 0 || i + 2 == last;
            out.push(line);
        }
        out.push(Slab { keeps_next: heading, ..Slab::gap(look.after) });
        out
    }

    fn lines(&self, node: Node<'_, '_>, look: &Look, room: f32) -> Vec<Slab> {
        let runs = self.runs(node, look.bold, look.colour);
        let lines = lines(&runs, self.fonts, look.size, room);
        let slab = |marks| Slab { height: look.size * LEADING, marks, ..Slab::default() };
        lines.into_iter().map(slab).collect()
    }

    /// The text of an element.
    pub(crate) fn runs(&self, node: Node<'_, '_>, bold: bool, colour: Colour) -> Vec<Run> {
        let mut out = Vec::new();
        self.gather(node, (bold, colour), &mut out);
        out
    }

    fn gather(&self, node: Node<'_, '_>, (bold, colour): (bool, Colour), out: &mut Vec<Run>) {
        let mut push = |text: &str| out.push(Run { text: text.to_owned(), bold, colour });
        if let Some(text) = node.text().filter(|_| node.is_text()) {
            return push(text);
        }
        if node.has_tag_name("br") {
            return push(&format!(" {BREAK} "));
        }
        for child in node.children() {
            let bold = bold || child.has_tag_name("strong");
            let soft = has_class(child, "missing") || has_class(child, "small");
            let colour = if soft { self.style.colour("soft") } else { colour };
            let block = ["p", "li", "div"].iter().any(|name| child.has_tag_name(*name));
            if block && !out.is_empty() {
                out.push(Run { text: format!(" {BREAK} "), bold, colour });
            }
            self.gather(child, (bold, colour), out);
        }
    }

    fn list(&self, node: Node<'_, '_>, room: f32) -> Vec<Slab> {
        let steps = has_class(node, "steps");
        let indent = if steps { 30.0 } else { 10.0 };
        let mut out = Vec::new();
        for (i, item) in node.children().filter(|n| n.has_tag_name("li")).enumerate() {
            let look = self.look(item);
            let mut slab = stacked(self.lines(item, &look, room - indent)).shifted([indent, 0.0]);
            let number = if steps { format!("{}.", i + 1) } else { "•".to_owned() };
            let x = if steps { 13.0 } else { 0.0 };
            let run = Run { text: number, bold: steps, colour: look.colour };
            let mark = lines(&[run], self.fonts, look.size, indent).into_iter().flatten();
            let mark = Slab { marks: mark.collect(), ..Slab::default() }.shifted([x, 0.0]);
            slab.marks.splice(0..0, mark.marks);
            if steps {
                let at = [0.0, 0.22 * SIZE, 0.8 * SIZE, 0.8 * SIZE];
                slab.marks.push(Mark::Frame { at, colour: look.colour, width: 0.7 });
                slab.height += 0.35 * SIZE;
            }
            out.push(slab);
        }
        out.push(Slab::gap(0.3 * SIZE));
        out
    }

    /// Text on a shade behind a bar.
    fn notes(&self, node: Node<'_, '_>, room: f32) -> Result<Vec<Slab>, PaperError> {
        let inner = self.children(node, room - 22.0)?;
        let count = inner.len();
        let mut out = vec![Slab::gap(0.3 * SIZE)];
        let (shade, mark) = (self.style.colour("shade"), self.style.colour("mark"));
        for (i, slab) in inner.into_iter().enumerate() {
            let above = if i == 0 { 5.0 } else { 0.0 };
            let below = if i + 1 == count { 3.0 } else { 0.0 };
            let mut slab = slab.shifted([12.0, above]);
            slab.height += above + below;
            let ground = [
                Mark::Area { at: [0.0, 0.0, room, slab.height + 0.3], colour: shade },
                Mark::Area { at: [0.0, 0.0, 2.2, slab.height + 0.3], colour: mark },
            ];
            slab.marks.splice(0..0, ground);
            slab.keeps_next |= i == 0;
            out.push(Slab { is_gap: false, ..slab });
        }
        out.push(Slab::gap(0.8 * SIZE));
        self.keep(&mut out);
        Ok(out)
    }

    /// A frame round an element that is not divided.
    fn framed(&self, node: Node<'_, '_>, room: f32) -> Result<Vec<Slab>, PaperError> {
        let mut slab = stacked(self.children(node, room - 24.0)?).shifted([12.0, 6.0]);
        slab.height += 10.0;
        let at = [0.5, 0.5, room - 1.0, slab.height - 1.0];
        slab.marks.push(Mark::Frame { at, colour: self.style.colour("ink"), width: 1.1 });
        Ok(vec![Slab::gap(16.0), slab, Slab::gap(SIZE)])
    }

    fn figure(&self, node: Node<'_, '_>, room: f32) -> Result<Slab, PaperError> {
        let mut slabs = vec![Slab::gap(0.5 * SIZE)];
        slabs.extend(self.children_of_figure(node, room)?);
        slabs.push(Slab::gap(0.4 * SIZE));
        Ok(stacked(slabs))
    }

    fn children_of_figure(&self, node: Node<'_, '_>, room: f32) -> Result<Vec<Slab>, PaperError> {
        let mut out = Vec::new();
        for child in node.children().filter(Node::is_element) {
            match child.tag_name().name() {
                "figcaption" => {
                    out.push(Slab::gap(3.0));
                    out.extend(self.lines(child, &self.look(child), room));
                }
                _ => out.extend(self.element(child, room)?),
            }
        }
        Ok(out)
    }

    /// Elements beside each other: drawings of a fixed size take it, the others share what is left.
    fn pair(&self, node: Node<'_, '_>, room: f32) -> Result<Slab, PaperError> {
        let parts: Vec<Node<'_, '_>> = node.children().filter(Node::is_element).collect();
        let fixed: Vec<Option<f32>> = parts
            .iter()
            .map(|p| p.descendants().find_map(fixed_width).map(|w| w.min(DRAWING_SHARE * room)))
            .collect();
        let gaps = GUTTER * parts.len().saturating_sub(1) as f32;
        let free = fixed.iter().filter(|w| w.is_none()).count().max(1) as f32;
        let rest = (room - gaps - fixed.iter().flatten().sum::<f32>()) / free;
        let mut x = 0.0;
        let mut out = Vec::new();
        for (part, fixed) in parts.into_iter().zip(fixed) {
            let most = if part.has_tag_name("figure") { FIGURE_SHARE * room } else { room };
            let width = fixed.unwrap_or(rest.min(most));
            out.push((x, stacked(self.element(part, width)?)));
            x += width + GUTTER;
        }
        Ok(beside(out))
    }

    fn drawing(&self, node: Node<'_, '_>, room: f32) -> Result<Slab, PaperError> {
        let source = &node.document().input_text()[node.range()];
        let named = source.replacen("<svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"", 1);
        let options = usvg::Options {
            fontdb: Arc::clone(&self.drawings),
            style_sheet: Some(self.style.drawings.clone()),
            font_family: "serif".to_owned(),
            ..usvg::Options::default()
        };
        let tree = usvg::Tree::from_str(&crate::font::spelled(&named), &options)?;
        let size = tree.size();
        let mut width = fixed_width(node).unwrap_or(room).min(room);
        let mut height = width * size.height() / size.width();
        if height > 0.8 * self.page_height {
            width *= 0.8 * self.page_height / height;
            height = 0.8 * self.page_height;
        }
        let at = [0.0, 0.0, width, height];
        let marks = vec![Mark::Drawing { at, tree: Rc::new(tree) }];
        Ok(Slab { height, marks, ..Slab::default() })
    }
}

/// The width in millimetres that a drawing asks for, pt.
fn fixed_width(node: Node<'_, '_>) -> Option<f32> {
    let style = node.attribute("style").filter(|_| node.has_tag_name("svg"))?;
    let width = style.strip_prefix("width:")?.split("mm").next()?;
    Some(width.trim().parse::<f32>().ok()? * MM)
}

fn has_class(node: Node<'_, '_>, name: &str) -> bool {
    node.attribute("class").is_some_and(|c| c.split(' ').any(|c| c == name))
}
