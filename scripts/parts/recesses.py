#!/usr/bin/env python3
"""Parts with recesses of every kind, as STEP files, for tests.

    pip install build123d
    python3 scripts/parts/recesses.py crates/part/tests/recesses

`recesses.step`: a block of 160 x 100 x 30 mm with a closed pocket 15 mm deep, corner radius 6, around
an island of 14 x 20 mm; a pocket open on one side, 10 mm deep, radius 8; a rounded window (40 x 30 mm,
radius 5) and a square one (16 mm) right through; a pocket of two levels, radii 7 and 3, 8 and 12 mm
deep; a through hole of 5 mm; a channel of 12 x 8 mm along the underside; and a step at one corner,
which is no pocket.
`drafted.step`: a pocket 18 mm deep with walls drafted by 5 degrees, outline 80 x 50 mm
with radius 10 at the top, floor fillet 3 mm.
`cap.step`: a ball of 60 mm cut by a round of 15 mm radius, its pole in the middle of the top.
`saddle.step`: a block of 24 x 24 x 15 mm, its top a saddle with radii of about 100 and 75 mm
through the origin.
`round_floor.step`: a round recess of radius 12 mm and 15 mm of wall over a hollow half ball.
"""
import re
import sys

from build123d import (Align, Axis, Box, BuildPart, BuildSketch, Compound, Cylinder, Face, Hole,
                       Location, Locations, Mode, Plane, Rectangle, RectangleRounded, Sphere,
                       Vector, export_step, extrude, fillet)

TOP = (Align.CENTER, Align.CENTER, Align.MAX)


def recesses():
    with BuildPart() as part:
        Box(160, 100, 30, align=TOP)
        with BuildSketch(Plane.XY):
            with Locations((-45, 0)):
                RectangleRounded(50, 70, 6)
            with Locations((-45, 5)):
                RectangleRounded(14, 20, 4, mode=Mode.SUBTRACT)
        extrude(amount=-15, mode=Mode.SUBTRACT)
        with BuildSketch(Plane.XY):
            with Locations((65, 25)):
                RectangleRounded(60, 40, 8)
        extrude(amount=-10, mode=Mode.SUBTRACT)
        with BuildSketch(Plane.XY):
            with Locations((15, -25)):
                RectangleRounded(40, 30, 5)
            with Locations((8, 25)):
                Rectangle(16, 16)
        extrude(amount=-30, mode=Mode.SUBTRACT)
        with BuildSketch(Plane.XY):
            with Locations((58, -25)):
                RectangleRounded(30, 40, 7)
        extrude(amount=-8, mode=Mode.SUBTRACT)
        with BuildSketch(Plane.XY.offset(-8)):
            with Locations((58, -25)):
                RectangleRounded(18, 24, 3)
        extrude(amount=-12, mode=Mode.SUBTRACT)
        with Locations((-5, -44)):
            Hole(2.5)
    channel = Box(200, 12, 8).moved(Location((0, 0, -26)))
    step = Box(20, 20, 20).moved(Location((-75, -45, 0)))
    return part.part - channel - step


def drafted():
    with BuildPart() as part:
        Box(120, 80, 30, align=TOP)
        with BuildSketch(Plane.XY):
            RectangleRounded(80, 50, 10)
        extrude(amount=-18, taper=5, mode=Mode.SUBTRACT)
        fillet(part.edges().filter_by_position(Axis.Z, -18.01, -17.99), 3)
    return part.part


def round_floor():
    return Box(60, 60, 30) - (Cylinder(12, 20).moved(Location((0, 0, 10))) + Sphere(12))


def cap():
    ball = Sphere(60).moved(Location((0, 0, -60)))
    return ball & Cylinder(15, 20)


def saddle():
    def row(x):
        return [Vector(x, y, x * x / 200 - y * y / 150) for y in range(-14, 15, 2)]
    top = Face.make_surface_from_array_of_points(
        [row(x) for x in range(-14, 15, 2)], tol=1e-5, min_deg=3, max_deg=5)
    return extrude(top, amount=15, dir=(0, 0, -1)) & Box(24, 24, 100)


def main(folder):
    for name, shape in [("recesses", recesses()), ("drafted", drafted()),
                        ("round_floor", round_floor()), ("cap", cap()),
                        ("saddle", saddle())]:
        path = f"{folder}/{name}.step"
        export_step(Compound(shape.solids()), path, timestamp="2026-01-01")
        text = open(path).read()
        header = f"FILE_NAME('{name}','2026-01-01',(''),(''),'','','');\nFILE_SCHEMA"
        text = re.sub(r"FILE_NAME\(.*?\);\s*FILE_SCHEMA", header, text, flags=re.S)
        text = re.sub(r"FILE_DESCRIPTION\(\('[^']*'\)", "FILE_DESCRIPTION(('recesses')", text)
        open(path, "w").write(text.replace("COMPOUND", name))


if __name__ == "__main__":
    main(sys.argv[1])
