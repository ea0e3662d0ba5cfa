"""The bits that nothing can go below for the simulated year of docs/history.md, from
the columns that tools/benchmarks/_history writes with -columns FOLDER. Wants
python3-numpy and python3-scipy.

Parked, a reading is the level and the sender's noise: the entropy of a normal
distribution rounded to 0.1 ohm, averaged over where between two steps the level lies,
as if the level were known. Driving, it is the level and the slosh: that of a normal
distribution as wide as the readings of that stretch of that day are about a running
mean. Nothing is counted for the level itself, which has to be found out as it goes."""

import sys

import numpy as np
from scipy.stats import norm

NOISE = {"fresh": 3.0, "waste": 3.0, "lpg": 1.5}  # in steps of 0.1 ohm
DRIVES = [(2880, 3060), (3060, 3360), (3360, 3420), (5580, 5760)]  # readings of the day


def rounded(sigma):
    """The entropy of a rounded normal distribution, in bits."""
    k = np.arange(-200, 201)
    bits = []
    for mean in np.arange(0, 1, 1 / 32):
        p = norm.cdf(k + 0.5, mean, sigma) - norm.cdf(k - 0.5, mean, sigma)
        p = p[p > 0]
        bits.append(-(p * np.log2(p)).sum())
    return float(np.mean(bits))


def bound(values, noise):
    n = len(values) // 8640 * 8640
    days = values[:n].reshape(-1, 8640).astype(float)
    total, driven = 0.0, 0
    for a, b in DRIVES:
        part = days[:, a:b]
        kernel = np.ones(31) / 31
        mean = np.array([np.convolve(np.pad(p, 15, mode="edge"), kernel, "valid") for p in part])
        sigma = np.sqrt(((part - mean) ** 2).mean(axis=1) + noise * noise / 1e6)
        total += np.sum(np.maximum(0.5 * np.log2(2 * np.pi * np.e * sigma * sigma), rounded(noise))) * (b - a)
        driven += b - a
    parked = rounded(noise)
    all_bits = (total / len(days) + parked * (8640 - driven)) / 8640
    return parked / 8, all_bits / 8


for name, noise in NOISE.items():
    values = np.fromfile(f"{sys.argv[1]}/{name}.values", dtype="<i8")
    parked, whole = bound(values, noise)
    print(f"{name}: parked {parked:.3f}, the year {whole:.3f} bytes a reading at the least")
