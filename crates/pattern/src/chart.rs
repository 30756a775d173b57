//! A face or a set of faces laid out on a plane, so that passes can be drawn there.

use geom::{Site, Sym2, TangentTensor, Vec2, Vec3};

/// A point of the chart with the point of the surface it stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Chart coordinates.
    pub q: Vec2,
    /// The surface there.
    pub site: Site,
    /// Derivative of the surface point along the first chart coordinate, mm.
    pub da: Vec3,
    /// Derivative along the second.
    pub db: Vec3,
    /// Number of the face it lies on.
    pub face: usize,
    /// Parameters on the face's exact surface, where there is one.
    pub uv: Vec2,
}

/// A layout of the surface: for every chart point at most one surface point.
pub trait Chart: Sync {
    /// Smallest and largest corner of the box that holds the feature.
    fn bounds(&self) -> (Vec2, Vec2);
    /// Whether the feature lies there.
    fn covers(&self, q: Vec2) -> bool;
    /// The surface there, exact; `None` outside the feature.
    fn at(&self, q: Vec2) -> Option<Spot>;
    /// Chart points whose box and levels hold those of the whole feature: corners of its layout.
    fn corners(&self) -> Vec<Vec2>;
    /// Area of the surface that is laid out, mm².
    fn area_mm2(&self) -> f64;
    /// The surface continued past its border from a spot near by.
    fn beyond(&self, near: &Spot, q: Vec2) -> Option<Spot> {
        Some(near.continued(q))
    }
}

impl Spot {
    /// Surface vector of a chart vector.
    pub fn tangent(&self, dq: Vec2) -> Vec3 {
        self.da * dq.x + self.db * dq.y
    }

    /// First fundamental form in chart coordinates.
    pub fn first_form(&self) -> Sym2 {
        Sym2::new(self.da.dot(self.da), self.da.dot(self.db), self.db.dot(self.db))
    }

    /// Area of the surface per area of the chart.
    pub fn area_factor(&self) -> f64 {
        self.da.cross(self.db).length()
    }

    /// Chart vector of steepest ascent of a function with chart gradient `g`, and the length of its
    /// surface gradient, 1/mm. `None` where the layout is singular.
    pub fn ascent(&self, g: Vec2) -> Option<(Vec2, f64)> {
        let inverse = self.first_form().inverse()?;
        let c = Vec2::new(inverse.xx * g.x + inverse.xy * g.y, inverse.xy * g.x + inverse.yy * g.y);
        let square = c.dot(g);
        (square > 0.0 && square.is_finite()).then(|| (c, square.sqrt()))
    }

    /// Chart vector of a surface vector (its tangential part).
    pub fn chart_vector(&self, v: Vec3) -> Option<Vec2> {
        let inverse = self.first_form().inverse()?;
        let (x, y) = (v.dot(self.da), v.dot(self.db));
        Some(Vec2::new(inverse.xx * x + inverse.xy * y, inverse.xy * x + inverse.yy * y))
    }

    /// The surface continued to another chart point by its curvature at this one.
    pub fn continued(&self, q: Vec2) -> Self {
        let d = self.tangent(q - self.q);
        let s = self.site.curvature;
        let bend = s.e1 * (s.entries.xx * d.dot(s.e1) + s.entries.xy * d.dot(s.e2))
            + s.e2 * (s.entries.xy * d.dot(s.e1) + s.entries.yy * d.dot(s.e2));
        let n = self.site.normal;
        let normal = (n - bend).normalize();
        let e1 = (s.e1 - normal * s.e1.dot(normal)).normalize();
        let site = Site {
            point: self.site.point + d + n * (0.5 * d.dot(bend)),
            normal,
            curvature: TangentTensor { e1, e2: normal.cross(e1), entries: s.entries },
        };
        let onto = |v: Vec3| v + n * v.dot(bend);
        Self { q, site, da: onto(self.da), db: onto(self.db), ..*self }
    }

    /// The surface shifted by `offset_mm` along its normals; `None` past its focal surface.
    pub fn offset(&self, offset_mm: f64) -> Option<Self> {
        if offset_mm == 0.0 {
            return Some(*self);
        }
        let s = self.site.curvature;
        let shift = Sym2::diagonal(1.0, 1.0) - s.entries.scaled(offset_mm);
        if !(shift.det() > 0.0 && shift.trace() > 0.0) {
            return None;
        }
        let inverse = shift.inverse()?;
        let moved = |v: Vec3| {
            let (x, y) = (v.dot(s.e1), v.dot(s.e2));
            s.e1 * (shift.xx * x + shift.xy * y) + s.e2 * (shift.xy * x + shift.yy * y)
        };
        // both tensors have the same principal directions, so that their product is symmetric
        let entries = Sym2::new(
            s.entries.xx * inverse.xx + s.entries.xy * inverse.xy,
            s.entries.xx * inverse.xy + s.entries.xy * inverse.yy,
            s.entries.xy * inverse.xy + s.entries.yy * inverse.yy,
        );
        let site = Site {
            point: self.site.point + self.site.normal * offset_mm,
            normal: self.site.normal,
            curvature: TangentTensor { entries, ..s },
        };
        Some(Self { site, da: moved(self.da), db: moved(self.db), ..*self })
    }
}

/// The chart of a surface shifted along its normals: what is left for a later operation.
pub(crate) struct Shifted<'a> {
    pub(crate) base: &'a dyn Chart,
    pub(crate) offset_mm: f64,
}

impl Chart for Shifted<'_> {
    fn bounds(&self) -> (Vec2, Vec2) {
        self.base.bounds()
    }
    fn covers(&self, q: Vec2) -> bool {
        self.base.covers(q)
    }
    fn at(&self, q: Vec2) -> Option<Spot> {
        self.base.at(q)?.offset(self.offset_mm)
    }
    fn corners(&self) -> Vec<Vec2> {
        self.base.corners()
    }
    fn area_mm2(&self) -> f64 {
        self.base.area_mm2()
    }
}
