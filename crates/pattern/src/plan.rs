//! The chart of a feature seen from above, straight along +Z of the set-up.

use geom::surface::Surface;
use geom::{Site, Vec2, Vec3};
use part::Part;

use crate::chart::{Chart, Spot};
use crate::job::Frame;
use crate::locate::{Located, Locator};

/// Triangles steeper than this are not seen from above: cosine of the angle to +Z.
const SEEN: f64 = 1e-6;
/// Newton steps towards the point of an exact surface on a vertical line.
const STEPS: usize = 12;

/// The faces of a feature in plan.
pub struct PlanChart<'a> {
    part: &'a Part,
    frame: Frame,
    /// Part triangle of each triangle in the layout.
    triangle: Vec<u32>,
    locator: Locator,
    seen_mm2: f64,
}

impl<'a> PlanChart<'a> {
    /// Lays out the faces; `None` where nothing faces up.
    pub fn new(part: &'a Part, faces: &[usize], frame: Frame) -> Option<Self> {
        Self::of_triangles(part, &triangles_of(part, faces)?, frame)
    }

    /// Lays out some triangles of the part; `None` where nothing faces up.
    pub(crate) fn of_triangles(part: &'a Part, wanted: &[u32], frame: Frame) -> Option<Self> {
        let (mut triangle, mut flat, mut rank) = (vec![], vec![], vec![]);
        let mut seen_mm2 = 0.0;
        for t in wanted {
            let corners = part.mesh.corners(*t as usize);
            let cross = (corners[1] - corners[0]).cross(corners[2] - corners[0]);
            if cross.dot(frame.up) > SEEN * cross.length() {
                seen_mm2 += 0.5 * cross.length();
                triangle.push(*t);
                flat.push(corners.map(|p| frame.plan(p)));
                rank.push(corners.map(|p| p.dot(frame.up)));
            }
        }
        let locator = Locator::new(flat, rank)?;
        Some(Self { part, frame, triangle, locator, seen_mm2 })
    }

    fn spot_on(&self, q: Vec2, face: usize, uv: Vec2, site: Site) -> Option<Spot> {
        let n = site.normal;
        let rise = n.dot(self.frame.up);
        if rise <= SEEN {
            return None;
        }
        let slope = |e: Vec3| e - self.frame.up * (n.dot(e) / rise);
        Some(Spot { q, site, da: slope(self.frame.x), db: slope(self.frame.y), face, uv })
    }

    /// The point of an exact surface over `q`, from parameters near by.
    fn over(&self, surface: &Surface, flip: bool, q: Vec2, guess: Vec2) -> Option<(Vec2, Site)> {
        // beyond a pole the same surface goes on with its normal turned over
        self.by_parameters(surface, q, guess)
            .and_then(|uv| Some((uv, surface.site(uv, flip)?)))
            .filter(|(_, site)| site.normal.dot(self.frame.up) > SEEN)
            .or_else(|| self.by_planes(surface, flip, q, guess))
    }

    /// Newton on the parameters.
    fn by_parameters(&self, surface: &Surface, q: Vec2, guess: Vec2) -> Option<Vec2> {
        let mut uv = guess;
        for _ in 0..STEPS {
            let jet = surface.jet(uv.x, uv.y);
            let off = self.frame.plan(jet.p) - q;
            if off.length() <= geom::tolerance::SOLVED_MM {
                return Some(uv);
            }
            let (a, b) = (self.frame.plan(jet.du), self.frame.plan(jet.dv));
            let det = a.perp_dot(b);
            if det == 0.0 || !det.is_finite() {
                return None;
            }
            uv -= Vec2::new(off.perp_dot(b), a.perp_dot(off)) / det;
        }
        None
    }

    /// Where the parameters serve ill, as at a pole: down the vertical line onto the tangent plane,
    /// and from there onto the surface.
    fn by_planes(
        &self,
        surface: &Surface,
        flip: bool,
        q: Vec2,
        guess: Vec2,
    ) -> Option<(Vec2, Site)> {
        let mut uv = guess;
        for _ in 0..STEPS {
            let site = surface.site(uv, flip)?;
            let off = self.frame.plan(site.point) - q;
            if off.length() <= geom::tolerance::SOLVED_MM {
                return Some((uv, site));
            }
            let rise = site.normal.dot(self.frame.up);
            if rise.abs() <= SEEN {
                return None;
            }
            let level = self.frame.x * off.x + self.frame.y * off.y;
            let aside = site.point - level;
            uv = surface.project(aside + self.frame.up * (site.normal.dot(level) / rise), uv)?;
        }
        None
    }

    fn exact(&self, q: Vec2, at: Located) -> Option<Spot> {
        let t = self.triangle[at.triangle];
        let face = self.part.mesh.face_of[t as usize] as usize;
        let found = self.part.faces[face].surface.as_ref().and_then(|surface| {
            let [a, b, c] = *self.part.corner_uv.get(t as usize)?;
            let [u, v, w] = at.barycentric;
            self.over(surface, self.part.faces[face].flip, q, a * u + b * v + c * w)
        });
        let (uv, site) = match found {
            Some(exact) => exact,
            None => (Vec2::ZERO, self.part.site(t, at.barycentric)?),
        };
        self.spot_on(q, face, uv, site)
    }
}

/// Triangles of some faces; `None` where there is no such face.
pub(crate) fn triangles_of(part: &Part, faces: &[usize]) -> Option<Vec<u32>> {
    let mut wanted = vec![false; part.faces.len()];
    for f in faces {
        *wanted.get_mut(*f)? = true;
    }
    let mesh = &part.mesh;
    let of_feature = |t: &usize| wanted[mesh.face_of[*t] as usize];
    Some((0..mesh.triangles.len()).filter(of_feature).map(|t| t as u32).collect())
}

impl Chart for PlanChart<'_> {
    fn bounds(&self) -> (Vec2, Vec2) {
        self.locator.bounds()
    }

    fn covers(&self, q: Vec2) -> bool {
        self.locator.find(q).is_some()
    }

    fn at(&self, q: Vec2) -> Option<Spot> {
        self.exact(q, self.locator.find(q)?)
    }

    fn area_mm2(&self) -> f64 {
        self.seen_mm2
    }

    fn corners(&self) -> Vec<Vec2> {
        self.locator.corners().collect()
    }

    fn beyond(&self, near: &Spot, q: Vec2) -> Option<Spot> {
        let face = &self.part.faces[near.face];
        let exact = face.surface.as_ref().and_then(|surface| {
            let (uv, site) = self.over(surface, face.flip, q, near.uv)?;
            self.spot_on(q, near.face, uv, site)
        });
        let continued = near.continued(q);
        // an exact surface may end or fold beyond its face: it serves while it goes on smoothly
        let reach = (q - near.q).length();
        exact
            .filter(|e| {
                e.site.point.distance(continued.site.point) <= 0.05 * reach
                    && e.site.normal.dot(continued.site.normal) > 0.99
            })
            .or(Some(continued))
    }
}
