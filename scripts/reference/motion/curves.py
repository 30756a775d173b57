"""Curved multi-axis paths with exact derivatives, from a seed.

Each axis is a sum of sines q_k(s) = sum_m c sin(w s + p); the derivatives are exact. The numbers
come from a linear congruential generator, so that any language can make the same path.
"""

import math

import numpy as np


class Curve:
    """A path of `axes` axes over 0..length; terms[k] is a list of (c, w, p), slope[k] a straight part."""

    def __init__(self, name, length, slope, terms, limits):
        self.name, self.length, self.slope, self.terms = name, length, slope, terms
        self.limits = np.array(limits, float)  # rows: speed, acceleration, jerk per axis

    def derivative(self, s, order):
        """d^order q / ds^order at s, an array of len(s) by axes."""
        s = np.asarray(s, float)
        out = np.zeros((len(s), len(self.terms)))
        for k, terms in enumerate(self.terms):
            if order == 0:
                out[:, k] += self.slope[k] * s
            if order == 1:
                out[:, k] += self.slope[k]
            for c, w, p in terms:
                out[:, k] += c * w**order * np.sin(w * s + p + order * math.pi / 2)
        return out


def numbers(seed):
    """Endless uniform numbers in 0..1 (linear congruential generator of Knuth's MMIX, from memory)."""
    state = seed
    while True:
        state = (6364136223846793005 * state + 1442695040888963407) % 2**64
        yield (state >> 11) / 2**53


def family():
    """24 curves: 2 to 5 axes, gentle to tight, linear and rotary axes."""
    curves = []
    for index in range(24):
        u = numbers(1000 + index)
        draw = lambda low, high: low + (high - low) * next(u)
        axes = 2 + index % 4
        length = draw(20.0, 120.0)
        slope, terms, limits = [], [], []
        for k in range(axes):
            rotary = k >= 3
            size = 0.02 if rotary else 1.0
            slope.append(size * draw(-1.0, 1.0))
            terms.append(
                [(size * draw(0.2, 1.0) / w, w, draw(0.0, 2 * math.pi))
                 for w in (2 * math.pi * draw(0.5, 5.0) / length, 2 * math.pi * draw(4.0, 9.0) / length)])
            if rotary:
                limits.append([draw(1.0, 6.0), draw(10.0, 40.0), draw(200.0, 2000.0)])
            else:
                limits.append([draw(100.0, 500.0), draw(1500.0, 5000.0), draw(2e4, 1e5)])
        curves.append(Curve(f"curve-{index:02}", length, slope, terms, limits))
    return curves
