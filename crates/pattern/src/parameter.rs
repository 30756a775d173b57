//! The chart of one exact face by its own parameters.

use geom::Vec2;
use geom::surface::Surface;
use part::Part;

use crate::chart::{Chart, Spot};
use crate::locate::Locator;

/// One face in its parameters.
pub struct ParameterChart<'a> {
    surface: &'a Surface,
    flip: bool,
    /// Sign of the second chart coordinate, so that the chart is never mirrored seen from outside.
    turn: Vec2,
    face: usize,
    locator: Locator,
    area_mm2: f64,
}

impl<'a> ParameterChart<'a> {
    /// Lays out the face; `None` without an exact surface.
    pub fn new(part: &'a Part, face: usize) -> Option<Self> {
        let owner = part.faces.get(face)?;
        let surface = owner.surface.as_ref()?;
        let turn = Vec2::new(1.0, if owner.flip { -1.0 } else { 1.0 });
        let flat: Vec<[Vec2; 3]> = (0..part.mesh.triangles.len())
            .filter(|t| part.mesh.face_of[*t] as usize == face)
            .filter_map(|t| part.corner_uv.get(t).map(|uv| uv.map(|c| c * turn)))
            .collect();
        let rank = vec![[0.0; 3]; flat.len()];
        Some(Self {
            surface,
            flip: owner.flip,
            turn,
            face,
            locator: Locator::new(flat, rank)?,
            area_mm2: owner.area_mm2,
        })
    }

    fn spot(&self, q: Vec2) -> Option<Spot> {
        let uv = q * self.turn;
        let jet = self.surface.jet(uv.x, uv.y);
        let site = jet.site(self.flip)?;
        Some(Spot { q, site, da: jet.du, db: jet.dv * self.turn.y, face: self.face, uv })
    }
}

impl Chart for ParameterChart<'_> {
    fn bounds(&self) -> (Vec2, Vec2) {
        self.locator.bounds()
    }

    fn covers(&self, q: Vec2) -> bool {
        self.locator.find(q).is_some()
    }

    fn at(&self, q: Vec2) -> Option<Spot> {
        self.locator.find(q).and_then(|_| self.spot(q))
    }

    fn area_mm2(&self) -> f64 {
        self.area_mm2
    }

    fn corners(&self) -> Vec<Vec2> {
        self.locator.corners().collect()
    }

    fn beyond(&self, near: &Spot, q: Vec2) -> Option<Spot> {
        let continued = near.continued(q);
        let reach = near.tangent(q - near.q).length();
        self.spot(q)
            .filter(|e| {
                e.site.point.distance(continued.site.point) <= 0.05 * reach
                    && e.site.normal.dot(continued.site.normal) > 0.99
            })
            .or(Some(continued))
    }
}
