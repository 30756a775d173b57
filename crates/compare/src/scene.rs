//! What every operation of a study shares.

use crate::job;
use crate::rough::Cast;
use geom::TriMesh;
use part::{Part, fact};
use std::sync::{Arc, OnceLock};
use study::Study;

/// A study and what its files hold.
#[derive(Clone, Copy)]
pub struct Given<'a> {
    /// The study.
    pub study: &'a Study,
    /// Its part.
    pub part: &'a Part,
    /// Clamps and table, in the part's frame.
    pub fixtures: &'a [TriMesh],
    /// What the part is milled from where the study names a file for it, closed, in the part's frame.
    pub stock: Option<&'a Part>,
}

/// The study, its part, its fixtures and its stock.
#[derive(Clone)]
pub(crate) struct Scene<'a> {
    /// The study.
    pub(crate) study: &'a Study,
    /// The part.
    pub(crate) part: &'a Part,
    /// Clamps and table, in the part's frame.
    pub(crate) fixtures: &'a [TriMesh],
    /// The stock where the study names a file for it.
    pub(crate) stock: Option<&'a Part>,
    /// What was found in the part so far.
    pub(crate) found: Arc<Found>,
}

impl<'a> Scene<'a> {
    /// A scene in which nothing was looked for yet.
    pub(crate) fn new(given: Given<'a>) -> Self {
        let Given { study, part, fixtures, stock } = given;
        Self { study, part, fixtures, stock, found: Arc::default() }
    }

    /// The stock of the file that the study names, as it stands in the set-up.
    pub(crate) fn cast(&self) -> Option<Arc<Cast>> {
        let stock = self.stock?;
        let new = || Arc::new(Cast::new(stock, job::frame(self.study)));
        Some(Arc::clone(self.found.cast.get_or_init(new)))
    }
}

/// Features of the part and what else is worked out once it is asked for.
#[derive(Default)]
pub(crate) struct Found {
    pockets: OnceLock<Vec<fact::Pocket>>,
    cast: OnceLock<Arc<Cast>>,
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
