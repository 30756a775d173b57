"""Reference times of motion from general libraries and from a dense optimisation of our own.

    python3 run.py            writes results/*.json
    python3 run.py --check    computes again and compares with results/*.json; exit 1 on deviation

Needs the packages of ../requirements.txt.
"""

import json
import sys
from concurrent.futures import ProcessPoolExecutor
from importlib.metadata import version
from pathlib import Path

import numpy as np

import curves
import dense
import straight

RESULTS = Path(__file__).parent / "results"
# the cells of the dense optimisation; the grid points of toppra, whose error is of first order
CELLS, POINTS = 400, 32001
CLOCK = 0.03125
# how far a repeated run may deviate, relative
TOLERANCE = {"straight": 1e-9, "without_jerk": 1e-6, "with_jerk": 1e-4}


def toppra_time(curve, points):
    """Shortest time under speed and acceleration limits, rest to rest."""
    import toppra
    import toppra.algorithm
    import toppra.constraint

    toppra.setup_logging("ERROR")

    class Path(toppra.interpolator.AbstractGeometricPath):
        dof = property(lambda self: len(curve.terms))
        path_interval = property(lambda self: np.array([0.0, curve.length]))
        waypoints = property(lambda self: None)

        def __call__(self, s, order=0):
            out = curve.derivative(np.atleast_1d(s), order) * unit
            return out[0] if np.ndim(s) == 0 else out

    # its solver likes numbers near 1: time in units of 1/32 s, turning axes in degrees
    unit = np.where(curve.limits[:, 1] < 100.0, 57.3, 1.0)
    speed, acceleration = curve.limits[:, 0] * unit * CLOCK, curve.limits[:, 1] * unit * CLOCK**2
    both = lambda limit: np.column_stack([-limit, limit])
    algorithm = toppra.algorithm.TOPPRA(
        [toppra.constraint.JointVelocityConstraint(both(speed)),
         toppra.constraint.JointAccelerationConstraint(both(acceleration))],
        Path(), gridpoints=np.linspace(0.0, curve.length, points))
    _, rate, _ = algorithm.compute_parameterization(0.0, 0.0)
    return CLOCK * float(np.sum(2 * np.diff(algorithm.gridpoints) / (rate[1:] + rate[:-1])))


def curve_times(index):
    """A curve with its times, as plain data."""
    curve = curves.family()[index]
    without = toppra_time(curve, POINTS)
    with_jerk, _, _ = dense.Dense(curve, CELLS).solve(80)
    return {"name": curve.name, "length": curve.length, "slope": curve.slope,
            "terms": curve.terms, "limits": curve.limits.tolist(),
            "without_jerk_s": without, "with_jerk_s": float(with_jerk)}


def compute():
    stamp = {name: version(name) for name in ("numpy", "ruckig", "scipy", "toppra")}
    with ProcessPoolExecutor(2) as pool:
        rows = list(pool.map(curve_times, range(len(curves.family()))))
    return {
        "straight.json": {"made_with": stamp, "moves": straight.moves()},
        "curved.json": {"made_with": stamp, "points": POINTS, "cells": CELLS, "curves": rows},
    }


def deviations(old, new):
    """Names and relative deviations of every time that is further off than allowed."""
    for i, (a, b) in enumerate(zip(old["straight.json"]["moves"], new["straight.json"]["moves"])):
        yield f"move {i}", abs(a["time_s"] / b["time_s"] - 1), TOLERANCE["straight"]
    for a, b in zip(old["curved.json"]["curves"], new["curved.json"]["curves"]):
        for key in ("without_jerk", "with_jerk"):
            off = abs(a[key + "_s"] / b[key + "_s"] - 1)
            yield f"{a['name']} {key}", off, TOLERANCE[key]


def check(new):
    old = {name: json.loads((RESULTS / name).read_text()) for name in new}
    if any(len(old[n][k]) != len(new[n][k])
           for n, k in (("straight.json", "moves"), ("curved.json", "curves"))):
        print("the committed results hold another number of cases; run without --check")
        return 1
    if old["straight.json"]["made_with"] != new["straight.json"]["made_with"]:
        print("note: other library versions than those of the committed results")
    bad = [(name, off, limit) for name, off, limit in deviations(old, new) if not off <= limit]
    for name, off, limit in bad:
        print(f"{name}: off by {off:.2e}, allowed {limit:.0e}")
    print(f"motion reference: {len(bad)} deviations")
    return 1 if bad else 0


def main():
    new = compute()
    if "--check" in sys.argv:
        return check(new)
    RESULTS.mkdir(exist_ok=True)
    for name, document in new.items():
        (RESULTS / name).write_text(json.dumps(document, indent=1) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
