//! Surfaces and curves of the file turned into exact ones, in mm, in the frame of their body.

use geom::surface::{
    Curve, Extrusion, Frame, Knots, NurbsCurve, NurbsError, NurbsSurface, Revolution, Surface,
};
use geom::{Vec3, tolerance};
use step_io::model::{
    Axis1PlacementRef, Axis2Placement3dId, Axis2Placement3dRef, Axis2PlacementRef,
    CartesianPointRef, CurveRef, DirectionRef, EntityKey, PartialEntity, StepModel, VectorRef,
};
use step_io::scene::{self, SurfaceKind};

/// Why a shape cannot be had.
pub(super) type Reason = String;

/// Reads shapes: the model with the scale of its numbers.
#[derive(Clone, Copy)]
pub(super) struct Shapes<'m> {
    pub(super) model: &'m StepModel,
    /// Millimetres in one of the file's units of length.
    pub(super) unit_mm: f64,
    /// Radians in one of the file's units of angle.
    pub(super) unit_rad: f64,
}

fn unknown(what: &str) -> Reason {
    format!("{what} is of a kind that this reader does not know")
}

fn bad_spline(e: NurbsError) -> Reason {
    e.to_string()
}

impl Shapes<'_> {
    pub(super) fn scaled(&self, xyz: &[f64]) -> Vec3 {
        let c = |i: usize| xyz.get(i).copied().unwrap_or(0.0) * self.unit_mm;
        Vec3::new(c(0), c(1), c(2))
    }

    fn point(&self, r: &CartesianPointRef) -> Result<Vec3, Reason> {
        match r {
            CartesianPointRef::CartesianPoint(id) => Ok(self.scaled(&self.model[*id].coordinates)),
            _ => Err(unknown("a point")),
        }
    }

    fn direction(&self, r: &DirectionRef) -> Result<Vec3, Reason> {
        let DirectionRef::Direction(id) = r else { return Err(unknown("a direction")) };
        let d = &self.model[*id].direction_ratios;
        let c = |i: usize| d.get(i).copied().unwrap_or(0.0);
        let no = || "a direction without length".to_owned();
        Vec3::new(c(0), c(1), c(2)).try_normalize().ok_or_else(no)
    }

    fn vector(&self, r: &VectorRef) -> Result<Vec3, Reason> {
        match r {
            VectorRef::Vector(id) => self.direction(&self.model[*id].orientation),
            VectorRef::Complex(_) => Err(unknown("a vector")),
        }
    }

    fn frame(&self, r: &Axis2Placement3dRef) -> Result<Frame, Reason> {
        let Axis2Placement3dRef::Axis2Placement3d(id) = r;
        self.placement(*id)
    }

    fn curve_frame(&self, r: &Axis2PlacementRef) -> Result<Frame, Reason> {
        match r {
            Axis2PlacementRef::Axis2Placement3d(id) => self.placement(*id),
            Axis2PlacementRef::Axis2Placement2d(_) => Err(unknown("a placement")),
        }
    }

    /// Axes as ISO 10303-42 derives them: z as given, x made square to it, y the third.
    fn placement(&self, id: Axis2Placement3dId) -> Result<Frame, Reason> {
        let place = &self.model[id];
        let z = place.axis.as_ref().map_or(Ok(Vec3::Z), |d| self.direction(d))?;
        let x = match &place.ref_direction {
            Some(d) => self.direction(d)?,
            None if z.x.abs() < 1.0 => Vec3::X,
            None => Vec3::Z,
        };
        let flat = || "a placement whose two directions are parallel".to_owned();
        let x = (x - z * x.dot(z)).try_normalize().ok_or_else(flat)?;
        Ok(Frame { origin: self.point(&place.location)?, x, y: z.cross(x), z })
    }

    /// The curve that `key` names.
    pub(super) fn curve(&self, key: EntityKey) -> Result<Curve, Reason> {
        let m = self.model;
        let long = |length: f64| length * self.unit_mm;
        Ok(match key {
            EntityKey::Line(i) => {
                let (origin, direction) = (self.point(&m[i].pnt)?, self.vector(&m[i].dir)?);
                Curve::Line { origin, direction }
            }
            EntityKey::Circle(i) => {
                let r = long(m[i].radius);
                Curve::Ellipse { frame: self.curve_frame(&m[i].position)?, a_mm: r, b_mm: r }
            }
            EntityKey::Ellipse(i) => Curve::Ellipse {
                frame: self.curve_frame(&m[i].position)?,
                a_mm: long(m[i].semi_axis_1),
                b_mm: long(m[i].semi_axis_2),
            },
            EntityKey::Hyperbola(i) => Curve::Hyperbola {
                frame: self.curve_frame(&m[i].position)?,
                a_mm: long(m[i].semi_axis),
                b_mm: long(m[i].semi_imag_axis),
            },
            EntityKey::Parabola(i) => Curve::Parabola {
                frame: self.curve_frame(&m[i].position)?,
                focal_mm: long(m[i].focal_dist),
            },
            EntityKey::BSplineCurveWithKnots(i) => {
                let c = &m[i];
                let knots = repeated(&c.knots, &c.knot_multiplicities);
                self.spline(c.degree, knots, &c.control_points_list, None)?
            }
            EntityKey::ComplexEntity(i) => self.rational_curve(&m[i].parts)?,
            EntityKey::TrimmedCurve(i) => self.named(&m[i].basis_curve)?,
            EntityKey::SurfaceCurve(i) => self.named(&m[i].curve_3d)?,
            EntityKey::SeamCurve(i) => self.named(&m[i].curve_3d)?,
            EntityKey::BoundedSurfaceCurve(i) => self.named(&m[i].curve_3d)?,
            EntityKey::IntersectionCurve(i) => self.named(&m[i].curve_3d)?,
            _ => return Err(unknown("a curve")),
        })
    }

    fn named(&self, r: &CurveRef) -> Result<Curve, Reason> {
        self.curve(r.entity_key())
    }

    fn rational_curve(&self, parts: &[PartialEntity]) -> Result<Curve, Reason> {
        let (mut shape, mut knots, mut weights) = (None, None, None);
        for part in parts {
            match part {
                PartialEntity::BSplineCurve { degree, control_points_list, .. } => {
                    shape = Some((*degree, control_points_list));
                }
                PartialEntity::BSplineCurveWithKnots { knot_multiplicities, knots: k, .. } => {
                    knots = Some(repeated(k, knot_multiplicities));
                }
                PartialEntity::RationalBSplineCurve { weights_data } => {
                    weights = Some(weights_data.as_slice());
                }
                _ => {}
            }
        }
        match (shape, knots) {
            (Some((degree, poles)), Some(knots)) => self.spline(degree, knots, poles, weights),
            _ => Err(unknown("a curve of several types")),
        }
    }

    fn spline(
        &self,
        degree: i64,
        knots: Vec<f64>,
        poles: &[CartesianPointRef],
        weights: Option<&[f64]>,
    ) -> Result<Curve, Reason> {
        let poles: Vec<Vec3> = poles.iter().map(|p| self.point(p)).collect::<Result<_, _>>()?;
        let degree = usize::try_from(degree).unwrap_or(0);
        let make = |period| {
            NurbsCurve::new(degree, knots.clone(), &poles, weights, period).map_err(bad_spline)
        };
        let open = make(None)?;
        let [lo, hi] = open.domain();
        let closed = open.jet(lo).p.distance(open.jet(hi).p) <= tolerance::COINCIDENT_MM;
        Ok(Curve::Nurbs(if closed { make(Some(hi - lo))? } else { open }))
    }

    /// The surface of a face.
    pub(super) fn surface(&self, s: &scene::Surface<'_>) -> Result<Surface, Reason> {
        let long = |length: f64| length * self.unit_mm;
        Ok(match s.kind() {
            SurfaceKind::Plane(p) => Surface::Plane(self.frame(&p.position)?),
            SurfaceKind::Cylindrical(c) => {
                Surface::cylinder(self.frame(&c.position)?, long(c.radius))
            }
            SurfaceKind::Conical(c) => {
                let half_angle_rad = c.semi_angle * self.unit_rad;
                Surface::cone(self.frame(&c.position)?, long(c.radius), half_angle_rad)
            }
            SurfaceKind::Spherical(b) => Surface::sphere(self.frame(&b.position)?, long(b.radius)),
            SurfaceKind::Toroidal(t) => {
                let frame = self.frame(&t.position)?;
                Surface::torus(frame, long(t.major_radius), long(t.minor_radius))
            }
            SurfaceKind::DegenerateToroidal(t) => {
                let frame = self.frame(&t.position)?;
                Surface::torus(frame, long(t.major_radius), long(t.minor_radius))
            }
            SurfaceKind::Offset(o) => {
                let base = s.basis_surface().ok_or_else(|| unknown("the base of an offset"))?;
                Surface::offset(self.surface(&base)?, long(o.distance))
            }
            SurfaceKind::LinearExtrusion(e) => Surface::Extrusion(Box::new(Extrusion {
                curve: self.named(&e.swept_curve)?,
                direction: self.vector(&e.extrusion_axis)?,
            })),
            SurfaceKind::Revolution(r) => {
                let Axis1PlacementRef::Axis1Placement(axis) = r.axis_position;
                let axis = &self.model[axis];
                Surface::Revolution(Box::new(Revolution {
                    curve: self.named(&r.swept_curve)?,
                    origin: self.point(&axis.location)?,
                    axis: axis.axis.as_ref().map_or(Ok(Vec3::Z), |d| self.direction(d))?,
                }))
            }
            _ => self.spline_surface(s)?,
        })
    }

    fn spline_surface(&self, s: &scene::Surface<'_>) -> Result<Surface, Reason> {
        let n = s.to_nurbs().ok_or_else(|| unknown("the surface"))?;
        let poles: Vec<Vec3> = n.control_points.iter().flatten().map(|p| self.scaled(p)).collect();
        let weights: Vec<f64> = n.weights.concat();
        let make = |period: [Option<f64>; 2]| {
            let u = Knots { degree: n.degree_u, knots: n.knots_u.clone(), period: period[0] };
            let v = Knots { degree: n.degree_v, knots: n.knots_v.clone(), period: period[1] };
            NurbsSurface::new(u, v, &poles, Some(&weights)).map_err(bad_spline)
        };
        let open = make([None, None])?;
        let period = closed(&open);
        Ok(Surface::Nurbs(Box::new(if period == [None, None] { open } else { make(period)? })))
    }
}

/// Knots repeated by their multiplicity.
fn repeated(knots: &[f64], multiplicities: &[i64]) -> Vec<f64> {
    let times = |m: &i64| usize::try_from(*m).unwrap_or(0).min(64);
    knots.iter().zip(multiplicities).flat_map(|(k, m)| vec![*k; times(m)]).collect()
}

/// Periods of a spline surface whose opposite borders are one; none where a border is a point.
fn closed(s: &NurbsSurface) -> [Option<f64>; 2] {
    const PROBES: usize = 7;
    let [[u0, u1], [v0, v1]] = s.domain();
    let at = |lo: f64, hi: f64, i: usize| lo + (hi - lo) * i as f64 / (PROBES - 1) as f64;
    let meets = |a: (f64, f64), b: (f64, f64)| {
        s.jet(a.0, a.1).p.distance(s.jet(b.0, b.1).p) <= 10.0 * tolerance::COINCIDENT_MM
    };
    let all = |same: &dyn Fn(usize) -> bool| (0..PROBES).all(same);
    let in_u = all(&|i| meets((u0, at(v0, v1, i)), (u1, at(v0, v1, i))));
    let in_v = all(&|i| meets((at(u0, u1, i), v0), (at(u0, u1, i), v1)));
    [in_u.then_some(u1 - u0), in_v.then_some(v1 - v0)]
}
