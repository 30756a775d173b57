"""Speed beside toppra: one path, one grid, one run.

    python3 compare_speed.py [POINTS]

Builds the example `planning_speed` in release mode and prints grid points per second of both, and
of the planner under jerk limits.
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

import curves
import run

ROOT = Path(__file__).resolve().parents[3]


def planner(curve, points):
    """Total time and points per second of the planner, without and with jerk limits."""
    s = np.linspace(0.0, curve.length, points)
    parts = [[points, len(curve.terms)], s, curve.derivative(s, 1).ravel(),
             curve.derivative(s, 2).ravel(), curve.limits.ravel()]
    with tempfile.NamedTemporaryFile(suffix=".bin") as file:
        np.concatenate(parts).astype("<f8").tofile(file.name)
        out = subprocess.run(
            ["cargo", "run", "-q", "--release", "-p", "motion", "--example", "planning_speed",
             "--", file.name], cwd=ROOT, check=True, capture_output=True, text=True).stdout
    rows = [line.split() for line in out.splitlines()]
    return {row[0]: (float(row[4]), float(row[8])) for row in rows}


def main():
    points = int(sys.argv[1]) if len(sys.argv) > 1 else 30001
    curve = curves.family()[3]
    planner(curve, 101)  # builds
    begin = time.perf_counter()
    seconds = run.toppra_time(curve, points)
    rate = points / (time.perf_counter() - begin)
    own = planner(curve, points)
    print(f"{len(curve.terms)} axes, {points} grid points")
    print(f"toppra          {seconds:.6f} s   {rate:12.0f} points/s")
    for name, (total, speed) in own.items():
        print(f"{name:15} {total:.6f} s   {speed:12.0f} points/s   x {speed / rate:.0f}")


if __name__ == "__main__":
    main()
