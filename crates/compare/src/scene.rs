//! What every operation of a study shares.

use geom::TriMesh;
use part::Part;
use study::Study;

/// The study, its part and its fixtures.
#[derive(Clone, Copy)]
pub(crate) struct Scene<'a> {
    /// The study.
    pub(crate) study: &'a Study,
    /// The part.
    pub(crate) part: &'a Part,
    /// Clamps and table, in the part's frame.
    pub(crate) fixtures: &'a [TriMesh],
}
