"""Limits of stability of milling by piecewise Chebyshev collocation of the one-period operator.

    python3 run.py            writes results/limits.json
    python3 run.py --check    computes again and compares with results/limits.json; exit 1 on deviation

The delay equation is collocated at Chebyshev points on elements that end where a tooth enters or
leaves; all multipliers come from a dense eigenvalue solver. Forces are written tooth by tooth from the
chip thickness. Nothing is shared with the program but the equation.

Needs the packages of ../requirements.txt.
"""

import json
import os
import sys
from concurrent.futures import ProcessPoolExecutor
from importlib.metadata import version
from pathlib import Path

# two processes with a thread each; more threads only wait for each other
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import scipy.linalg

RESULTS = Path(__file__).parent / "results" / "limits.json"
# points of an element; waves of the highest mode that an element may hold
POINTS, WAVES = 15, 1.0
# ratio of neighbouring depths of the scan; relative width at which a crossing counts as found
RATIO, FOUND = 1.03, 1e-7
# how far a repeated run may deviate, relative
TOLERANCE = 1e-5


def chebyshev(points):
    """Points from -1 to 1 and the matrix of differentiation."""
    n = points - 1
    x = -np.cos(np.pi * np.arange(points) / n)
    c = np.ones(points)
    c[0] = c[-1] = 2.0
    c *= (-1.0) ** np.arange(points)
    gap = x[:, None] - x[None, :] + np.eye(points)
    d = np.outer(c, 1.0 / c) / gap
    return x, d - np.diag(d.sum(axis=1))


class Case:
    """A structure, a cut and a speed; mm, N, s, rad."""

    def __init__(self, case):
        self.case = case
        self.modes = [(0, m) for m in case["modes_x"]] + [(1, m) for m in case["modes_y"]]
        n = len(self.modes)
        self.free = np.zeros((2 * n, 2 * n))
        self.force = np.zeros((2 * n, 2))
        self.move = np.zeros((2, 2 * n))
        for i, (axis, (hz, zeta, k)) in enumerate(self.modes):
            w = 2 * np.pi * hz
            self.free[2 * i, 2 * i + 1] = w
            self.free[2 * i + 1, 2 * i] = -w
            self.free[2 * i + 1, 2 * i + 1] = -2 * zeta * w
            self.force[2 * i + 1, axis] = w / k
            self.move[axis, 2 * i] = 1.0
        self.period = 60.0 / (case["rpm"] * case["teeth"])
        self.elements, self.gaps = self.divided()

    def divided(self):
        """Elements in cut (from, to in s) and the free time before each."""
        pitch = 2 * np.pi / self.case["teeth"]
        entry, leave = self.case["entry_rad"], self.case["exit_rad"]
        marks = sorted({round(a % pitch % pitch, 14) for a in (entry, leave)})
        marks.append(marks[0] + pitch)
        highest = max(m[0] for _, m in self.modes)
        elements, gaps, gap = [], [], 0.0
        for a, b in zip(marks, marks[1:]):
            if b - a < 1e-11:
                continue
            a, b = (self.period * v / pitch for v in (a, b))
            if not self.teeth_at(0.5 * (a + b)):
                gap += b - a
                continue
            count = max(1, int(np.ceil((b - a) * highest / WAVES)))
            ends = np.linspace(a, b, count + 1)
            for left, right in zip(ends, ends[1:]):
                elements.append((left, right))
                gaps.append(gap)
                gap = 0.0
        gaps[0] += gap
        return elements, gaps

    def teeth_at(self, t):
        """Angles of the teeth in cut."""
        turn = 2 * np.pi * t / (self.case["teeth"] * self.period)
        all_teeth = [(turn + 2 * np.pi * j / self.case["teeth"]) % (2 * np.pi)
                     for j in range(self.case["teeth"])]
        return [p for p in all_teeth if self.case["entry_rad"] < p < self.case["exit_rad"]]

    def feedback(self, t, element):
        """Force on the cutter per depth and displacement, tooth by tooth."""
        middle = 0.5 * sum(element)
        turn = 2 * np.pi * (t - middle) / (self.case["teeth"] * self.period)
        out = np.zeros((2, 2))
        for p in self.teeth_at(middle):
            p = p + turn
            chip = np.array([np.sin(p), np.cos(p)])
            tangential = -np.array([np.cos(p), -np.sin(p)])
            radial = -np.array([np.sin(p), np.cos(p)])
            out += self.case["kt"] * np.outer(tangential + self.case["kr"] * radial, chip)
        return out

    def prepare(self):
        """Matrices that do not depend on the depth, and the one that is multiplied by it."""
        x, d = chebyshev(POINTS)
        states = self.free.shape[0]
        block = POINTS * states
        size = block * len(self.elements)
        now, cut, then = np.zeros((size, size)), np.zeros((size, size)), np.zeros((size, size))
        for e, element in enumerate(self.elements):
            half = 0.5 * (element[1] - element[0])
            at = slice(e * block, (e + 1) * block)
            now[at, at] = np.kron(d / half, np.eye(states)) - np.kron(np.eye(POINTS), self.free)
            for i in range(POINTS):
                t = element[0] + half * (x[i] + 1)
                row = slice(e * block + i * states, e * block + (i + 1) * states)
                cut[row, row] = self.force @ self.feedback(t, element) @ self.move
            first = slice(e * block, e * block + states)
            now[first, :] = 0.0
            cut[first, :] = 0.0
            now[first, first] = np.eye(states)
            link = scipy.linalg.expm(self.free * self.gaps[e])
            end = (e * block - states) % size
            (then if e == 0 else now)[first, end:end + states] = link if e == 0 else -link
        self.now, self.cut, self.then = now, cut, then

    def multiplier(self, depth):
        """The multiplier of largest modulus."""
        operator = np.linalg.solve(self.now - depth * self.cut, self.then - depth * self.cut)
        values = np.linalg.eigvals(operator)
        return values[np.argmax(np.abs(values))]

    def limit(self):
        """The first depth that chatters, and the angle of the multiplier there."""
        self.prepare()
        low, high = self.case["from_mm"], self.case["from_mm"]
        if abs(self.multiplier(low)) >= 1:
            raise ValueError(f"unstable from the start: {self.case}")
        while high < self.case["to_mm"]:
            low, high = high, high * RATIO
            if abs(self.multiplier(high)) >= 1:
                break
        else:
            return None, None
        while high / low > 1 + FOUND:
            middle = 0.5 * (low + high)
            low, high = (low, middle) if abs(self.multiplier(middle)) >= 1 else (middle, high)
        return 0.5 * (low + high), abs(np.angle(self.multiplier(high)))


def immersion(share, up):
    swept = np.arccos(1 - 2 * share)
    return (0.0, swept) if up else (np.pi - swept, np.pi)


def cases():
    """The classic cutter at half and low immersion, and a family drawn at random."""
    k = 0.03993 * (2 * np.pi * 922.0) ** 2 / 1000.0
    classic = [[922.0, 0.011, k]]
    for both in (False, True):
        for share, up in ((0.5, False), (0.5, True), (0.1, False), (0.05, False), (0.05, True)):
            for rpm in (5600.0, 9300.0, 17500.0):
                entry, leave = immersion(share, up)
                yield dict(name=f"classic {share} {'up' if up else 'down'} {2 if both else 1}",
                           modes_x=classic, modes_y=classic if both else [], teeth=2, kt=600.0,
                           kr=1 / 3, entry_rad=entry, exit_rad=leave, rpm=rpm,
                           from_mm=0.02, to_mm=15.0)
    draw = np.random.default_rng(922)
    for index in range(40):
        teeth = int(draw.integers(1, 6))
        entry, leave = immersion(float(draw.uniform(0.04, 1.0)), bool(draw.integers(2)))
        mode = lambda: [float(draw.uniform(400, 1600)), float(draw.uniform(0.01, 0.06)),
                        float(np.exp(draw.uniform(np.log(2e3), np.log(2e4))))]
        x, y = ([mode() for _ in range(int(draw.integers(0, 3)))] for _ in range(2))
        x = x or ([mode()] if not y else [])
        waves = float(np.exp(draw.uniform(np.log(0.3), np.log(5.0))))
        highest = max(m[0] for m in x + y)
        yield dict(name=f"drawn {index}", modes_x=x, modes_y=y, teeth=teeth,
                   kt=float(draw.uniform(500, 2500)), kr=float(draw.uniform(0.05, 0.9)),
                   entry_rad=entry, exit_rad=leave, rpm=60 * highest / (waves * teeth),
                   from_mm=0.004, to_mm=15.0)


def solved(case):
    depth, theta = Case(case).limit()
    return {**case, "limit_mm": depth, "theta_rad": theta}


def compute():
    with ProcessPoolExecutor(2) as pool:
        rows = list(pool.map(solved, cases()))
    return {"made_with": {name: version(name) for name in ("numpy", "scipy")}, "cases": rows}


def check(new):
    old = json.loads(RESULTS.read_text())
    if len(old["cases"]) != len(new["cases"]):
        print("the committed results hold another number of cases; run without --check")
        return 1
    bad = 0
    for a, b in zip(old["cases"], new["cases"]):
        x, y = a["limit_mm"], b["limit_mm"]
        if (x is None) != (y is None) or x is not None and not abs(x / y - 1) <= TOLERANCE:
            bad += 1
            print(f"{a['name']}: {x} before, {y} now")
    print(f"stability reference: {bad} deviations")
    return 1 if bad else 0


def main():
    new = compute()
    if "--check" in sys.argv:
        return check(new)
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(new, indent=1) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
