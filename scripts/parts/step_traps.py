#!/usr/bin/env python3
"""Small STEP files with what readers trip over, for the tests of the part reader.

    pip install "cadquery-ocp<8" numpy
    python3 scripts/parts/step_traps.py crates/part/tests/step

| file | holds |
| --- | --- |
| turned_ap203_inch.step | a turned part in inches: plane, cylinder, cone, sphere and torus |
| kinds_ap214.step | eleven open faces, at least one of each kind of surface, whose curvature has closed forms |
| pair_ap242.step | an assembly of a base and a pin that is placed twice, once turned |
| open_ap214.step | a box whose top is missing |
| rounds_ap242.step | a ball with cross holes, a ring with a bore, a pointed cone: closed faces, poles, an apex |
"""
import math
import os
import re
import sys

from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_Sewing
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
from OCP.BRepPrimAPI import (BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder,
                             BRepPrimAPI_MakeSphere, BRepPrimAPI_MakeTorus)
from OCP.BRep import BRep_Builder
from OCP.Geom import (Geom_BezierSurface, Geom_BSplineSurface, Geom_ConicalSurface, Geom_CylindricalSurface,
                      Geom_Ellipse, Geom_OffsetSurface, Geom_Plane, Geom_SphericalSurface,
                      Geom_SurfaceOfLinearExtrusion, Geom_SurfaceOfRevolution, Geom_ToroidalSurface)
from OCP.GeomConvert import GeomConvert
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer
from OCP.TCollection import TCollection_ExtendedString
from OCP.TColgp import TColgp_Array2OfPnt
from OCP.TColStd import TColStd_Array2OfReal
from OCP.TDataStd import TDataStd_Name
from OCP.TDocStd import TDocStd_Document
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Compound, TopoDS_Shell
from OCP.XCAFApp import XCAFApp_Application
from OCP.XCAFDoc import XCAFDoc_DocumentTool
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.gp import gp_Ax1, gp_Ax2, gp_Ax3, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec

X, Y, Z = gp_Dir(1, 0, 0), gp_Dir(0, 1, 0), gp_Dir(0, 0, 1)
INCH = 25.4


def at(x, y=0.0, z=0.0):
    return gp_Ax3(gp_Pnt(x, y, z), Z, X)


def each(shape, kind, cast):
    seen, e = [], TopExp_Explorer(shape, kind)
    while e.More():
        if not any(e.Current().IsSame(o) for o in seen):
            seen.append(e.Current())
        e.Next()
    down = getattr(TopoDS, cast + "_s", getattr(TopoDS, cast, None))
    return [down(s) for s in seen]


def face(surface, u0, u1, v0, v1):
    return BRepBuilderAPI_MakeFace(surface, u0, u1, v0, v1, 1e-7).Face()


def paraboloid(x0, rx, ry, half):
    """z = -(x²/rx + y²/ry)/2 over a square, as a B-spline of degree 2: exact."""
    poles = TColgp_Array2OfPnt(1, 3, 1, 3)
    # Bezier ordinates of t -> -t²/(2 r) over [-half, half]: ends -half²/(2r), middle +half²/(2r)
    rise = [-1.0, 1.0, -1.0]
    for i in range(3):
        for j in range(3):
            z = rise[i] * half * half / (2 * rx) + rise[j] * half * half / (2 * ry)
            poles.SetValue(i + 1, j + 1, gp_Pnt(x0 + half * (i - 1), half * (j - 1), z))
    return GeomConvert.SurfaceToBSplineSurface_s(Geom_BezierSurface(poles))


def quarter_pipe(x0, radius, length):
    """A quarter of a cylinder as a rational B-spline of degree 2 x 1: exact."""
    poles, weights = TColgp_Array2OfPnt(1, 3, 1, 2), TColStd_Array2OfReal(1, 3, 1, 2)
    arc = [(radius, 0.0, 1.0), (radius, radius, math.sqrt(0.5)), (0.0, radius, 1.0)]
    for i, (y, z, w) in enumerate(arc):
        for j in range(2):
            poles.SetValue(i + 1, j + 1, gp_Pnt(x0 + length * j, y, z))
            weights.SetValue(i + 1, j + 1, w)
    return GeomConvert.SurfaceToBSplineSurface_s(Geom_BezierSurface(poles, weights))


def ellipse(x0, a, b, normal=Z, along=X):
    return Geom_Ellipse(gp_Ax2(gp_Pnt(x0, 0, 0), normal, along), a, b)


def kinds():
    """One open face of each kind and a second offset, 100 mm apart along X."""
    faces = [
        face(Geom_Plane(at(0)), 0, 20, 0, 10),
        face(Geom_CylindricalSurface(at(100), 8.0), 0.2, 2.0, 0, 15),
        # half angle 0.3 rad, radius from 5 to 5 + 10 sin 0.3
        face(Geom_ConicalSurface(at(200), 0.3, 5.0), 0.1, 2.2, 0, 10),
        face(Geom_SphericalSurface(at(300), 12.0), 0, 1.5, -0.6, 0.9),
        face(Geom_ToroidalSurface(at(400), 20.0, 6.0), 0, 1.2, 0, 2 * math.pi),
        face(paraboloid(500, 60.0, 25.0, 8.0), 0, 1, 0, 1),
        face(quarter_pipe(600, 9.0, 14.0), 0, 1, 0, 1),
        face(Geom_SurfaceOfLinearExtrusion(ellipse(700, 12.0, 7.0), Z), 0, math.pi, 0, 10),
        # an ellipse of 6 x 4 mm, 30 mm off the axis, turned by 1.1 rad
        face(Geom_SurfaceOfRevolution(Geom_Ellipse(gp_Ax2(gp_Pnt(830, 0, 0), gp_Dir(0, -1, 0), X), 6.0, 4.0),
                                      gp_Ax1(gp_Pnt(800, 0, 0), Z)), 0, 1.1, 0, math.pi),
        face(Geom_OffsetSurface(paraboloid(900, 60.0, 25.0, 8.0), 2.0), 0, 1, 0, 1),
        # written with a trimmed surface inside: not every reader knows that
        face(Geom_OffsetSurface(Geom_SurfaceOfLinearExtrusion(ellipse(1000, 12.0, 7.0), Z), 2.0), 0, math.pi, 0, 10),
    ]
    builder, all_faces = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(all_faces)
    for f in faces:
        shell = TopoDS_Shell()
        builder.MakeShell(shell)
        builder.Add(shell, f)
        builder.Add(all_faces, shell)
    return all_faces


def turned():
    """In mm; a cylinder of 1 inch radius with a conical nose, a ball on top and a fillet below."""
    body = BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(0, 0, 0), Z), INCH, INCH).Shape()
    neck = BRepPrimAPI_MakeCone(gp_Ax2(gp_Pnt(0, 0, INCH), Z), INCH, 0.5 * INCH, INCH).Shape()
    ball = BRepPrimAPI_MakeSphere(gp_Pnt(0, 0, 2 * INCH), 0.6 * INCH).Shape()
    part = BRepAlgoAPI_Fuse(BRepAlgoAPI_Fuse(body, neck).Shape(), ball).Shape()
    rim = [e for e in each(part, TopAbs_EDGE, "Edge") if lies_at(e, 0.0)]
    fillet = BRepFilletAPI_MakeFillet(part)
    for e in rim:
        fillet.Add(0.125 * INCH, e)
    return fillet.Shape()


def rounds():
    """A ball with two cross holes, a ring with a bore through its tube, a cone with its apex."""
    ball = BRepPrimAPI_MakeSphere(gp_Pnt(0, 0, 0), 15.0).Shape()
    for normal in (X, Y):
        at_side = gp_Pnt(-20, 0, 0) if normal is X else gp_Pnt(0, -20, 0)
        ball = BRepAlgoAPI_Cut(ball, BRepPrimAPI_MakeCylinder(gp_Ax2(at_side, normal), 4.0, 40.0).Shape()).Shape()
    ring = BRepPrimAPI_MakeTorus(gp_Ax2(gp_Pnt(60, 0, 0), Z), 20.0, 6.0).Shape()
    ring = BRepAlgoAPI_Cut(ring, BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(60, 20, -10), Z), 2.5, 20.0).Shape()).Shape()
    cone = BRepPrimAPI_MakeCone(gp_Ax2(gp_Pnt(120, 0, 0), gp_Dir(0.3, 0.2, 1.0)), 9.0, 0.0, 18.0).Shape()
    builder, all_parts = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(all_parts)
    for part in (ball, ring, cone):
        builder.Add(all_parts, part)
    return all_parts


def lies_at(edge, z):
    c = BRepAdaptor_Curve(edge)
    lo, hi = c.FirstParameter(), c.LastParameter()
    return all(abs(c.Value(lo + (hi - lo) * k / 4).Z() - z) < 1e-6 for k in range(5))


def open_box():
    box = BRepPrimAPI_MakeBox(gp_Pnt(0, 0, 0), gp_Pnt(30, 20, 10)).Shape()
    sewing = BRepBuilderAPI_Sewing()
    for f in each(box, TopAbs_FACE, "Face"):
        if not all(lies_at(e, 10.0) for e in each(f, TopAbs_EDGE, "Edge")):
            sewing.Add(f)
    sewing.Perform()
    return sewing.SewedShape()


def steady(path, name):
    """The same bytes whenever and wherever it is written."""
    with open(path, encoding="ascii") as f:
        text = f.read()
    text = re.sub(r"FILE_DESCRIPTION\(.*?\);", "FILE_DESCRIPTION(('%s'),'2;1');" % name, text, flags=re.S)
    text = re.sub(r"FILE_NAME\(.*?\);",
                  "FILE_NAME('%s','2026-01-01T00:00:00',(''),(''),'','','');" % os.path.basename(path), text, flags=re.S)
    text = re.sub(r"CALENDAR_DATE\([^)]*\)", "CALENDAR_DATE(2026,1,1)", text)
    text = re.sub(r"LOCAL_TIME\(\d+,\d+,[^,]*,", "LOCAL_TIME(0,0,0.,", text)
    text = re.sub(r"COORDINATED_UNIVERSAL_TIME_OFFSET\([^)]*\)", "COORDINATED_UNIVERSAL_TIME_OFFSET(0,0,.AHEAD.)", text)
    # the writer counts the files and parts it has written
    text = re.sub(r"'%s \d+\.(\d+)'" % name, r"'%s-\1'" % name, text)
    text = re.sub(r"'%s \d+'" % name, "'%s'" % name, text)
    with open(path, "w", encoding="ascii") as f:
        f.write(text)
    print(path, os.path.getsize(path), "bytes")


def settings(schema, unit, name):
    STEPControl_Writer()  # loads the static parameters
    Interface_Static.SetCVal_s("write.step.schema", schema)
    Interface_Static.SetCVal_s("write.step.unit", unit)
    Interface_Static.SetCVal_s("write.step.product.name", name)


def write(shape, folder, file, schema, name, unit="MM"):
    assert BRepCheck_Analyzer(shape).IsValid(), name
    settings(schema, unit, name)
    path, writer = os.path.join(folder, file), STEPControl_Writer()
    assert writer.Transfer(shape, STEPControl_AsIs) == IFSelect_RetDone
    assert writer.Write(path) == IFSelect_RetDone
    steady(path, name)


def named(tool, shape, name):
    label = tool.AddShape(shape, False)
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(name))
    return label


def pair(folder):
    """A base of 40 x 30 x 10 mm and a pin of radius 4 mm, 25 mm long: upright in the base, and lying."""
    settings("AP242DIS", "MM", "pair")
    document = TDocStd_Document(TCollection_ExtendedString("XmlXCAF"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    base = BRepPrimAPI_MakeBox(gp_Pnt(-20, -15, 0), gp_Pnt(20, 15, 10)).Shape()
    base = BRepAlgoAPI_Cut(base, BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(10, 0, -1), Z), 4.5, 12).Shape()).Shape()
    pin = BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(0, 0, 0), Z), 4.0, 25.0).Shape()
    whole = tool.NewShape()
    TDataStd_Name.Set_s(whole, TCollection_ExtendedString("pair"))
    upright, lying, shift = gp_Trsf(), gp_Trsf(), gp_Trsf()
    upright.SetTranslation(gp_Vec(10, 0, 0))
    lying.SetRotation(gp_Ax1(gp_Pnt(0, 0, 0), Y), math.pi / 2)
    shift.SetTranslation(gp_Vec(-40, 0, 50))
    base_label, pin_label = named(tool, base, "base"), named(tool, pin, "pin")
    tool.AddComponent(whole, base_label, TopLoc_Location())
    tool.AddComponent(whole, pin_label, TopLoc_Location(upright))
    tool.AddComponent(whole, pin_label, TopLoc_Location(shift.Multiplied(lying)))
    tool.UpdateAssemblies()
    path, writer = os.path.join(folder, "pair_ap242.step"), STEPCAFControl_Writer()
    assert writer.Transfer(document, STEPControl_AsIs)
    assert writer.Write(path) == IFSelect_RetDone
    steady(path, "pair")


def main():
    folder = sys.argv[1] if len(sys.argv) > 1 else "crates/part/tests/step"
    os.makedirs(folder, exist_ok=True)
    write(turned(), folder, "turned_ap203_inch.step", "AP203", "turned", "INCH")
    write(kinds(), folder, "kinds_ap214.step", "AP214IS", "kinds")
    write(open_box(), folder, "open_ap214.step", "AP214IS", "open")
    write(rounds(), folder, "rounds_ap242.step", "AP242DIS", "rounds")
    pair(folder)


if __name__ == "__main__":
    main()
