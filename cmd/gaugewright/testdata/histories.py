"""Makes histories of level senders with the truth beside them.

The physics is from textbooks and shares nothing with the program it tests:

- A tank is a box. The liquid in it swings as a pendulum does whose rest
  position is the slope -a/g of the surface under an acceleration a, with the
  frequency of the first mode of a rectangular basin, w^2 = g*k*tanh(k*h),
  k = pi/length (linear theory of waves on water of depth h), and 2 to 6 % of
  critical damping. What the float sees is the slope times its distance from the
  middle of the tank, lengthwise and across.
- A float has friction: it stands still until the surface has moved by a little
  (backlash), and follows with a lag of a fraction of a second.
- The ohms lie on a straight line between the ends; they are read with noise and
  in steps.
- A vehicle in town speeds up by 1 to 2.5 m/s2, brakes by 1.5 to 3.5, turns by
  1.5 to 3; on a motorway it hardly does; a rough track shakes and leans.
- Water is drawn by taps at 3 to 12 L/min, gas and fuel by so much an hour; a
  tank is filled in 2 to 10 minutes.

The truth is the level that would be there without slosh: what is in the tank,
as a share of it, at the moment of the reading.

    histories.py --out FOLDER [--seeds 1,2,3] [--kinds town,still]

writes KIND-SEED.csv and KIND-SEED.truth.csv and prints a list of them as JSON,
with the arguments that the program needs. Without arguments the same is asked
for as JSON on standard input: {"out":, "seeds":, "kinds":, "part": [which, of]}.
"""

import json
import math
import os
import sys
from datetime import datetime, timezone

import numpy as np

G = 9.80665


class Draws(np.random.Generator):
    """Random numbers that know their seed."""

    def __init__(self, seed, entropy):
        super().__init__(np.random.PCG64(np.random.SeedSequence(entropy)))
        self.seed = seed


class Vehicle:
    """A tank, its sender and what happens to it, from second 0 on."""

    def __init__(self, rng, **o):
        self.rng = rng
        self.capacity = o.get("capacity", 200.0)  # L
        self.lower, self.upper = o.get("ends", (10.0, 180.0))
        self.length = o.get("length", rng.uniform(0.6, 1.1))  # m
        self.width = o.get("width", rng.uniform(0.4, 0.7))
        self.height = o.get("height", rng.uniform(0.28, 0.45))
        self.x = rng.uniform(0.04, 0.14) * rng.choice([-1, 1])  # of the float, m from the middle
        self.y = rng.uniform(0.02, 0.08) * rng.choice([-1, 1])
        self.damping = rng.uniform(0.02, 0.06)
        self.noise = o.get("noise", 0.1)  # ohm
        self.step = o.get("step", 0.01)
        # of the height, either way: odd seeds have a float without friction
        self.backlash = o.get("backlash", 0.0 if rng.seed % 2 else 0.002)
        self.start = o.get("level", rng.uniform(0.55, 0.9))
        self.flows = []  # (from, to, share per second)
        self.trips = []  # (from, to, kind)

    # what is in it

    def flow(self, begin, seconds, litres):
        self.flows.append((begin, begin + seconds, litres / self.capacity / seconds))

    def truth(self, t):
        level = np.full(len(t), self.start)
        for a, b, rate in self.flows:
            level += rate * (np.clip(t, a, b) - a)
        return np.clip(level, 0, 1)

    # how it moves

    def moving(self, t):
        """While a trip lasts, and for the half minute in which the surface comes to rest."""
        m = np.zeros(len(t), bool)
        for a, b, _ in self.trips:
            m |= (t >= a) & (t < b + 30)
        return m

    def seen(self, t):
        """What the float shows at the times t, as a share of the height."""
        true = self.truth(t)
        out = true.copy()
        for a, b, kind in self.trips:
            i = np.nonzero((t >= a) & (t < b + 120))[0]
            if len(i):
                out[i] += self.slosh(a, b, kind, t[i], float(true[i].mean()))
        # The float is held by the ends of its travel, and by friction.
        out = np.clip(out, 0, 1)
        return np.clip(follow(out, self.backlash), 0, 1)

    def slosh(self, a, b, kind, t, level):
        dt = 0.05
        n = int((b - a + 120) / dt)
        if kind == "noise":
            out = smooth(self.rng, n, dt, 0.1, self.rng.uniform(0.02, 0.06))
            out[int((b - a) / dt):] = 0
            return np.interp(t - a, np.arange(n) * dt, out)
        if kind in ("white", "tails", "sines"):
            size, rng = self.rng.uniform(0.02, 0.08), self.rng
            if kind == "white":
                out = rng.normal(0, size, len(t))
            elif kind == "tails":
                out = rng.laplace(0, size / 1.4, len(t))
            else:
                out = size * (np.sin(2 * math.pi * rng.uniform(0.4, 0.6) * t + 1) + 0.6 * np.sin(2 * math.pi * rng.uniform(0.08, 0.15) * t))
            return np.where(t < b, out, 0)
        along, across, slope, lean = drive(self.rng, kind, int((b - a) / dt), n, dt)
        depth = max(level * self.height, 0.03)
        out = np.zeros(n)
        for acc, lying, size, offset in ((along, slope, self.length, self.x), (across, lean, self.width, self.y)):
            k = math.pi / size
            w = math.sqrt(G * k * math.tanh(k * depth))
            swing = pendulum(-(acc / G + lying), w, self.damping, dt)
            # A surface can't stand steeper than it does before it breaks.
            swing = 0.5 * np.tanh(swing / 0.5)
            out += swing * offset
            # The second mode, weaker: along a basin it is even, and seen anywhere.
            w2 = math.sqrt(G * 2 * k * math.tanh(2 * k * depth))
            out += 0.01 * pendulum(-(acc / G), w2, self.damping, dt)
        # the float's own lag
        lag = np.exp(-np.arange(0, 2, dt) / 0.25)
        out = np.convolve(out, lag / lag.sum())[:n]
        return np.interp(t - a, np.arange(n) * dt, out) / self.height

    def ohms(self, t):
        share = self.seen(t)
        ohm = self.lower + share * (self.upper - self.lower)
        ohm = ohm + self.rng.normal(0, self.noise, len(t))
        return np.round(ohm / self.step) * self.step


def follow(x, width):
    """A follower with friction: it moves only when it is pushed by more than width."""
    out = np.empty(len(x))
    at = x[0]
    for i, v in enumerate(x):
        if v > at + width:
            at = v - width
        elif v < at - width:
            at = v + width
        out[i] = at
    return out


def pendulum(rest, w, zeta, dt):
    """The answer of q'' + 2 zeta w q' + w^2 q = w^2 rest, from rest, by its impulse response."""
    n = len(rest)
    wd = w * math.sqrt(1 - zeta * zeta)
    t = np.arange(0, min(n * dt, 8 / (zeta * w)), dt)
    h = w * w / wd * np.exp(-zeta * w * t) * np.sin(wd * t) * dt
    size = 1 << (n + len(h)).bit_length()
    return np.fft.irfft(np.fft.rfft(rest, size) * np.fft.rfft(h, size), size)[:n]


def smooth(rng, n, dt, corner, sd):
    """Noise with a corner in Hz and a standard deviation."""
    f = np.fft.rfftfreq(n, dt)
    z = rng.normal(size=len(f)) + 1j * rng.normal(size=len(f))
    z *= 1 / (1 + (f / corner) ** 2)
    z[0] = 0
    x = np.fft.irfft(z, n)
    return sd * x / x.std()


def wave(rng, n, dt, centre, sd):
    """Waves of a narrow band of frequencies, in groups."""
    f = np.fft.rfftfreq(n, dt)
    z = rng.normal(size=len(f)) + 1j * rng.normal(size=len(f))
    z *= np.exp(-0.5 * ((f - centre) / (0.12 * centre)) ** 2)
    x = np.fft.irfft(z, n)
    return sd * x / x.std()


def drive(rng, kind, n, whole, dt):
    """Accelerations along and across, m/s2, and the slopes of the road, of a drive of n steps."""
    along, across = np.zeros(whole), np.zeros(whole)
    slope, lean = np.zeros(whole), np.zeros(whole)
    if kind == "town":
        i = 0
        while i < n:
            up, hold, down, stop = rng.uniform(4, 9), rng.exponential(25) + 3, rng.uniform(3, 7), rng.exponential(15) + 1
            a = rng.uniform(1, 2.5)
            for seconds, acc in ((up, a), (hold, 0), (down, -a * up / down), (stop, 0)):
                steps = int(seconds / dt)
                end = min(n, i + steps)
                along[i:end] = acc
                if acc == 0 and seconds == hold and rng.random() < 0.6 and hold > 8:
                    bend = i + int(rng.uniform(0, hold - 6) / dt)
                    across[bend:min(n, bend + int(rng.uniform(2.5, 6) / dt))] = rng.uniform(1.5, 3) * rng.choice([-1, 1])
                i = end
        shake, hills = 0.25, 0.015
    elif kind == "motorway":
        along[:n] += smooth(rng, n, dt, 0.03, 0.25)
        for _ in range(int(n * dt / 90)):
            i, steps = int(rng.uniform(0, max(1, n - 8 / dt))), int(rng.uniform(3, 6) / dt)
            side = rng.choice([-1, 1]) * rng.uniform(0.6, 1.2)
            across[i:min(n, i + steps // 2)] += side
            across[i + steps // 2:min(n, i + steps)] -= side
        shake, hills = 0.2, 0.015
    elif kind in ("swell", "anchor"):  # a boat: it rolls and pitches with the waves
        size = 1.0 if kind == "swell" else 0.12
        for out, angle, period in ((lean, 7, 5.5), (slope, 3, 4.2)):
            out[:n] += size * wave(rng, n, dt, 1 / period, math.radians(angle) / 2)
        shake, hills = 0.1, 0.002
    else:  # a rough track
        along[:n] += smooth(rng, n, dt, 0.6, 0.9)
        across[:n] += smooth(rng, n, dt, 0.6, 0.9)
        shake, hills = 0.6, 0.03
        lean[:n] += smooth(rng, n, dt, 0.05, 0.04)
    along[:n] += smooth(rng, n, dt, 3, shake)
    across[:n] += smooth(rng, n, dt, 3, shake)
    slope[:n] += smooth(rng, n, dt, 0.008, hills)
    # Nothing begins or ends within a step.
    ease = np.ones(6) / 6
    return tuple(np.convolve(v, ease, "same") for v in (along, across, slope, lean))


# ------------------------------------------------------------------ a history


class History:
    def __init__(self, vehicle, seconds, every, begin, unix=False, jitter=0.0):
        self.v = vehicle
        rng = vehicle.rng
        t = np.arange(0, seconds, every, dtype=float)
        if jitter:
            t = np.sort(t + rng.uniform(-jitter, jitter, len(t)) * every)
            t -= min(0, t[0])
        self.t = np.round(t, 3)
        self.every = every
        self.begin = begin  # Unix seconds
        self.unix = unix
        self.ohm = vehicle.ohms(self.t)
        self.true = vehicle.truth(self.t)
        self.moving = vehicle.moving(self.t)
        self.broken = np.zeros(len(t), bool)
        self.spike = np.zeros(len(t), bool)
        self.text = [None] * len(t)  # a value that stands in the place of the ohms
        self.keep = np.ones(len(t), bool)
        self.shift = np.zeros(len(t))  # of the written clock
        self.order = np.arange(len(t), dtype=float)  # in which the rows stand
        self.twice = np.zeros(len(t), bool)
        self.for_good = np.zeros(len(t), bool)  # the clock is set back and stays so

    def between(self, a, b):
        return np.nonzero((self.t >= a) & (self.t < b))[0]

    def fail(self, a, b, value):
        """The sender is broken: value is what is read, a text or a function."""
        for i in self.between(a, b):
            self.broken[i] = True
            v = value(i) if callable(value) else value
            self.text[i] = v

    def gap(self, a, b):
        self.keep[self.between(a, b)] = False

    def spikes(self, rate, values):
        rng = self.v.rng
        for i in np.nonzero(rng.random(len(self.t)) < rate)[0]:
            self.spike[i] = True
            self.text[i] = "%.2f" % values(i)

    def stamp(self, i):
        at = self.begin + self.t[i] + self.shift[i]
        if self.unix:
            return ("%.3f" % at) if self.every < 1 or self.t[i] % 1 else "%d" % at
        d = datetime.fromtimestamp(math.floor(at), timezone.utc)
        part = round((at - math.floor(at)) * 1000)
        s = d.strftime("%Y-%m-%dT%H:%M:%S")
        return s + (".%03dZ" % part if part else "Z")

    def write(self, folder, name):
        rows = sorted(np.nonzero(self.keep)[0], key=lambda i: (self.order[i], i))
        with open(os.path.join(folder, name + ".csv"), "w") as f, open(os.path.join(folder, name + ".truth.csv"), "w") as g:
            f.write("time,ohm\n")
            g.write("time,level_pct,moving,broken,spike,clock,written\n")
            for i in rows:
                value = self.text[i] if self.text[i] is not None else "%.2f" % self.ohm[i]
                for _ in range(2 if self.twice[i] else 1):
                    f.write("%s,%s\n" % (self.stamp(i), value))
            for i in np.nonzero(self.keep)[0]:
                clock = 2 if self.for_good[i] else int(self.shift[i] != 0)
                at = self.begin + self.t[i]
                g.write("%.3f,%.4f,%d,%d,%d,%d,%.3f\n" % (at, 100 * self.true[i], self.moving[i], self.broken[i], self.spike[i], clock, at + self.shift[i]))
        v = self.v
        return {
            "file": name + ".csv", "truth": name + ".truth.csv", "every": self.every, "friction_pct": 100 * v.backlash,
            "args": ["--lower", "%g" % v.lower, "--upper", "%g" % v.upper, "--capacity", "%gL" % v.capacity],
        }


DAY, HOUR, MINUTE = 86400.0, 3600.0, 60.0


def slow_use(v, a, b, share_per_hour):
    v.flow(a, b - a, v.capacity * share_per_hour * (b - a) / HOUR)


def taps(v, a, b, per_hour):
    rng, t = v.rng, a
    while True:
        t += rng.exponential(HOUR / per_hour)
        seconds = rng.uniform(20, 180)
        if t + seconds > b:
            return
        litres = rng.uniform(3, 12) * seconds / 60
        if float(v.truth(np.array([b]))[0]) * v.capacity < litres + 0.08 * v.capacity:
            return
        v.flow(t, seconds, -litres)
        t += seconds


def fill(v, at, to=None):
    rng = v.rng
    now = float(v.truth(np.array([at]))[0])
    to = to or rng.uniform(0.85, 0.97)
    if to > now:
        v.flow(at, rng.uniform(2, 10) * MINUTE, (to - now) * v.capacity)


def day(v, begin=0.0, rough=True):
    """A day of a vehicle that is lived in: water drawn mornings and evenings, drives, a refill."""
    rng = v.rng
    b = begin
    slow_use(v, b, b + DAY, -rng.uniform(0.0005, 0.002))
    taps(v, b + 7 * HOUR, b + 8.5 * HOUR, 6)
    v.trips.append((b + 9 * HOUR, b + 9 * HOUR + rng.uniform(20, 40) * MINUTE, "town"))
    v.trips.append((b + 10 * HOUR, b + 10 * HOUR + rng.uniform(60, 120) * MINUTE, "motorway"))
    if rough:
        v.trips.append((b + 12.5 * HOUR, b + 12.5 * HOUR + rng.uniform(10, 30) * MINUTE, "rough"))
    taps(v, b + 13.2 * HOUR, b + 14 * HOUR, 4)
    fill(v, b + 15 * HOUR)
    v.trips.append((b + 16 * HOUR, b + 16 * HOUR + rng.uniform(20, 50) * MINUTE, "town"))
    taps(v, b + 18 * HOUR, b + 22 * HOUR, 3)


# ------------------------------------------------------------------ the kinds


def begin_of(rng):
    return 1772352000 + int(rng.integers(0, 200 * 86400))


def make(kind, seed):
    rng = Draws(seed, [seed, sum(ord(c) * 31 ** i for i, c in enumerate(kind)) % 2**31])
    begin = begin_of(rng)
    unix = bool(rng.random() < 0.4)

    def history(v, seconds, every, **o):
        return History(v, seconds, every, begin, unix, **o)

    if kind == "parked":
        v = Vehicle(rng)
        slow_use(v, 0, 2 * DAY, -rng.uniform(0.003, 0.01))
        return history(v, 2 * DAY, 10)
    if kind == "still":
        v = Vehicle(rng, level=rng.uniform(0.05, 0.95))
        return history(v, 5 * DAY, 30)
    if kind == "tap":
        v = Vehicle(rng)
        taps(v, 10 * MINUTE, 6 * HOUR, 4)
        return history(v, 6 * HOUR, 5)
    if kind == "refill":
        v = Vehicle(rng, level=rng.uniform(0.05, 0.4))
        fill(v, rng.uniform(0.5, 2) * HOUR)
        return history(v, 4 * HOUR, float(rng.choice([2, 5, 10])))
    if kind == "gapfill":
        v = Vehicle(rng, level=rng.uniform(0.1, 0.4))
        v.trips.append((0.5 * HOUR, 1.2 * HOUR, "town"))
        at = 1.5 * HOUR
        fill(v, at + 4 * MINUTE)
        long = rng.uniform(20, 120) * MINUTE
        v.trips.append((at + long + 5 * MINUTE, at + long + 45 * MINUTE, "motorway"))
        h = history(v, 6 * HOUR, 5)
        h.gap(at, at + long)
        return h
    if kind in ("town", "motorway", "rough"):
        v = Vehicle(rng)
        hours = {"town": 2, "motorway": 3, "rough": 1.5}[kind]
        v.trips.append((10 * MINUTE, (hours - 0.3) * HOUR, kind))
        slow_use(v, 0, hours * HOUR, -rng.uniform(0.0, 0.03))
        return history(v, hours * HOUR, (1, 10, 2, 5, 20)[seed % 5])
    if kind == "boat":
        v = Vehicle(rng)
        v.trips.append((HOUR, 4 * HOUR, "swell"))
        taps(v, 4.2 * HOUR, 6 * HOUR, 4)
        v.trips.append((6 * HOUR, 8 * HOUR, "swell"))
        return history(v, 9 * HOUR, float(rng.choice([1, 2, 5])))
    if kind == "heavy":  # a long tank whose float stands near its end
        v = Vehicle(rng, length=rng.uniform(1.2, 1.8), height=0.25)
        v.x = 0.4 * v.length
        v.trips.append((10 * MINUTE, 60 * MINUTE, "town"))
        v.trips.append((70 * MINUTE, 100 * MINUTE, "rough"))
        return history(v, 2 * HOUR, float(rng.choice([1, 2, 5])))
    if kind == "plain":  # no physics at all: noise of several kinds, as others simulate it
        v = Vehicle(rng)
        v.trips.append((20 * MINUTE, 110 * MINUTE, ("noise", "white", "tails", "sines")[seed % 4]))
        slow_use(v, 0, 3 * HOUR, -rng.uniform(0.0, 0.05))
        fill(v, 2.5 * HOUR)
        return history(v, 3 * HOUR, float(rng.choice([1, 2, 5, 10])))
    if kind == "drain":  # someone opens the drain, or steals
        v = Vehicle(rng)
        at = rng.uniform(0.5, 2) * HOUR
        v.flow(at, rng.uniform(4, 20) * MINUTE, -(v.start - 0.03) * v.capacity)
        return history(v, 4 * HOUR, float(rng.choice([5, 10, 30])))
    if kind == "ends":  # empty, filled to the brim, driven full
        v = Vehicle(rng, level=rng.uniform(0, 0.02), noise=0.5)
        v.flow(HOUR, 6 * MINUTE, (rng.uniform(0.98, 1.0) - v.start) * v.capacity)
        v.trips.append((2 * HOUR, 3 * HOUR, "town"))
        return history(v, 4 * HOUR, float(rng.choice([2, 5, 10])))
    if kind == "burn":  # an engine drinks while it drives
        v = Vehicle(rng, level=0.95)
        v.trips.append((20 * MINUTE, 5 * HOUR, rng.choice(["motorway", "town"])))
        slow_use(v, 20 * MINUTE, 5 * HOUR, -rng.uniform(0.06, 0.15))
        return history(v, 5.5 * HOUR, float(rng.choice([1, 5, 10])))
    if kind == "mixed":
        v = Vehicle(rng)
        day(v)
        return history(v, DAY, 5)
    if kind == "falling":
        v = Vehicle(rng, ends=(240.0, 33.0))
        day(v)
        return history(v, DAY, 5, jitter=0.1)
    if kind == "coarse":
        v = Vehicle(rng, ends=(0.0, 90.0), step=1.0, noise=0.3)
        day(v)
        return history(v, DAY, 10)
    if kind == "slow60":
        v = Vehicle(rng)
        day(v)
        return history(v, 2 * DAY, 60, jitter=0.02)
    if kind == "fast":
        v = Vehicle(rng, noise=0.3)
        v.trips.append((8 * MINUTE, 30 * MINUTE, "town"))
        return history(v, 40 * MINUTE, 0.2)
    if kind == "noisy":
        v = Vehicle(rng, noise=1.5)
        day(v)
        return history(v, DAY, 5, jitter=0.3)
    if kind == "spikes":
        v = Vehicle(rng)
        day(v)
        h = history(v, DAY, 5)
        lo, hi = min(v.lower, v.upper), max(v.lower, v.upper)
        h.spikes(0.004, lambda i: rng.uniform(lo, hi))  # within the span
        h.spikes(0.001, lambda i: rng.uniform(hi * 1.1, hi * 3))
        return h
    if kind == "gaps":
        v = Vehicle(rng)
        day(v)
        h = history(v, DAY, 5)
        for _ in range(12):
            a = rng.uniform(0, DAY)
            h.gap(a, a + rng.uniform(1, 60) * MINUTE)
        return h
    if kind == "open":
        v = Vehicle(rng)
        day(v)
        h = history(v, DAY, 5)
        for value in ("99999", "500.00", "", "inf", "99999.0"):
            a = rng.uniform(0.5 * HOUR, DAY - 2 * HOUR)
            h.fail(a, a + rng.uniform(1, 40) * MINUTE, value)
        return h
    if kind == "short":
        v = Vehicle(rng)
        day(v)
        h = history(v, DAY, 5)
        for _ in range(4):
            a = rng.uniform(0.5 * HOUR, DAY - 2 * HOUR)
            h.fail(a, a + rng.uniform(1, 40) * MINUTE, lambda i: "%.2f" % rng.uniform(0, 0.4))
        return h
    if kind in ("short0", "shortfull"):  # where a short reads as empty, or as full
        v = Vehicle(rng, ends=(0.0, 90.0) if kind == "short0" else (90.0, 0.0))
        day(v)
        h = history(v, DAY, 5)
        for _ in range(4):
            a = rng.uniform(0.5 * HOUR, DAY - 2 * HOUR)
            level = h.true[h.between(a, a + 40 * MINUTE)]
            if (level.min() if kind == "short0" else 1 - level.max()) < 0.15:
                continue  # nobody can tell a tank that is as good as empty, or full, from a short
            h.fail(a, a + rng.uniform(1, 40) * MINUTE, lambda i: "%.2f" % rng.uniform(0, 0.3))
        return h
    if kind == "flicker":
        v = Vehicle(rng)
        day(v)
        h = history(v, DAY, 5)
        for _ in range(3):
            a = rng.uniform(0.5 * HOUR, DAY - 2 * HOUR)
            end = a + rng.uniform(3, 20) * MINUTE
            while a < end:  # on and off, some readings each
                b = a + rng.uniform(5, 40)
                h.fail(a, b, lambda i: "99999" if rng.random() < 0.8 else "0.20")
                a = b + rng.uniform(5, 40)
        return h
    if kind == "clock":
        v = Vehicle(rng)
        day(v)
        h = history(v, DAY, 10)
        clocks(h)
        return h
    if kind == "all":
        v = Vehicle(rng, noise=0.3)
        day(v)
        day(v, DAY)
        h = history(v, 2 * DAY, 5, jitter=0.05)
        lo, hi = min(v.lower, v.upper), max(v.lower, v.upper)
        h.spikes(0.002, lambda i: rng.uniform(lo, hi))
        h.spikes(0.0005, lambda i: rng.uniform(hi * 1.1, hi * 3))
        for value in ("99999", "", "0.10"):
            a = rng.uniform(0.5 * HOUR, 2 * DAY - 2 * HOUR)
            h.fail(a, a + rng.uniform(2, 60) * MINUTE, value)
        for _ in range(6):
            a = rng.uniform(0, 2 * DAY)
            h.gap(a, a + rng.uniform(1, 60) * MINUTE)
        clocks(h)
        return h
    raise SystemExit("no kind %r; there are: %s" % (kind, " ".join(KINDS)))


def clocks(h):
    """Faults of the clock and of the order, a bit of each."""
    rng, n = h.v.rng, len(h.t)

    def block(longest):
        i = int(rng.integers(n // 20, n - n // 10))
        return np.arange(i, i + int(rng.integers(1, longest)))

    for i in rng.integers(0, n, 6):  # never set
        h.shift[i] = rng.uniform(0, 5000) - (h.begin + h.t[i])
    i = block(30)
    h.shift[i] = rng.uniform(0, 100) - h.begin - h.t[i[0]]
    for i in rng.integers(0, n, 4):  # 2100
        h.shift[i] = 4102444800 + rng.uniform(0, 1e8) - h.begin
    h.twice[rng.random(n) < 0.01] = True
    for i in rng.integers(0, n - 1, 30):  # swapped
        h.order[i], h.order[i + 1] = h.order[i + 1], h.order[i]
    for i in rng.integers(0, n, 10):  # in late by a minute
        h.order[i] += 60 / h.every + 0.5
    i = block(40)  # ahead for a while
    h.shift[i] = rng.uniform(600, 86400 * 3)
    i = block(40)  # behind for a while
    h.shift[i] = -rng.uniform(600, 86400 * 3)
    if rng.random() < 0.5:  # set back for good, near the end
        i = np.arange(n - int(rng.integers(n // 50, n // 12)), n)
        h.shift[i] += -rng.uniform(200, 1500)
        h.for_good[i] = True
    h.shift = np.round(h.shift)


KINDS = ["parked", "still", "tap", "refill", "gapfill", "town", "motorway", "rough", "boat", "heavy", "plain", "drain", "ends", "burn", "mixed", "falling", "coarse",
         "slow60", "fast", "noisy", "spikes", "gaps", "open", "short", "short0", "shortfull", "flicker", "clock", "all"]


def main():
    given = {}
    if "--out" in sys.argv:
        words = sys.argv[1:]
        given = {words[i].lstrip("-"): words[i + 1] for i in range(0, len(words), 2)}
        given["seeds"] = [int(s) for s in given.get("seeds", "1").split(",")]
        given["kinds"] = [k for k in given.get("kinds", "").split(",") if k]
    else:
        given = json.load(sys.stdin)
    out = []
    part, parts = given.get("part", (0, 1))  # every so manyth kind
    for kind in (given.get("kinds") or KINDS)[part::parts]:
        for seed in given["seeds"]:
            h = make(kind, seed)
            out.append({"kind": kind, "seed": seed, **h.write(given["out"], "%s-%d" % (kind, seed))})
    print(json.dumps(out))


main()
