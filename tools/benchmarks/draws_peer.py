"""The Monte Carlo benchmarks with NumPy and SciPy, doing the same work as
internal/curve: an 11-point curve, its minimax line, and 100,000 draws at 101
levels with mean, standard deviation and both ends of the 95 % interval.

The inverse is a monotone cubic of mark over ohms, which SciPy evaluates in one
call; solving the cubic of ohms over mark would take it far longer."""

import time

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import linprog
from sklearn.isotonic import isotonic_regression

DRAWS = 100_000
x = np.linspace(0, 1, 11)
y = 5 + 180 * (x + 0.06 * np.sin(np.pi * x))
sd, dof, half, digit, n = 0.4, 22, 0.3, 0.05, 4
levels = np.linspace(y[0], y[-1], 101)


def line():
    one = np.ones_like(x)
    a = np.vstack([np.column_stack([one, x, -one]), np.column_stack([-one, -x, -one])])
    return linprog([0, 0, 1], A_ub=a, b_ub=np.concatenate([y, -y]), bounds=[(None, None)] * 3, method="highs").fun


def summary(marks):
    return marks.mean(axis=0), marks.std(axis=0), np.percentile(marks, [2.5, 97.5], axis=0)


def as_fitted():
    rng = np.random.default_rng(1)
    curve = PchipInterpolator(x, y)
    line()
    inverse = PchipInterpolator(y, x)
    at = inverse(levels)
    course = np.abs(curve(at) - np.interp(at, x, y))
    own = np.sqrt((sd**2 + digit**2 / 3) / n) * np.ones(101)
    meter, warmth = np.zeros(101), np.zeros(101)
    shift = sd * np.sqrt(dof / rng.chisquare(dof, DRAWS)) * rng.standard_normal(DRAWS) + half * rng.uniform(-1, 1, DRAWS)
    moved = levels[None, :] + shift[:, None]
    for reach, draw in ((course, rng.uniform(-1, 1, DRAWS)), (own, rng.standard_normal(DRAWS)), (meter, rng.uniform(-1, 1, DRAWS)), (warmth, rng.uniform(-1, 1, DRAWS))):
        moved += draw[:, None] * reach[None, :]
    return summary(np.clip(inverse(moved), 0, 1))


def redrawn(draws):
    rng = np.random.default_rng(1)
    PchipInterpolator(x, y)
    line()
    marks = np.empty((draws, 101))
    scale = sd * np.sqrt(dof / rng.chisquare(dof, draws))
    for k in range(draws):
        drawn = y + (scale[k] * rng.standard_normal(11) + digit * rng.uniform(-1, 1, 11)) / np.sqrt(n)
        if np.any(np.diff(drawn) <= 0):
            drawn = isotonic_regression(drawn) + 1e-9 * np.arange(11)
        shift = scale[k] * rng.standard_normal() + half * rng.uniform(-1, 1)
        marks[k] = PchipInterpolator(drawn, x)(levels + shift)
    return summary(np.clip(marks, 0, 1))


def timed(work, runs):
    work()
    seconds = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    return np.median(seconds)


print(f"as fitted, 100,000 draws at 101 levels: {1000 * timed(as_fitted, 5):.0f} ms")
few = 4000
print(f"redrawn, 100,000 draws at 101 levels: {1000 * timed(lambda: redrawn(few), 3) * DRAWS / few:.0f} ms (from {few} draws)")
