//! Slabs of a page, one over the other, and the marks on them. Lengths are points, y grows downwards.

use crate::style::Colour;
use std::rc::Rc;

/// Something drawn.
#[derive(Clone)]
pub(crate) enum Mark {
    /// Text on its base line.
    Text { at: [f32; 2], end: f32, size: f32, text: String, bold: bool, colour: Colour },
    /// A filled rectangle: x, y, width, height.
    Area { at: [f32; 4], colour: Colour },
    /// The border of a rectangle: x, y, width, height.
    Frame { at: [f32; 4], colour: Colour, width: f32 },
    /// A drawing in a rectangle.
    Drawing { at: [f32; 4], tree: Rc<usvg::Tree> },
}

impl Mark {
    fn shift(&mut self, by: [f32; 2]) {
        match self {
            Self::Text { at, end, .. } => {
                at[0] += by[0];
                at[1] += by[1];
                *end += by[0];
            }
            Self::Area { at, .. } | Self::Frame { at, .. } | Self::Drawing { at, .. } => {
                at[0] += by[0];
                at[1] += by[1];
            }
        }
    }
}

/// A strip over the whole width that is not divided.
#[derive(Clone, Default)]
pub(crate) struct Slab {
    pub(crate) height: f32,
    pub(crate) marks: Vec<Mark>,
    /// The next slab is to stand on the same page.
    pub(crate) keeps_next: bool,
    /// It begins a page.
    pub(crate) begins_page: bool,
    /// Room that falls away at the top of a page.
    pub(crate) is_gap: bool,
    /// What is said again above it where it begins a page.
    pub(crate) head: Option<Rc<Slab>>,
}

impl Slab {
    pub(crate) fn gap(height: f32) -> Self {
        Self { height, is_gap: true, ..Self::default() }
    }

    pub(crate) fn shifted(mut self, by: [f32; 2]) -> Self {
        self.marks.iter_mut().for_each(|m| m.shift(by));
        self
    }
}

/// Several slabs as one.
pub(crate) fn stacked(slabs: Vec<Slab>) -> Slab {
    let mut whole = Slab::default();
    for slab in slabs {
        let at = whole.height;
        whole.height += slab.height;
        whole.marks.extend(slab.shifted([0.0, at]).marks);
    }
    whole
}

/// Several slabs beside each other, each with its left edge.
pub(crate) fn beside(slabs: Vec<(f32, Slab)>) -> Slab {
    let mut whole = Slab::default();
    for (x, slab) in slabs {
        whole.height = whole.height.max(slab.height);
        whole.marks.extend(slab.shifted([x, 0.0]).marks);
    }
    whole
}

/// Height of some slabs together.
pub(crate) fn height(slabs: &[Slab]) -> f32 {
    slabs.iter().map(|s| s.height).sum()
}
