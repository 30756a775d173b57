//! What can be said about a part: curvature of its faces, pockets, size.

mod face;
mod neighbour;
mod outline;
mod pocket;

pub use face::{FaceFacts, of_faces};
pub use neighbour::{Meeting, Neighbours};
pub use outline::{Plan, plan, plan_along};
pub use pocket::{Pocket, pockets};
