//! What simple surface a region of a mesh lies on, where a fit is convincing.
//!
//! A fit is convincing when every vertex lies on the surface to within what rounding of the file
//! and a small share of the region's size explain, every triangle leans as the surface does, and
//! the region bends enough for its radius to mean something.

mod cylinder;
mod round;
mod turned;

use crate::curvature::{Estimate, matrix_of};
use crate::model::FaceKind;
use geom::surface::{Frame, Surface};
use geom::{Mat3, Site, TriMesh, Vec3};

/// Share of the region's size by which a vertex may miss the surface.
const MISS_SHARE: f64 = 2e-5;
/// Least spread of normals over a curved region, rad: less is flat or says nothing of the radius.
const LEAST_SPREAD_RAD: f64 = 0.035;
/// Vertices that refining looks at, at most.
const SAMPLE: usize = 400;

/// A region's surface as it was recognised.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Recognised {
    pub(crate) kind: FaceKind,
    pub(crate) surface: Surface,
    /// Whether the outward normal is opposite to the surface's own.
    pub(crate) flip: bool,
    /// Largest distance of a vertex from the surface, mm.
    pub(crate) residual_mm: f64,
    /// Sagitta of the region over its radius: how well the points hold the radius.
    sagitta_share: f64,
}

impl Recognised {
    /// The point of the surface nearest to `p`, with normal and curvature.
    pub(crate) fn site(&self, p: Vec3) -> Option<Site> {
        self.surface.site(self.parameters(p)?, self.flip)
    }

    /// Normal and curvature at the point of the surface nearest to `p`.
    pub(crate) fn estimate(&self, p: Vec3) -> Option<Estimate> {
        let site = self.site(p)?;
        let tensor = matrix_of(&site.curvature);
        let worst = tensor.to_cols_array().iter().fold(0.0_f64, |m, x| m.max(x.abs()));
        // points that miss by the residual move a radius by as much over the sagitta's share of it
        let error_per_mm = worst * worst * self.residual_mm / self.sagitta_share;
        Some(Estimate { normal: site.normal, tensor, error_per_mm })
    }

    /// Mean distance of the facets' middles from the surface, weighted by area, mm.
    fn middle_miss_mm(&self, region: &Region) -> f64 {
        let total: f64 = region.facets.iter().map(|f| f.1).sum();
        region.facets.iter().map(|(_, area, p)| self.miss_mm(*p) * area).sum::<f64>() / total
    }

    /// The furthest that a facet's middle lies from the surface, mm.
    pub(crate) fn worst_middle_mm(&self, region: &Region) -> f64 {
        region.facets.iter().map(|(_, _, p)| self.miss_mm(*p)).fold(0.0, f64::max)
    }

    /// Whether another region lies on the surface of this one: every corner within what `own` may
    /// miss, the middles of the facets within `far_mm`, facing the same way.
    pub(crate) fn holds(&self, own: &Region, other: &Region, far_mm: f64) -> bool {
        let slack = own.slack().max(other.slack());
        other.points.iter().all(|p| self.miss_mm(*p) <= slack)
            && other.facets.iter().all(|(normal, _, p)| {
                let faces = self.site(*p).is_some_and(|s| s.normal.dot(*normal) > 0.0);
                faces && self.miss_mm(*p) <= far_mm
            })
    }

    fn miss_mm(&self, p: Vec3) -> f64 {
        let foot = self.parameters(p).map(|uv| self.surface.point(uv.x, uv.y));
        foot.map_or(f64::INFINITY, |foot| (foot - p).length())
    }

    fn parameters(&self, p: Vec3) -> Option<geom::Vec2> {
        self.surface.project(p, geom::Vec2::ZERO)
    }
}

/// One region: its points and triangles.
pub(crate) struct Region {
    pub(crate) points: Vec<Vec3>,
    /// Unit normal, area and middle of each triangle.
    pub(crate) facets: Vec<(Vec3, f64, Vec3)>,
    middle: Vec3,
    size: f64,
    /// What rounding of the file may have moved a vertex by, mm.
    rounding: f64,
}

impl Region {
    /// The region made of the given triangles.
    pub(crate) fn new(mesh: &TriMesh, triangles: &[u32]) -> Self {
        let mut vertices: Vec<u32> =
            triangles.iter().flat_map(|&t| mesh.triangles[t as usize]).collect();
        vertices.sort_unstable();
        vertices.dedup();
        let points: Vec<Vec3> = vertices.iter().map(|&v| mesh.vertices[v as usize]).collect();
        let facets = triangles
            .iter()
            .map(|&t| {
                let [a, b, c] = mesh.corners(t as usize);
                let twice = (b - a).cross(c - a);
                (twice.normalize_or_zero(), 0.5 * twice.length(), (a + b + c) / 3.0)
            })
            .collect();
        let middle = points.iter().sum::<Vec3>() / points.len().max(1) as f64;
        let size = points.iter().map(|p| (*p - middle).length()).fold(0.0, f64::max);
        let largest = points.iter().map(|p| p.abs().max_element()).fold(0.0, f64::max);
        Self { points, facets, middle, size, rounding: largest * f64::from(f32::EPSILON) }
    }

    /// How far a vertex may miss a surface that is still taken to be the region's.
    fn slack(&self) -> f64 {
        4.0 * self.rounding + MISS_SHARE * self.size
    }

    fn mean_normal(&self) -> Vec3 {
        self.facets.iter().map(|(n, area, _)| *n * *area).sum::<Vec3>()
    }

    /// Largest angle between normals and their mean, doubled; at most a full turn.
    pub(crate) fn spread_rad(&self) -> f64 {
        let mean = self.mean_normal().normalize_or_zero();
        let angle = |n: Vec3| n.cross(mean).length().atan2(n.dot(mean));
        2.0 * self.facets.iter().map(|f| angle(f.0)).fold(0.0, f64::max)
    }

    /// Area-weighted sum of outer products of normals less `from`.
    fn normal_matrix(&self, from: Vec3) -> Mat3 {
        self.facets.iter().fold(Mat3::ZERO, |m, (n, area, _)| {
            let d = *n - from;
            m + Mat3::from_cols(d * d.x, d * d.y, d * d.z) * *area
        })
    }

    fn sample(&self) -> impl Iterator<Item = Vec3> + '_ {
        let step = self.points.len().div_ceil(SAMPLE).max(1);
        self.points.iter().copied().step_by(step)
    }

    /// Largest of a distance over all vertices.
    fn miss(&self, distance: impl Fn(Vec3) -> f64) -> f64 {
        self.points.iter().map(|p| distance(*p).abs()).fold(0.0, f64::max)
    }

    /// +1 where the facets face along `out` at their middles by area, −1 where against; `None`
    /// where they disagree.
    fn sense(&self, out: impl Fn(Vec3) -> Vec3) -> Option<f64> {
        let total: f64 = self.facets.iter().map(|f| f.1).sum();
        let agreed: f64 = self.facets.iter().map(|(n, area, p)| n.dot(out(*p)) * area).sum();
        (agreed.abs() > 0.9 * total).then(|| agreed.signum())
    }
}

/// The simplest surface that the region lies on.
pub(crate) fn recognise(region: &Region) -> Option<Recognised> {
    plane(region).or_else(|| {
        if region.spread_rad() < LEAST_SPREAD_RAD || region.points.len() < 6 {
            return None;
        }
        // two rings of vertices lie on a sphere as well as on a cone: the middles of the facets
        // tell which
        [cylinder::cylinder(region), round::sphere(region), round::cone(region)]
            .into_iter()
            .flatten()
            .min_by(|a, b| a.middle_miss_mm(region).total_cmp(&b.middle_miss_mm(region)))
    })
}

/// Judges a fitted round surface: how far the vertices miss it, and which side is out.
fn judge(region: &Region, kind: FaceKind, surface: Surface) -> Option<Recognised> {
    let foot = |p: Vec3| {
        let uv = surface.project(p, geom::Vec2::ZERO)?;
        surface.site(uv, false)
    };
    let residual_mm =
        region.miss(|p| foot(p).map_or(f64::INFINITY, |site| (site.point - p).length()));
    if residual_mm.is_nan() || residual_mm > region.slack() {
        return None;
    }
    let sense = region.sense(|p| foot(p).map_or(Vec3::ZERO, |site| site.normal))?;
    let half = (0.5 * region.spread_rad()).min(std::f64::consts::FRAC_PI_2);
    let sagitta_share = 1.0 - half.cos();
    Some(Recognised { kind, surface, flip: sense < 0.0, residual_mm, sagitta_share })
}

fn plane(region: &Region) -> Option<Recognised> {
    let normal = region.mean_normal().try_normalize()?;
    let residual_mm = region.miss(|p| (p - region.middle).dot(normal));
    if residual_mm > region.slack() || region.spread_rad() > 2.0 * LEAST_SPREAD_RAD {
        return None;
    }
    let frame = frame_along(region.middle, normal)?;
    let surface = Surface::Plane(frame);
    let (flip, sagitta_share) = (false, 1.0);
    Some(Recognised { kind: FaceKind::Plane, surface, flip, residual_mm, sagitta_share })
}

/// A frame at `origin` with its third axis along `axis`.
fn frame_along(origin: Vec3, axis: Vec3) -> Option<Frame> {
    let z = axis.try_normalize()?;
    let x = z.any_orthonormal_vector();
    Some(Frame { origin, x, y: z.cross(x), z })
}
