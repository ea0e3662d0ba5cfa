"""The mesh benchmarks with NumPy, doing the same work as internal/tank: a ring
of 100,000 triangles and a prism of as many, tilted, their volume below 1,000
heights. Every triangle is clipped at every height, all of them at once in
arrays; heights and projected areas are prepared once."""

import time

import numpy as np


def ring(n, m, wide, tube, wobble):
    a = 2 * np.pi * np.arange(n)[:, None] / n
    b = 2 * np.pi * np.arange(m)[None, :] / m
    r = tube * (1 + wobble * np.sin(5 * a + 2 * b))
    w = wide + r * np.cos(b)
    corners = np.stack([w * np.cos(a), w * np.sin(a), r * np.sin(b)], axis=-1).reshape(-1, 3)
    i, j = (x.ravel() for x in np.meshgrid(np.arange(n), np.arange(m), indexing="ij"))
    at = lambda i, j: i % n * m + j % m
    p, q, s, t = at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)
    return corners, np.concatenate([np.stack([p, q, s], 1), np.stack([p, s, t], 1)])


def prism(n, radius, height):
    a = 2 * np.pi * np.arange(n) / n
    plan = np.stack([radius * np.cos(a), radius * np.sin(a)], 1)
    corners = np.concatenate([np.column_stack([plan, np.full(n, z)]) for z in (0, height)])
    i = np.arange(n)
    j = (i + 1) % n
    k = i[1:-1]
    zero = np.zeros_like(k)
    return corners, np.concatenate([
        np.stack([i, j, n + j], 1), np.stack([i, n + j, n + i], 1),
        np.stack([zero, k + 1, k], 1), np.stack([zero + n, n + k, n + k + 1], 1)])


def up(pitch, roll):
    p, r = np.radians([pitch, roll])
    return np.array([np.sin(p), np.cos(p) * np.sin(r), np.cos(p) * np.cos(r)])


def volumes(corners, triangles, u, heights):
    a, b, c = (corners[triangles[:, k]] for k in range(3))
    area = np.cross(b - a, c - a) @ u / 2
    z1, z2, z3 = np.sort((corners @ u)[triangles], axis=1).T
    mean = (z1 + z2 + z3) / 3
    with np.errstate(divide="ignore", invalid="ignore"):
        lower, upper = 1 / (3 * (z2 - z1) * (z3 - z1)), 1 / (3 * (z3 - z1) * (z3 - z2))
    out = np.empty(len(heights))
    with np.errstate(invalid="ignore"):
        for k, d in enumerate(heights):
            g = np.where(d <= z2, np.maximum(d - z1, 0) ** 3 * lower, d - mean + np.maximum(z3 - d, 0) ** 3 * upper)
            g = np.where(d <= z1, 0, np.where(d >= z3, d - mean, g))
            out[k] = -(area @ g)
    return out


rng = np.random.default_rng(1)
u = up(3, -2)
for name, mesh in (("ring", ring(250, 200, 0.6, 0.2, 0.1)), ("prism", prism(25_000, 0.4, 0.9))):
    z = mesh[0] @ u
    heights = rng.uniform(z.min(), z.max(), 1000)
    start = time.perf_counter()
    v = volumes(*mesh, u, heights)
    took = time.perf_counter() - start
    print(f"{name} of {len(mesh[1])} triangles, preparation and 1,000 heights: {1000 * took:.0f} ms (at the last height {v[-1]:.9f} m3)")
