"""Dense optimisation of a path under speed, acceleration and jerk limits, rest to rest.

An own method, independent of the planner's. The path is first given another parameter r in 0..1 by
s = L (10 r^3 - 15 r^4 + 6 r^5): a start from rest under limited jerk has s ~ t^3, so dr/dt is finite
and smooth at both stops and nothing is singular. With x = (dr/dt)^2, a C1 piecewise quadratic in r,
and u = x'/2 at the nodes as unknowns, the jerk of an axis is sqrt(x) (q' u' + 3 q'' u + q''' x) with
the exact derivatives by r. It is bounded at the middle of each cell (and,
so that a stop cannot be left with a kick, all over the cells next to the stops), acceleration and speed at
the nodes. J/sqrt(x) is convex in x, so its tangent is an inner bound: a sequence of linear programs,
each from the last, with a trust region on x. Every iterate keeps the limits; the time only falls.
"""

import numpy as np
from scipy import sparse
from scipy.optimize import linprog

MIDDLE = 0.5
ENDS = (0.0, 0.5 - 0.5 / np.sqrt(3.0), 0.5 + 0.5 / np.sqrt(3.0), 1.0)
END_CELLS = 3


def by_r(curve, r):
    """First, second and third derivative of the axes by r."""
    f = curve.length
    s = f * (10 * r**3 - 15 * r**4 + 6 * r**5)
    s1 = (f * 30 * (r * (1 - r)) ** 2)[:, None]
    s2 = (f * 60 * r * (1 - r) * (1 - 2 * r))[:, None]
    s3 = (f * 60 * (1 - 6 * r + 6 * r**2))[:, None]
    q1, q2, q3 = (curve.derivative(s, order) for order in (1, 2, 3))
    return q1 * s1, q2 * s1**2 + q1 * s2, q3 * s1**3 + 3 * q2 * s1 * s2 + q1 * s3


def total_time(r, x, u):
    """Time through the path: 8 Gauss points in each cell."""
    points, weights = np.polynomial.legendre.leggauss(8)
    h = np.diff(r)
    time = 0.0
    for p, w in zip(points, weights):
        f = 0.5 * (1 + p)
        inside = x[:-1] + 2 * h * f * (u[:-1] + 0.5 * f * (u[1:] - u[:-1]))
        time += np.sum(0.5 * w * h / np.sqrt(np.maximum(inside, 1e-300)))
    return time


class Dense:
    """The linear programs of one curve; unknowns are x and u at the nodes, scaled."""

    def __init__(self, curve, cells):
        self.r = np.linspace(0.0, 1.0, cells + 1)
        self.n = cells + 1
        self.h = 1.0 / cells
        speed, self.acceleration, self.jerk = curve.limits.T
        self.q1, self.q2, _ = by_r(curve, self.r)
        self.cap = np.min((speed / np.maximum(np.abs(self.q1), 1e-9)) ** 2, axis=1)
        edge = np.r_[:END_CELLS, cells - END_CELLS:cells]
        wanted = [(MIDDLE, np.arange(cells))] + [(f, edge) for f in ENDS]
        self.points = [(f, i, by_r(curve, self.r[i] + f * self.h)) for f, i in wanted]
        self.unit = np.min(self.cap)
        i = np.arange(cells)
        self.equal = self.matrix(i, [(i + 1, 1.0), (i, -1.0), (self.n + i, -self.h),
                                     (self.n + i + 1, -self.h)], cells)
        self.fixed = self.acceleration_rows()

    def matrix(self, row, entries, count):
        """A sparse block with rows `row`, entries given as (columns, values)."""
        ones = np.ones(len(row))
        return sparse.csr_matrix(
            (np.concatenate([ones * v for _, v in entries]),
             (np.tile(row, len(entries)), np.concatenate([c for c, _ in entries]))),
            shape=(count, 2 * self.n))

    def acceleration_rows(self):
        i = np.arange(self.n)
        blocks = []
        for k, a in enumerate(self.acceleration):
            one = self.matrix(i, [(i, self.q2[:, k] * self.unit / a),
                                  (self.n + i, self.q1[:, k] * self.unit / a)], self.n)
            blocks += [one, -one]
        return sparse.vstack(blocks)

    def jerk_rows(self, x, u):
        """Jerk rows with J/sqrt(x) replaced by its tangent at the present x."""
        h = self.h
        blocks, bounds = [], []
        for f, i, (d1, d2, d3) in self.points:
            from_a, from_b = 2 * h * f * (1 - 0.5 * f), h * f * f
            now = x[i] + from_a * u[i] + from_b * u[i + 1]
            root = np.sqrt(now)
            for k, j in enumerate(self.jerk):
                for sense in (1, -1):
                    cx = sense * d3[:, k] / j + 0.5 * now**-1.5
                    ca = sense * (-d1[:, k] / h + 3 * (1 - f) * d2[:, k]) / j + cx * from_a
                    cb = sense * (d1[:, k] / h + 3 * f * d2[:, k]) / j + cx * from_b
                    scale = root * self.unit
                    blocks.append(self.matrix(
                        np.arange(len(i)), [(i, cx * scale), (self.n + i, ca * scale),
                                            (self.n + i + 1, cb * scale)], len(i)))
                    bounds.append(np.full(len(i), 1.5))
        return sparse.vstack(blocks), np.concatenate(bounds)

    def start(self):
        """A steady dr/dt slow enough to keep every limit twice over."""
        worst = np.max(np.abs(self.q2) / self.acceleration)
        jerk = max(np.max(np.abs(d[2]) / self.jerk) for _, _, d in self.points)
        x = min(0.5 / worst, (0.5 / jerk) ** (2 / 3), 0.5 * self.cap.min())
        return np.full(self.n, x), np.zeros(self.n)

    def weights(self, x, u):
        """-dT/dx and -dT/du at the nodes."""
        points, w8 = np.polynomial.legendre.leggauss(8)
        wx, wu = np.zeros(self.n), np.zeros(self.n)
        for p, w in zip(points, w8):
            f = 0.5 * (1 + p)
            from_a, from_b = 2 * self.h * f * (1 - 0.5 * f), self.h * f * f
            now = x[:-1] + from_a * u[:-1] + from_b * u[1:]
            g = 0.25 * w * self.h * now**-1.5
            wx[:-1] += g
            wu[:-1] += g * from_a
            wu[1:] += g * from_b
        return wx, wu

    def solve(self, steps):
        """Total time after at most `steps` linear programs, with x and u."""
        x, u = self.start()
        best = total_time(self.r, x, u)
        growth = 3.0
        for _ in range(steps):
            rows, bounds = self.jerk_rows(x, u)
            wx, wu = self.weights(x, u)
            low, high = x / growth, np.minimum(x * growth, self.cap)
            wide = np.tile([-np.inf, np.inf], (self.n, 1))
            answer = linprog(
                -np.concatenate([wx, wu]) * self.unit / best,
                A_ub=sparse.vstack([self.fixed, rows]),
                b_ub=np.concatenate([np.ones(self.fixed.shape[0]), bounds]),
                A_eq=self.equal, b_eq=np.zeros(self.n - 1),
                bounds=np.concatenate([np.column_stack([low, high]) / self.unit, wide]),
                method="highs-ipm")
            time = np.inf
            if answer.status == 0:
                new_x, new_u = answer.x[:self.n] * self.unit, answer.x[self.n:] * self.unit
                time = total_time(self.r, new_x, new_u)
            if time >= best * (1 - 1e-7):
                growth = 1 + (growth - 1) / 4
                if growth < 1.003:
                    break
                continue
            gain = (best - time) / best
            x, u, best = new_x, new_u, time
            if gain < 3e-6:
                break
        return best, x, u
