//! What every operation of a study shares.

use geom::TriMesh;
use part::{Part, fact};
use std::sync::{Arc, OnceLock};
use study::Study;

/// The study, its part and its fixtures.
#[derive(Clone)]
pub(crate) struct Scene<'a> {
    /// The study.
    pub(crate) study: &'a Study,
    /// The part.
    pub(crate) part: &'a Part,
    /// Clamps and table, in the part's frame.
    pub(crate) fixtures: &'a [TriMesh],
    /// What was found in the part so far.
    pub(crate) found: Arc<Found>,
}

impl<'a> Scene<'a> {
    /// A scene in which nothing was looked for yet.
    pub(crate) fn new(study: &'a Study, part: &'a Part, fixtures: &'a [TriMesh]) -> Self {
        Self { study, part, fixtures, found: Arc::default() }
    }
}

/// Features of the part, found once they are asked for.
#[derive(Default)]
pub(crate) struct Found {
    pockets: OnceLock<Vec<fact::Pocket>>,
}

impl Found {
    /// The pockets of the part.
    pub(crate) fn pockets(&self, part: &Part) -> &[fact::Pocket] {
        self.pockets.get_or_init(|| {
            let facts = fact::of_faces(part);
            fact::pockets(part, &facts, &fact::Neighbours::new(part))
        })
    }
}
