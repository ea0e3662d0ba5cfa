"""Volumes of analytic tanks with NumPy, for docs/benchmarks.md: ten million
heights at once of a lying cylinder with flat ends, of one with 2:1 ellipsoidal
heads, and of an upright one. The formulas are the textbook's, vectorised."""
import time

import numpy as np

n = 10_000_000
h = np.random.default_rng(1).uniform(0, 0.4, n)


def segment(h, d):
    r = d / 2
    return r * r * np.arccos((r - h) / r) - (r - h) * np.sqrt(np.maximum(0, 2 * r * h - h * h))


def timed(name, f):
    best = 1e9
    for _ in range(3):
        start = time.perf_counter()
        v = f()
        best = min(best, time.perf_counter() - start)
    print(f"NumPy {name}: {n / best / 1e6:.1f} million volumes/s, sum {v.sum():.6e}")


timed("lying cylinder, flat", lambda: 0.8 * segment(h, 0.4))
timed("lying cylinder, ellipsoidal heads", lambda: 0.8 * segment(h, 0.4) + 0.5 * np.pi * h * h * (3 * 0.2 - h) / 3)
timed("upright cylinder", lambda: np.pi * 0.04 * h)
