//! Milling cutters as exact convex bodies of revolution: forms, contact, relative curvature,
//! signed distance, and the assembly with neck, shank and holder.
//!
//! Cutter frame: tip at the origin, `z` along the axis towards the spindle, `r` the distance from
//! the axis. `kappa` is the angle between the profile's outward normal and `-z`: 0 at the tip, 90°
//! on a cylinder; the outward normal is `(sin kappa, -cos kappa)` in `(r, z)`. In contact with a
//! part whose outward normal is `n`, `cos kappa = n · axis`.

pub mod assembly;
pub mod axis;
pub mod body;
pub mod contact;
pub mod distance;
pub mod error;
pub mod form;
pub mod profile;
pub mod relative;
pub mod spec;

pub use assembly::{Assembly, Body, BodyKind};
pub use body::Cutter;
pub use contact::{Contact, Touch, tip_at};
pub use distance::Distance;
pub use error::{CutterError, NoContact};
pub use profile::{Arc, Element, Line, Profile};
pub use relative::Relative;
pub use spec::{CutterSpec, Form, HolderSegment};
