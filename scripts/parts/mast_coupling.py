#!/usr/bin/env python3
"""The demo part: a coupling between the mast and the wing of a hydrofoil, as a STEP file.

    pip install "cadquery-ocp<8" numpy
    python3 scripts/parts/mast_coupling.py examples/mast-coupling/coupling.step

Part zero is the middle of the underside, Z up. A flange of 196 x 118 mm, 16 mm thick, carries a
body of 160 x 110 mm whose top is the crown: one B-spline face, radii of curvature about 420 mm
along X and 260 mm along Y with a mild ripple, trimmed by the outline with its rounded corners and
rounded off by a 3 mm fillet. Two pockets stand underneath (corner radii 8 and 6 mm, floor radius
3 mm) with a rib between them; four screw holes with counterbores go through the flange beside the
crown, which no hole breaks.
"""
import math
import os
import re
import sys

from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism
from OCP.GeomAPI import GeomAPI_PointsToBSplineSurface
from OCP.GeomAbs import GeomAbs_C2, GeomAbs_BSplineSurface
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer
from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain
from OCP.TColgp import TColgp_Array2OfPnt
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Vec

Z = gp_Dir(0, 0, 1)
LENGTH, WIDTH, HEIGHT = 160.0, 110.0, 40.0      # body with the crown
FLANGE_LENGTH, FLANGE_WIDTH, FLANGE = 196.0, 118.0, 16.0
CORNER = 14.0                                   # of the outline
BORDER_FILLET = 3.0


def crown_z(x, y):
    """Height of the crown: two radii and a ripple that makes the curvature vary."""
    return (HEIGHT - x * x / (2 * 420.0) - y * y / (2 * 260.0)
            + 0.12 * math.sin(x / 27.0) * math.cos(y / 24.0))


def box(x0, y0, z0, x1, y1, z1):
    return BRepPrimAPI_MakeBox(gp_Pnt(x0, y0, z0), gp_Pnt(x1, y1, z1)).Shape()


def cylinder(x, y, z, r, h):
    return BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(x, y, z), Z), r, h).Shape()


def cut(a, b):
    return BRepAlgoAPI_Cut(a, b).Shape()


def downcast(cast, shape):
    return getattr(TopoDS, cast + "_s", getattr(TopoDS, cast, None))(shape)


def each(shape, kind, cast):
    seen, e = [], TopExp_Explorer(shape, kind)
    while e.More():
        if not any(e.Current().IsSame(o) for o in seen):
            seen.append(e.Current())
        e.Next()
    return [downcast(cast, s) for s in seen]


def ends(edge):
    c = BRepAdaptor_Curve(edge)
    lo, hi = c.FirstParameter(), c.LastParameter()
    return [(p.X(), p.Y(), p.Z()) for p in (c.Value(lo), c.Value(0.5 * (lo + hi)), c.Value(hi))]


def fillet(shape, radius, picked):
    f = BRepFilletAPI_MakeFillet(shape)
    for e in picked:
        f.Add(radius, e)
    f.Build()
    assert f.IsDone(), "fillet failed"
    return f.Shape()


def upright(edge):
    p, _, q = ends(edge)
    return math.hypot(p[0] - q[0], p[1] - q[1]) < 1e-6 and abs(p[2] - q[2]) > 1e-6


def rounded_block(block, radius):
    return fillet(block, radius, [e for e in each(block, TopAbs_EDGE, "Edge") if upright(e)])


def crown_tool():
    n, m = 17, 13
    points = TColgp_Array2OfPnt(1, n, 1, m)
    for i in range(n):
        for j in range(m):
            x, y = -90 + 180 * i / (n - 1), -64 + 128 * j / (m - 1)
            points.SetValue(i + 1, j + 1, gp_Pnt(x, y, crown_z(x, y)))
    surface = GeomAPI_PointsToBSplineSurface(points, 3, 8, GeomAbs_C2, 1e-4).Surface()
    face = BRepBuilderAPI_MakeFace(surface, 1e-6).Face()
    return BRepPrimAPI_MakePrism(face, gp_Vec(0, 0, 60)).Shape()


def is_crown(face):
    return BRepAdaptor_Surface(face).GetType() == GeomAbs_BSplineSurface


def border_of(shape):
    crowns = [f for f in each(shape, TopAbs_FACE, "Face") if is_crown(f)]
    assert len(crowns) == 1, "the crown must be one face"
    return each(crowns[0], TopAbs_EDGE, "Edge")


def pocket(x0, x1, corner):
    """A pocket tool from below: 21 mm deep, floor radius 3 mm."""
    tool = rounded_block(box(x0, -41, -5, x1, 41, 21), corner)
    floor = [e for e in each(tool, TopAbs_EDGE, "Edge") if all(abs(p[2] - 21) < 1e-6 for p in ends(e))]
    return fillet(tool, 3.0, floor)


def coupling():
    body = rounded_block(box(-LENGTH / 2, -WIDTH / 2, 0, LENGTH / 2, WIDTH / 2, 60), CORNER)
    body = cut(body, crown_tool())
    body = fillet(body, BORDER_FILLET, border_of(body))
    flange = rounded_block(
        box(-FLANGE_LENGTH / 2, -FLANGE_WIDTH / 2, 0, FLANGE_LENGTH / 2, FLANGE_WIDTH / 2, FLANGE), CORNER)
    part = BRepAlgoAPI_Fuse(body, flange).Shape()
    part = cut(part, pocket(-68, -5, 8.0))
    part = cut(part, pocket(5, 68, 6.0))
    for x in (-89.0, 89.0):
        for y in (-38.0, 38.0):
            part = cut(part, cylinder(x, y, -1, 3.3, 30))
            part = cut(part, cylinder(x, y, FLANGE - 6.5, 5.5, 30))
    merge = ShapeUpgrade_UnifySameDomain(part, True, True, False)
    merge.Build()
    return merge.Shape()


def write(shape, path, name):
    STEPControl_Writer()  # loads the static parameters
    Interface_Static.SetCVal_s("write.step.schema", "AP242DIS")
    Interface_Static.SetCVal_s("write.step.product.name", name)
    writer = STEPControl_Writer()
    assert writer.Transfer(shape, STEPControl_AsIs) == IFSelect_RetDone
    assert writer.Write(path) == IFSelect_RetDone
    with open(path, encoding="ascii") as f:
        text = f.read()
    # the same bytes whenever and wherever it is written
    text = re.sub(r"FILE_DESCRIPTION\(.*?\);", "FILE_DESCRIPTION(('%s'),'2;1');" % name, text, flags=re.S)
    text = re.sub(r"FILE_NAME\(.*?\);",
                  "FILE_NAME('%s','2026-01-01T00:00:00',(''),(''),'','','');" % os.path.basename(path), text, flags=re.S)
    text = text.replace("'%s 1'" % name, "'%s'" % name)
    with open(path, "w", encoding="ascii") as f:
        f.write(text)


def main():
    path = sys.argv[1] if len(sys.argv) > 1 else "examples/mast-coupling/coupling.step"
    part = coupling()
    assert BRepCheck_Analyzer(part).IsValid(), "the solid is faulty"
    crowns = [f for f in each(part, TopAbs_FACE, "Face") if is_crown(f)]
    print("faces", len(each(part, TopAbs_FACE, "Face")), "B-spline faces", len(crowns))
    write(part, path, "mast_coupling")
    print(path, os.path.getsize(path), "bytes")


if __name__ == "__main__":
    main()
