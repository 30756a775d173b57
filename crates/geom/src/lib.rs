//! Points, frames, curvature tensors, exact surfaces, meshes and the queries on them.
//!
//! Lengths are mm, angles rad. A curvature is positive where the surface *rises towards the tool*
//! (concave part), negative where it falls away (convex part); the other sign, of a surface radius
//! as people give it, is converted in one place, [`tensor::curvature_from_radius`].

pub mod bvh;
pub mod circle;
pub mod cross;
pub mod edges;
pub mod golden;
pub mod lsq;
pub mod mesh;
pub mod polygon;
pub mod segment;
pub mod site;
pub mod surface;
pub mod tensor;
pub mod tolerance;
pub mod triangle;

pub use bvh::{Bvh, Closest, RayHit};
pub use edges::MeshEdges;
pub use glam::{DAffine3 as Affine3, DMat3 as Mat3, DQuat as Quat, DVec2 as Vec2, DVec3 as Vec3};
pub use mesh::TriMesh;
pub use site::{Site, TangentTensor};
pub use surface::Jet;
pub use tensor::Sym2;
