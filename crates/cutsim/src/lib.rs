//! The surface as machined: deviation of the cut along the nominal normals, from the swept cutter.
//!
//! A sample's deviation is the smallest t at which the ray `p + t n` lies inside what the cutter
//! sweeps on the whole path: positive where material is left standing, negative where the cutter
//! dug below the nominal surface, none where no move reached the ray. Lengths are mm.

pub mod body;
pub mod cut_surface;
pub mod deviation;
pub mod entry;
pub mod sample;
pub mod sweep;
pub mod texture;

mod across;
mod closest;
mod from_profile;
mod index;
mod lanes;

pub use across::Ridge;
pub use body::{Body, Piece};
pub use cut_surface::{Areal, CutJob, CutSurface, Gouge, MapSample, cut_surface};
pub use deviation::{Cut, Ray, Swept};
pub use entry::Reach;
pub use sweep::{Move, Which};
