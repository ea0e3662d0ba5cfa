"""The same work with SciPy, for docs/benchmarks.md: a monotone cubic through 40
readings, the minimax straight line as a linear programme (the end values of any
kind, without a margin), and the best pair of whole ohms by trying all pairs."""

import time

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import linprog

rng = np.random.default_rng(1)
mark = np.concatenate([np.linspace(0, 1, 20), np.linspace(1, 0, 20)])
ohm = np.round(0.6 + 89 * (mark + 0.06 * np.sin(np.pi * mark)) + rng.normal(0, 0.2, 40), 1)


def curve():
    x = np.unique(mark)
    y = np.array([ohm[mark == v].mean() for v in x])
    return PchipInterpolator(x, np.maximum.accumulate(y))


def line():
    one = np.ones_like(ohm)
    target = 100 * mark
    a = np.vstack([np.column_stack([one, ohm, -one]), np.column_stack([-one, -ohm, -one])])
    return linprog([0, 0, 1], A_ub=a, b_ub=np.concatenate([target, -target]), bounds=[(None, None)] * 3, method="highs").fun


def whole_ohms():
    lower, upper = np.meshgrid(np.arange(0, 60), np.arange(80, 140), indexing="ij")
    shown = np.clip(100 * (ohm[:, None, None] - lower) / (upper - lower), 0, 100)
    return np.abs(shown - 100 * mark[:, None, None]).max(axis=0).min()


for name, work in (("curve", curve), ("minimax line (linear programme)", line), ("best whole ohms (3,600 pairs tried)", whole_ohms)):
    work()
    runs = []
    for _ in range(50):
        start = time.perf_counter()
        work()
        runs.append(time.perf_counter() - start)
    print(f"{name:40s} {1000 * np.median(runs):8.3f} ms")
