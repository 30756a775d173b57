//! Slabs on pages of A4.

use crate::PaperError;
use crate::flow::MM;
use crate::font::Fonts;
use crate::slab::{Mark, Slab, height};
use crate::style::Colour;
use crate::text::Run;
use krilla::Document;
use krilla::color::rgb;
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;
use krilla::text::TextDirection;
use krilla_svg::{SurfaceExt, SvgSettings};

/// Width and height of A4, pt.
const A4: [f32; 2] = [210.0 * MM, 297.0 * MM];
/// Left and right, top, bottom, pt.
const SIDE: f32 = 15.0 * MM;
const TOP: f32 = 14.0 * MM;
const BOTTOM: f32 = 18.0 * MM;
/// Size of the letters at the foot, pt.
const FOOT: f32 = 7.4;

/// Width and height of what stands on a page, pt.
pub(crate) const ROOM: [f32; 2] = [A4[0] - 2.0 * SIDE, A4[1] - TOP - BOTTOM];

/// Parts slabs into pages.
pub(crate) fn paged(slabs: Vec<Slab>) -> Vec<Vec<Slab>> {
    let mut pages: Vec<Vec<Slab>> = vec![Vec::new()];
    let mut used = 0.0;
    let mut slabs = slabs.into_iter().peekable();
    while slabs.peek().is_some() {
        let mut group = Vec::new();
        for slab in slabs.by_ref() {
            let more = slab.keeps_next;
            group.push(slab);
            if !more {
                break;
            }
        }
        let begins = group.iter().any(|s| s.begins_page);
        let tall = height(&group);
        let filled = used > 0.0;
        if filled && (begins || (used + tall > ROOM[1] && tall <= ROOM[1])) {
            pages.push(Vec::new());
            used = 0.0;
        }
        for slab in group {
            put(&mut pages, &mut used, slab);
        }
    }
    pages
}

/// Puts a slab on the last page, or on a new one where it does not fit.
fn put(pages: &mut Vec<Vec<Slab>>, used: &mut f32, slab: Slab) {
    if *used > 0.0 && *used + slab.height > ROOM[1] {
        pages.push(Vec::new());
        *used = 0.0;
    }
    if *used == 0.0 && slab.is_gap {
        return;
    }
    let Some(page) = pages.last_mut() else { return };
    if page.is_empty()
        && let Some(head) = &slab.head
    {
        *used += head.height;
        page.push(Slab::clone(head));
    }
    *used += slab.height;
    page.push(slab);
}

/// Draws the pages, with `foot` and the page's number below each.
pub(crate) fn drawn(
    pages: &[Vec<Slab>],
    document: &mut Document,
    fonts: &Fonts,
    (foot, colour): (&str, Colour),
) -> Result<(), PaperError> {
    for (i, page) in pages.iter().enumerate() {
        let settings = PageSettings::from_wh(A4[0], A4[1]).ok_or(PaperError::Size)?;
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        let mut y = TOP;
        for slab in page {
            for mark in &slab.marks {
                draw(&mut surface, mark, [SIDE, y], fonts)?;
            }
            y += slab.height;
        }
        let number = format!("{} / {}", i + 1, pages.len());
        let wide = fonts.face(false).width(&number, FOOT);
        let run = Run { text: foot.to_owned(), bold: false, colour };
        let lines = crate::text::lines(&[run], fonts, FOOT, ROOM[0] - wide - 20.0);
        let at = [SIDE, A4[1] - 0.62 * BOTTOM];
        for mark in lines.iter().take(1).flatten() {
            draw(&mut surface, mark, at, fonts)?;
        }
        text(
            &mut surface,
            (&number, false, colour, FOOT),
            [A4[0] - SIDE - wide, at[1] + 7.4],
            fonts,
        );
        surface.finish();
        sheet.finish();
    }
    Ok(())
}

fn fill([r, g, b]: Colour) -> Fill {
    Fill {
        paint: rgb::Color::new(r, g, b).into(),
        opacity: NormalizedF32::ONE,
        rule: Default::default(),
    }
}

fn text(
    surface: &mut Surface<'_>,
    (text, bold, colour, size): (&str, bool, Colour, f32),
    [x, y]: [f32; 2],
    fonts: &Fonts,
) {
    surface.set_stroke(None);
    surface.set_fill(Some(fill(colour)));
    let font = fonts.face(bold).font.clone();
    surface.draw_text(Point::from_xy(x, y), font, size, text, false, TextDirection::Auto);
}

fn draw(
    surface: &mut Surface<'_>,
    mark: &Mark,
    [left, top]: [f32; 2],
    fonts: &Fonts,
) -> Result<(), PaperError> {
    let path = |[x, y, w, h]: [f32; 4]| {
        let mut path = PathBuilder::new();
        path.push_rect(Rect::from_xywh(left + x, top + y, w, h)?);
        path.finish()
    };
    match mark {
        Mark::Text { at, size, text: words, bold, colour, .. } => {
            text(surface, (words, *bold, *colour, *size), [left + at[0], top + at[1]], fonts);
        }
        Mark::Area { at, colour } => {
            surface.set_stroke(None);
            surface.set_fill(Some(fill(*colour)));
            surface.draw_path(&path(*at).ok_or(PaperError::Size)?);
        }
        Mark::Frame { at, colour, width } => {
            let paint = fill(*colour).paint;
            surface.set_fill(None);
            surface.set_stroke(Some(Stroke { paint, width: *width, ..Stroke::default() }));
            surface.draw_path(&path(*at).ok_or(PaperError::Size)?);
        }
        Mark::Drawing { at, tree } => {
            let size = Size::from_wh(at[2], at[3]).ok_or(PaperError::Size)?;
            surface.push_transform(&Transform::from_translate(left + at[0], top + at[1]));
            let drawn = surface.draw_svg(tree, size, SvgSettings::default());
            surface.pop();
            drawn.ok_or(PaperError::Size)?;
        }
    }
    Ok(())
}
