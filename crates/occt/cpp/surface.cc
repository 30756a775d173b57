// Full definitions of surfaces and of the curves that they stand on.
#include "internal.h"

#include <GeomConvert.hxx>
#include <Geom_BSplineCurve.hxx>
#include <Geom_BSplineSurface.hxx>
#include <Geom_BezierCurve.hxx>
#include <Geom_BezierSurface.hxx>
#include <Geom_Circle.hxx>
#include <Geom_ConicalSurface.hxx>
#include <Geom_CylindricalSurface.hxx>
#include <Geom_Ellipse.hxx>
#include <Geom_Hyperbola.hxx>
#include <Geom_Line.hxx>
#include <Geom_OffsetSurface.hxx>
#include <Geom_Parabola.hxx>
#include <Geom_Plane.hxx>
#include <Geom_RectangularTrimmedSurface.hxx>
#include <Geom_SphericalSurface.hxx>
#include <Geom_SurfaceOfLinearExtrusion.hxx>
#include <Geom_SurfaceOfRevolution.hxx>
#include <Geom_ToroidalSurface.hxx>
#include <Geom_TrimmedCurve.hxx>
#include <Precision.hxx>

namespace shim {
namespace {

using Triple = std::array<double, 3>;

Triple triple(const gp_XYZ& p) { return {p.X(), p.Y(), p.Z()}; }

Frame world() { return {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}}; }

Frame frame(const gp_Ax3& a) {
  return {triple(a.Location().XYZ()), triple(a.XDirection().XYZ()), triple(a.YDirection().XYZ()),
          triple(a.Direction().XYZ())};
}

Frame frame(const gp_Ax2& a) { return frame(gp_Ax3(a)); }

// Only origin and third axis matter.
Frame along(const gp_Pnt& origin, const gp_Dir& z) { return frame(gp_Ax3(origin, z)); }

void push(rust::Vec<double>& out, const gp_Pnt& p) {
  out.push_back(p.X());
  out.push_back(p.Y());
  out.push_back(p.Z());
}

Curve blank_curve(CurveKind kind) { return {kind, world(), 0, 0, 0, {}, {}, {}, 0, false}; }

Curve conic(CurveKind kind, const gp_Ax2& place, double a, double b, double period) {
  Curve c = blank_curve(kind);
  c.frame = frame(place);
  c.a = a;
  c.b = b;
  c.period = period;
  return c;
}

Curve spline_curve(Handle(Geom_BSplineCurve) source) {
  Handle(Geom_BSplineCurve) s = Handle(Geom_BSplineCurve)::DownCast(source->Copy());
  Curve c = blank_curve(CurveKind::Spline);
  if (s->IsPeriodic()) {
    c.period = s->Period();
    s->SetNotPeriodic();
  }
  c.degree = s->Degree();
  const TColStd_Array1OfReal& knots = s->KnotSequence();
  for (int i = knots.Lower(); i <= knots.Upper(); ++i) c.knots.push_back(knots(i));
  for (int i = 1; i <= s->NbPoles(); ++i) {
    push(c.poles, s->Pole(i));
    if (s->IsRational()) c.weights.push_back(s->Weight(i));
  }
  return c;
}

Curve describe(Handle(Geom_Curve) g) {
  while (g->IsKind(STANDARD_TYPE(Geom_TrimmedCurve)))
    g = Handle(Geom_TrimmedCurve)::DownCast(g)->BasisCurve();
  if (auto line = Handle(Geom_Line)::DownCast(g)) {
    Curve c = blank_curve(CurveKind::Line);
    const gp_Ax1& p = line->Position();
    c.frame = {triple(p.Location().XYZ()), triple(p.Direction().XYZ()), {0, 0, 0}, {0, 0, 0}};
    return c;
  }
  const double turn = 2 * M_PI;
  if (auto k = Handle(Geom_Circle)::DownCast(g))
    return conic(CurveKind::Circle, k->Position(), k->Radius(), k->Radius(), turn);
  if (auto k = Handle(Geom_Ellipse)::DownCast(g))
    return conic(CurveKind::Ellipse, k->Position(), k->MajorRadius(), k->MinorRadius(), turn);
  if (auto k = Handle(Geom_Hyperbola)::DownCast(g))
    return conic(CurveKind::Hyperbola, k->Position(), k->MajorRadius(), k->MinorRadius(), 0);
  if (auto k = Handle(Geom_Parabola)::DownCast(g))
    return conic(CurveKind::Parabola, k->Position(), k->Focal(), 0, 0);
  if (auto s = Handle(Geom_BSplineCurve)::DownCast(g)) return spline_curve(s);
  Curve c = spline_curve(GeomConvert::CurveToBSplineCurve(g));
  c.approximated = !g->IsKind(STANDARD_TYPE(Geom_BezierCurve));
  return c;
}

Surface blank(SurfaceKind kind) {
  return {kind, world(), 0, 0, 0, 0, {}, {}, {}, {}, 0, 0, -1, -1, false};
}

Surface placed(SurfaceKind kind, const gp_Ax3& place, double a, double b) {
  Surface s = blank(kind);
  s.frame = frame(place);
  s.a = a;
  s.b = b;
  return s;
}

Surface spline_surface(Handle(Geom_BSplineSurface) source) {
  Handle(Geom_BSplineSurface) s = Handle(Geom_BSplineSurface)::DownCast(source->Copy());
  Surface d = blank(SurfaceKind::Spline);
  if (s->IsUPeriodic()) {
    d.period_u = s->UPeriod();
    s->SetUNotPeriodic();
  }
  if (s->IsVPeriodic()) {
    d.period_v = s->VPeriod();
    s->SetVNotPeriodic();
  }
  d.degree_u = s->UDegree();
  d.degree_v = s->VDegree();
  const TColStd_Array1OfReal& ku = s->UKnotSequence();
  const TColStd_Array1OfReal& kv = s->VKnotSequence();
  for (int i = ku.Lower(); i <= ku.Upper(); ++i) d.knots_u.push_back(ku(i));
  for (int i = kv.Lower(); i <= kv.Upper(); ++i) d.knots_v.push_back(kv(i));
  const bool rational = s->IsURational() || s->IsVRational();
  for (int i = 1; i <= s->NbUPoles(); ++i)
    for (int j = 1; j <= s->NbVPoles(); ++j) {
      push(d.poles, s->Pole(i, j));
      if (rational) d.weights.push_back(s->Weight(i, j));
    }
  return d;
}

// Any other kind: the kernel's conversion over the face's box.
Surface converted(const Handle(Geom_Surface)& g, const double uv[4]) {
  if (g->IsKind(STANDARD_TYPE(Geom_BezierSurface)))
    return spline_surface(GeomConvert::SurfaceToBSplineSurface(g));
  Handle(Geom_Surface) piece =
      new Geom_RectangularTrimmedSurface(g, uv[0], uv[1], uv[2], uv[3], true, true);
  Surface d = spline_surface(GeomConvert::SurfaceToBSplineSurface(piece));
  d.approximated = true;
  return d;
}

Surface describe(Handle(Geom_Surface) g, const double uv[4], Model& model) {
  while (g->IsKind(STANDARD_TYPE(Geom_RectangularTrimmedSurface)))
    g = Handle(Geom_RectangularTrimmedSurface)::DownCast(g)->BasisSurface();
  if (auto s = Handle(Geom_Plane)::DownCast(g))
    return placed(SurfaceKind::Plane, s->Position(), 0, 0);
  if (auto s = Handle(Geom_CylindricalSurface)::DownCast(g))
    return placed(SurfaceKind::Cylinder, s->Position(), s->Radius(), 0);
  if (auto s = Handle(Geom_ConicalSurface)::DownCast(g))
    return placed(SurfaceKind::Cone, s->Position(), s->RefRadius(), s->SemiAngle());
  if (auto s = Handle(Geom_SphericalSurface)::DownCast(g))
    return placed(SurfaceKind::Sphere, s->Position(), s->Radius(), 0);
  if (auto s = Handle(Geom_ToroidalSurface)::DownCast(g))
    return placed(SurfaceKind::Torus, s->Position(), s->MajorRadius(), s->MinorRadius());
  if (auto s = Handle(Geom_BSplineSurface)::DownCast(g)) return spline_surface(s);
  if (auto s = Handle(Geom_SurfaceOfLinearExtrusion)::DownCast(g)) {
    Surface d = blank(SurfaceKind::Extrusion);
    d.frame = along(gp_Pnt(0, 0, 0), s->Direction());
    d.curve = static_cast<int32_t>(model.curves.size());
    model.curves.push_back(describe(s->BasisCurve()));
    return d;
  }
  if (auto s = Handle(Geom_SurfaceOfRevolution)::DownCast(g)) {
    Surface d = blank(SurfaceKind::Revolution);
    d.frame = along(s->Location(), s->Direction());
    d.curve = static_cast<int32_t>(model.curves.size());
    model.curves.push_back(describe(s->BasisCurve()));
    return d;
  }
  if (auto s = Handle(Geom_OffsetSurface)::DownCast(g)) {
    Surface base = describe(s->BasisSurface(), uv, model);
    Surface d = blank(SurfaceKind::Offset);
    d.a = s->Offset();
    d.base = static_cast<int32_t>(model.surfaces.size());
    d.approximated = base.approximated;
    model.surfaces.push_back(std::move(base));
    return d;
  }
  return converted(g, uv);
}

}  // namespace

uint32_t define_surface(const Handle(Geom_Surface)& surface, const double uv[4], Model& model) {
  Surface d = describe(surface, uv, model);
  model.surfaces.push_back(std::move(d));
  return static_cast<uint32_t>(model.surfaces.size() - 1);
}

}  // namespace shim
