"""Makes histories of tanks that are used, filled, robbed and left to leak, with
what truly happened beside them.

It shares nothing with the program it tests, and takes for granted:

- What is in a tank is what was in it, less what flowed out, plus what flowed in;
  every flow is even while it lasts. Nothing flows out of an empty tank.
- A sender turns the level into ohms along a straight line between two ends. Its
  float may keep back by some tenths of a point (friction), may show steps, and may
  stick; its ohms are read with noise and to a digit.
- While a vehicle moves, or always where a history is to be a rough one, the
  reading sways: white noise, a sum of sines, or a damped oscillator pushed at
  random (the second-order autoregressive process of the textbooks).
- The sun warms a tank and its sender by day, so the reading swings with the day:
  a sine, a lagged one with a steeper rise, sunshine cut off at night, and clouds.
- People use water at some hours more than at others (taps opened at random), cook
  in the evening or not, run a refrigerator that switches on and off.
- The future is drawn from the same habits as the past, many times over; nothing
  is filled in any more.

flows.py --out FOLDER [--seeds 1,2,3] [--kinds taps,still-sun] [--least 60]

writes KIND-SEED.csv (time, ohm) and KIND-SEED.truth.json, and prints a list of
them as JSON with the arguments that the program needs. Without arguments the same
is asked for as JSON on standard input: {"out":, "seeds":, "kinds":, "part":
[which, of], "least": seconds}. least is the shortest interval between readings
that a history may have; shorter ones are made longer, so that it has fewer rows.
"""

import json
import math
import os
import sys
import zlib
from datetime import datetime, timedelta, timezone

import numpy as np

DAY, HOUR, MINUTE = 86400.0, 3600.0, 60.0
NEVER = 1e6  # hours
FUTURES = 24


# ------------------------------------------------------------------ flows


class Flows:
    """Litres in and out, each even over its time; what is in the tank at a time."""

    def __init__(self, start):
        self.start = start
        self.a, self.b, self.litres = [], [], []
        self.knots = None

    def add(self, a, seconds, litres):
        self.a.append(float(a))
        self.b.append(float(a + max(seconds, 1e-3)))
        self.litres.append(float(litres))
        self.knots = None

    def extend(self, other):
        for a, d, l in other:
            self.add(a, d, l)

    def _prepare(self):
        a, b, l = np.array(self.a), np.array(self.b), np.array(self.litres)
        if not len(a):
            self.knots, self.sum = np.array([0.0, 1.0]), np.array([0.0, 0.0])
            return
        rate = l / (b - a)
        at = np.concatenate([a, b])
        change = np.concatenate([rate, -rate])
        order = np.argsort(at, kind="stable")
        at, change = at[order], change[order]
        speed = np.cumsum(change)
        self.knots = at
        self.sum = np.concatenate([[0.0], np.cumsum(speed[:-1] * np.diff(at))])

    def litres_at(self, t):
        if self.knots is None:
            self._prepare()
        return self.start + np.interp(t, self.knots, self.sum)

    def first_below(self, litres, after):
        """When there are fewer litres for the first time after a moment."""
        if self.knots is None:
            self._prepare()
        t = np.concatenate([[after], self.knots[self.knots > after]])
        v = self.litres_at(t)
        i = np.nonzero(v <= litres)[0]
        if not len(i):
            return None
        i = i[0]
        if i == 0:
            return after
        part = (v[i - 1] - litres) / (v[i - 1] - v[i])
        return float(t[i - 1] + part * (t[i] - t[i - 1]))


# ------------------------------------------------------------------ habits
# A habit gives the flows of a stretch: a list of (start, seconds, litres), litres
# below zero. Its times are seconds after local midnight of day 0.


class Constant:
    def __init__(self, per_day):
        self.per_day = per_day

    def mean(self):
        return self.per_day

    def flows(self, rng, day, weekday):
        return [(day * DAY, DAY, -self.per_day)]


class Taps:
    """A tap opened at random, more often at some hours; some days see more of it."""

    def __init__(self, per_day, rng, night=0.02, each=None, days=None, vary=0.25):
        self.per_day, self.vary = per_day, vary
        self.each = each or per_day / rng.uniform(12, 25)
        hours = np.full(24, 0.25)
        hours[[23, 0, 1, 2, 3, 4, 5]] = night
        hours[[7, 8]] = rng.uniform(1.0, 2.0)
        hours[[12, 13]] = rng.uniform(0.5, 1.2)
        hours[[18, 19, 20, 21]] = rng.uniform(1.0, 2.0)
        self.hours = hours / hours.sum()
        self.days = np.array(days if days is not None else [1.0] * 7)
        self.litres_per_minute = rng.uniform(3, 9)

    def mean(self):
        return self.per_day * self.days.mean()

    def flows(self, rng, day, weekday):
        want = self.per_day * self.days[weekday]
        if self.vary:
            want *= rng.gamma(1 / self.vary**2, self.vary**2)
        n = rng.poisson(want / self.each)
        if not n:
            return []
        hour = rng.choice(24, n, p=self.hours)
        at = np.sort(day * DAY + (hour + rng.random(n)) * HOUR)
        size = self.each * rng.gamma(2, 0.5, n)
        return [(a, l / self.litres_per_minute * 60, -l) for a, l in zip(at, size)]


class Cook:
    """A burner of an evening, most evenings, and now and then of a morning."""

    def __init__(self, per_day, rng, skip=0.15):
        self.per_day, self.skip = per_day, skip
        self.hour = rng.uniform(17.5, 20)

    def mean(self):
        return self.per_day

    def flows(self, rng, day, weekday):
        out = []
        if rng.random() >= self.skip:
            hours = rng.uniform(0.4, 1.6)
            out.append((day * DAY + (self.hour + rng.normal(0, 0.5)) * HOUR, hours * HOUR, -0.85 * self.per_day / (1 - self.skip) * hours))
        if rng.random() < 0.5:
            out.append((day * DAY + rng.uniform(7, 9) * HOUR, 0.25 * HOUR, -0.3 * self.per_day))
        return out


class Fridge:
    """A refrigerator that burns for a part of each cycle, more by day than by night."""

    def __init__(self, per_day, rng):
        self.per_day = per_day
        self.cycle = rng.uniform(20, 70) * MINUTE
        self.swing = rng.uniform(0, 0.3)

    def mean(self):
        return self.per_day

    def flows(self, rng, day, weekday):
        n = int(DAY / self.cycle)
        out = []
        for i in range(n):
            a = day * DAY + i * DAY / n
            hour = 24 * i / n
            share = 0.4 * (1 + self.swing * math.cos((hour - 15) / 24 * 2 * math.pi)) * rng.uniform(0.85, 1.15)
            out.append((a, share * DAY / n, -self.per_day / n * share / 0.4))
        return out


class Both:
    def __init__(self, *habits):
        self.habits = habits

    def mean(self):
        return sum(h.mean() for h in self.habits)

    def flows(self, rng, day, weekday):
        return [f for h in self.habits for f in h.flows(rng, day, weekday)]


class Nothing(Constant):
    def __init__(self):
        super().__init__(0.0)

    def flows(self, rng, day, weekday):
        return []


# ------------------------------------------------------------------ readings


def oscillator(rng, t, sd, period, zeta, every):
    """A damped oscillator pushed at random, sampled: its poles, as AR(2)."""
    w = 2 * math.pi / period
    r = math.exp(-zeta * w * every)
    a1, a2 = 2 * r * math.cos(w * math.sqrt(1 - zeta * zeta) * every), -r * r
    e = rng.normal(size=len(t) + 200)
    x = np.zeros(len(e))
    p = q = 0.0
    for i in range(len(e)):
        x[i] = e[i] + a1 * p + a2 * q
        p, q = x[i], p
    x = x[200:]
    s = x.std()
    return sd * x / s if s > 0 else x


def sway(rng, t, how, size, every):
    """The reading's sway about the level, in parts of the scale; size is near its standard deviation."""
    if how == "white":
        return rng.normal(0, size, len(t))
    if how == "sine":
        f1, f2 = 1 / rng.uniform(1.2, 3.5), 1 / rng.uniform(5, 17)
        return size * (1.25 * np.sin(2 * math.pi * f1 * t + rng.uniform(0, 6)) + 0.7 * np.sin(2 * math.pi * f2 * t + rng.uniform(0, 6)))
    return oscillator(rng, t, size, rng.uniform(1.2, 3.0), rng.uniform(0.02, 0.1), every)


def warmth(rng, local, how, amplitude):
    """The swing of the reading with the day, about zero, in parts of the scale.

    local is seconds after a local midnight; amplitude half of what lies between
    the top and the bottom of a fine day's swing."""
    hour = local / HOUR % 24
    day = (local // DAY).astype(int)
    days = day.max() + 2
    if how == "sine":
        x = np.cos((hour - 15) / 24 * 2 * math.pi)
    elif how == "lag":  # steep in the morning, slow at night
        p = (hour - 15.5) / 24 * 2 * math.pi
        x = 0.85 * np.cos(p) + 0.3 * np.sin(2 * p)
        x /= 0.98
    elif how == "sun":  # sunshine, cut off at night, then cooling
        x = np.zeros(len(local))
        grid = np.arange(0, days * DAY, 120.0)
        h = grid / HOUR % 24
        sun = np.clip(np.sin((h - 6.5) / 12 * math.pi), 0, None) * ((h > 6.5) & (h < 18.5))
        tau = rng.uniform(0.7, 3) * HOUR
        y, v = np.zeros(len(grid)), 0.0
        k = 1 - math.exp(-120 / tau)
        for i, s in enumerate(sun):
            v += k * (s - v)
            y[i] = v
        last = y[len(y) // 2:] if days > 2 else y
        y = 2 * (y - last.min()) / (last.max() - last.min()) - 1
        x = np.interp(local, grid, y)
    else:  # clouds: fine days and dull ones, and the sun comes and goes
        grid = np.arange(0, days * DAY, 300.0)
        h = grid / HOUR % 24
        fine = rng.uniform(0.2, 1.0, days)[(grid // DAY).astype(int)]
        cloud = np.clip(0.75 + oscillator(rng, grid, 0.35, 4 * HOUR, 0.5, 300.0), 0.1, 1.2)
        sun = np.clip(np.sin((h - 6) / 13 * math.pi), 0, None) * ((h > 6) & (h < 19)) * fine * cloud
        y, v = np.zeros(len(grid)), 0.0
        k = 1 - math.exp(-300 / (1.5 * HOUR))
        for i, s in enumerate(sun):
            v += k * (s - v)
            y[i] = v
        x = np.interp(local, grid, 2 * y / max(y.max(), 1e-9) - 1)
    return amplitude * x


class Story:
    """One tank, what happened to it, and what was read."""

    def __init__(self, kind, seed, least=0):
        self.kind, self.seed, self.least = kind, seed, least
        self.rng = rng = np.random.default_rng([seed, zlib.crc32(kind.encode())])
        self.capacity = float(rng.choice([40, 60, 80, 100, 120, 200, 300]))
        self.lower, self.upper = [(10.0, 180.0), (240.0, 33.0), (0.0, 90.0), (0.0, 190.0), (33.0, 240.0), (180.0, 10.0)][int(rng.integers(6))]
        self.begin = 1772352000 + int(rng.integers(0, 250 * 86400))
        self.offset = int(rng.choice([0, 0, 1, 2, -5, 10]))  # hours east
        self.write_as = str(rng.choice(["unix", "utc", "local"]))
        self.noise = rng.uniform(0.05, 0.4) / 100  # of the reading, parts of the scale
        self.digit = float(rng.choice([0.01, 0.1, 0.1, 0.5]))
        self.friction = float(rng.choice([0, 0, 0.001, 0.002]))
        self.every = 10.0
        self.seconds = 2 * DAY
        self.level = rng.uniform(0.6, 0.95)
        self.habit = Nothing()
        self.always = None  # a sway that never ends: (how, size)
        self.trips, self.sticks, self.gaps, self.faults, self.jumps = [], [], [], [], []
        self.heat = None  # (how, amplitude)
        self.calm = float(rng.choice([0, 1]))
        self.summer = None  # when the clocks went an hour forward, and said so
        self.trend = 0.0  # of the reading, parts a day
        self.top = 0.97
        self.low = {"weeks": 0.2, "holiday": 0.2, "leak-daily": 0.15, "theft": 0.04, "drain": 0.02}.get(kind, 0.12)
        self.note = ""
        self.refills, self.leaks, self.drains = [], [], []
        self.idle = []
        self.full_scale_step = 0.0

    # before the flows are made

    def local(self, t):
        """Seconds after local midnight of day 0."""
        return t + (self.begin + self.offset * 3600) % 86400

    def prepare(self):
        """The flows of the habit over the written part."""
        self.flows = Flows(self.level * self.capacity)
        shift = self.local(0)
        weekday0 = datetime.fromtimestamp(self.begin + self.offset * 3600, timezone.utc).weekday()
        self.weekday0 = weekday0
        self.used = []
        for day in range(int((self.seconds + shift) // DAY) + 1):
            for a, d, l in self.habit.flows(self.rng, day, (weekday0 + day) % 7):
                a -= shift
                if a < 0 or a + d > self.seconds:  # the part that is inside
                    lo, hi = max(a, 0), min(a + d, self.seconds)
                    if hi <= lo:
                        continue
                    l *= (hi - lo) / d
                    a, d = lo, hi - lo
                if any(p <= a < q for p, q in self.idle):
                    continue
                self.used.append((a, d, l))
        self.flows.extend(self.used)

    def at(self, t):
        return float(self.flows.litres_at(t)) / self.capacity

    def fill(self, t, seconds, share, why=""):
        """A refill by a share of the scale, as far as there is room; nothing under 1 %.

        Refills are asked for in the order of time."""
        self.guard(t)
        return self._fill(t, seconds, share, why)

    def _fill(self, t, seconds, share, why):
        share = min(share, self.top - self.at(t))
        if share < 0.01 or t + seconds > self.seconds - 5 * MINUTE:
            return None
        self.flows.add(t, seconds, share * self.capacity)
        r = {"start": t, "end": t + seconds, "litres": share * self.capacity, "pct": 100 * share, "why": why}
        self.refills.append(r)
        return r

    def guard(self, until=None):
        """No tank of these runs empty in the written part: it is filled by someone, in time."""
        until = self.seconds - 30 * MINUTE if until is None else until
        after = max([0.0] + [r["end"] for r in self.refills])
        while True:
            t = self.flows.first_below(self.low * self.capacity, after)
            if t is None or t > until:
                return
            t += self.rng.uniform(5, 30) * MINUTE  # seen, and the hose fetched
            r = self._fill(t, self.rng.uniform(3, 8) * MINUTE, self.rng.uniform(0.5, 0.8), "guard")
            if not r:
                return
            after = r["end"]

    def leak(self, begin, per_hour, end=None):
        end = end or self.seconds
        self.leaks.append({"start": begin, "end": end, "per_hour_pct": 100 * per_hour, "litres_per_h": per_hour * self.capacity,
                           "lost5": begin + 0.05 / per_hour * HOUR})
        self.flows.add(begin, end - begin, -per_hour * self.capacity * (end - begin) / HOUR)

    def out(self, t, seconds, share, why):
        self.flows.add(t, seconds, -share * self.capacity)
        self.drains.append({"start": t, "end": t + seconds, "litres": share * self.capacity, "pct": 100 * share, "why": why})

    def gap(self, a, b):
        self.gaps.append((a, b))

    def seen(self, r):
        """From when to when a refill can show: a gap, a broken spell, a float that sticks hide it."""
        a, b = r["start"], r["end"]
        for p, q in self.gaps + self.sticks + [f[:2] for f in self.faults]:
            if p < b and q > a:
                a, b = min(a, p), max(b, q)
        return a, b

    # the readings

    def read(self):
        rng = self.rng
        every = max(self.every, self.least)
        t = np.arange(0, self.seconds, every)
        true = np.clip(self.flows.litres_at(t) / self.capacity, 0, 1)
        seen = true.copy()
        if self.heat:
            seen += warmth(rng, self.local(t), *self.heat)
        seen += self.trend * t / DAY
        if self.friction:
            seen = follow(seen, self.friction)
        if self.always:
            seen += sway(rng, t, self.always[0], self.always[1], every)
        for a, b, how, size in self.trips:
            i = (t >= a) & (t < b)
            if i.any():
                seen[i] += sway(rng, t[i], how, size, every)
        still = np.ones(len(t))  # how much of the noise is left: none where a stuck float is read by a calm meter
        for a, b in self.sticks:
            i = np.nonzero((t >= a) & (t < b))[0]
            if len(i):
                seen[i] = seen[i[0]]
                still[i] = self.calm
        if self.full_scale_step:
            seen = np.round(seen / self.full_scale_step) * self.full_scale_step
        seen = np.clip(seen, 0, 1)
        ohm = self.lower + seen * (self.upper - self.lower) + still * rng.normal(0, self.noise * abs(self.upper - self.lower), len(t))
        ohm = np.round(ohm / self.digit) * self.digit
        ohm = np.maximum(ohm, 0)
        text = None
        if self.faults:
            text = ["%.2f" % v for v in ohm]
            for a, b, what in self.faults:
                for i in np.nonzero((t >= a) & (t < b))[0]:
                    if what == "flicker" and rng.random() < 0.5:
                        continue
                    text[i] = {"open": "99999", "flicker": "99999", "short": "0.0", "words": "open", "none": ""}[what]
        keep = np.ones(len(t), bool)
        for a, b in self.gaps:
            keep[(t >= a) & (t < b)] = False
        return t[keep], ohm[keep], None if text is None else [x for x, k in zip(text, keep) if k], every

    def clock(self, t):
        """What the clock says, Unix seconds."""
        shift = 0.0
        for at, by in self.jumps:
            if t >= at:
                shift += by
        return self.begin + t + shift

    def stamp(self, at):
        if self.write_as == "unix":
            return "%d" % at if at == int(at) else "%.3f" % at
        east = self.offset + (1 if self.summer is not None and at >= self.begin + self.summer else 0)
        zone = timezone.utc if self.write_as == "utc" else timezone(timedelta(hours=east))
        s = datetime.fromtimestamp(at, zone).strftime("%Y-%m-%dT%H:%M:%S%z")
        return s.replace("+0000", "Z") if s.endswith("+0000") else s[:-2] + ":" + s[-2:]

    def futures(self):
        """For each of many futures, in how many hours it is empty."""
        start = float(self.flows.litres_at(self.seconds))
        shift = self.local(0)
        leak = sum(l["litres_per_h"] for l in self.leaks if l["end"] >= self.seconds)
        out = []
        if self.kind == "pump":  # what it uses depends on how it is driven
            return []
        if self.habit.mean() <= 0 and leak <= 0:
            return [NEVER]
        many = 1 if isinstance(self.habit, Constant) else FUTURES
        for k in range(many):
            rng = np.random.default_rng([self.seed, zlib.crc32(self.kind.encode()), k + 1])
            f = Flows(start)
            first = int((self.seconds + shift) // DAY)
            day, empty = first, None
            while day < first + 1500:
                for _ in range(7):
                    if leak:
                        f.add(max(day * DAY - shift, self.seconds), day * DAY + DAY - shift - max(day * DAY - shift, self.seconds),
                              -leak * (day * DAY + DAY - shift - max(day * DAY - shift, self.seconds)) / HOUR)
                    for a, d, l in self.habit.flows(rng, day, (self.weekday0 + day) % 7):
                        a -= shift
                        if a + d <= self.seconds:
                            continue
                        if a < self.seconds:
                            l *= (a + d - self.seconds) / d
                            a, d = self.seconds, a + d - self.seconds
                        f.add(a, d, l)
                    day += 1
                empty = f.first_below(0, self.seconds)
                if empty is not None:
                    break
            out.append(NEVER if empty is None else (empty - self.seconds) / HOUR)
        return out

    def write(self, folder):
        name = "%s-%d" % (self.kind, self.seed)
        t, ohm, text, every = self.read()
        written = [self.clock(x) for x in t] if self.jumps else (self.begin + t).tolist()
        stamps = [self.stamp(x) for x in written]
        with open(os.path.join(folder, name + ".csv"), "w") as f:
            f.write("time,ohm\n")
            if text is None:
                f.write("".join("%s,%.2f\n" % p for p in zip(stamps, ohm.tolist())))
            else:
                f.write("".join("%s,%s\n" % p for p in zip(stamps, text)))
        used = -sum(l for _, _, l in self.used)
        days = self.seconds / DAY
        w = self.clock
        truth = {
            "capacity_l": self.capacity, "begin": w(0), "end": w(self.seconds), "last": written[-1], "every": every, "rows": len(t),
            "refills": [{**r, "start": w(r["start"]), "end": w(r["end"]), "seen_from": w(self.seen(r)[0]), "seen_to": w(self.seen(r)[1]),
                         "net_pct": 100 * (self.at(r["end"]) - self.at(r["start"])), "seen_net_pct": 100 * (self.at(self.seen(r)[1]) - self.at(self.seen(r)[0]))} for r in sorted(self.refills, key=lambda r: r["start"])],
            "leaks": [{**l, "start": w(l["start"]), "end": w(l["end"]), "lost5": w(l["lost5"])} for l in self.leaks],
            "drains": [{**d, "start": w(d["start"]), "end": w(d["end"])} for d in self.drains],
            "sticks": [[w(a), w(b)] for a, b in self.sticks], "faults": [[w(a), w(b), what] for a, b, what in self.faults],
            "gaps": [[w(a), w(b)] for a, b in self.gaps], "trips": [[w(a), w(b)] for a, b, _, _ in self.trips],
            "draws": [[w(a), w(a + d), -100 * l / self.capacity] for a, d, l in sorted(self.used) if d < 12 * HOUR],
            "use": {"habit_l_per_day": self.habit.mean(), "made_l_per_day": used / days, "leak_l_per_day": sum(24 * l["litres_per_h"] for l in self.leaks)},
            "left_h": self.futures(), "end_pct": 100 * self.at(self.seconds),
            "heat": list(self.heat or []), "noise_pct": 100 * self.noise, "sway": list(self.always or []), "note": self.note,
        }
        with open(os.path.join(folder, name + ".truth.json"), "w") as f:
            json.dump(truth, f)
        return {"kind": self.kind, "seed": self.seed, "file": name + ".csv", "truth": name + ".truth.json", "rows": len(t),
                "args": ["--lower", "%g" % self.lower, "--upper", "%g" % self.upper, "--capacity", "%gL" % self.capacity]}


def follow(x, width):
    """A float with friction: it moves only when it is pushed by more than width."""
    out, at = np.empty(len(x)), x[0]
    for i, v in enumerate(x.tolist()):
        if v > at + width:
            at = v - width
        elif v < at - width:
            at = v + width
        out[i] = at
    return out


# ------------------------------------------------------------------ the kinds


def days_for(s, lo, hi):
    s.seconds = round(s.rng.uniform(lo, hi) * 24) * HOUR


def daytime(s, day, lo=8.0, hi=20.0):
    """A moment of a day, by day; seconds from the beginning."""
    return day * DAY + s.rng.uniform(lo, hi) * HOUR - s.local(0)


def few_rows(s, choices, most=60000):
    """An interval between readings that keeps the file within bounds."""
    ok = [c for c in choices if s.seconds / c <= most]
    s.every = float(s.rng.choice(ok or [max(choices)]))


def each_day(s):
    return range(int((s.seconds + s.local(0)) // DAY) + 1)


def make(kind, seed, least=0):
    s = Story(kind, seed, least)
    rng = s.rng
    share = lambda lo, hi: rng.uniform(lo, hi) * s.capacity

    if kind.startswith("slosh-"):  # even use under a surface that never rests
        s.level = rng.uniform(0.7, 0.95)
        days_for(s, 0.5, 4)
        s.habit = Constant(share(0.3, 0.6) / (s.seconds / DAY))
        few_rows(s, [1, 5, 10, 30, 60])
        s.always = (kind[6:], rng.uniform(0.005, 0.04))
        s.prepare()

    elif kind == "steady":  # even use, quiet readings
        s.level = rng.uniform(0.7, 0.95)
        days_for(s, 0.5, 6)
        s.habit = Constant(share(0.2, 0.6) / (s.seconds / DAY))
        few_rows(s, [1, 5, 10, 60, 300])
        s.prepare()

    elif kind == "taps":
        days_for(s, 2, 7)
        s.habit = Taps(share(0.08, 0.2), rng)
        few_rows(s, [5, 10, 30, 60, 300])
        s.prepare()
        s.guard()

    elif kind == "cook":
        days_for(s, 4, 12)
        s.habit = Cook(share(0.03, 0.07), rng)
        few_rows(s, [10, 30, 60, 300])
        s.prepare()
        s.guard()

    elif kind == "fridge":
        days_for(s, 2, 8)
        s.habit = Fridge(share(0.03, 0.1), rng)
        few_rows(s, [10, 30, 60, 300])
        s.prepare()
        s.guard()

    elif kind in ("dayfill", "tapfill", "hose", "quick", "partial", "topup", "twopours"):
        days_for(s, 2, 6)
        few_rows(s, [1, 5, 10, 60] if kind in ("quick", "tapfill") else [5, 10, 60, 300])
        s.habit = Taps(share(0.15, 0.35), rng) if kind != "hose" or rng.random() < 0.5 else Constant(share(0.1, 0.4))
        s.level = rng.uniform(0.4, 0.7)
        s.prepare()
        for d in each_day(s):
            if kind in ("dayfill", "tapfill", "hose", "quick", "twopours") and rng.random() < 0.75 or kind in ("partial", "topup"):
                at = daytime(s, d)
                if at < 30 * MINUTE:
                    continue
                if kind == "dayfill":
                    s.fill(at, rng.uniform(2, 15) * MINUTE, rng.uniform(0.2, 0.7))
                elif kind == "hose":
                    s.fill(at, rng.uniform(1, 2) * HOUR, rng.uniform(0.25, 0.8))
                elif kind == "quick":
                    s.fill(at, rng.uniform(1, 2) * MINUTE, rng.uniform(0.15, 0.8))
                elif kind == "tapfill":
                    seconds = rng.uniform(4, 15) * MINUTE
                    if s.fill(at, seconds, rng.uniform(0.2, 0.6)):
                        # a tap that runs before, during and after
                        before = rng.uniform(0, 5) * MINUTE
                        long = before + seconds + rng.uniform(0, 5) * MINUTE
                        litres = min(rng.uniform(2, 6) * long / 60, 0.12 * s.capacity)
                        s.flows.add(at - before, long, -litres)
                        s.used.append((at - before, long, -litres))
                elif kind == "twopours":
                    one, pause = rng.uniform(1, 5) * MINUTE, rng.uniform(2, 15) * MINUTE
                    s.fill(at, one, rng.uniform(0.1, 0.3))
                    s.fill(at + one + pause, rng.uniform(1, 5) * MINUTE, rng.uniform(0.1, 0.3))
                elif kind == "partial":
                    for at in sorted(daytime(s, d, 7, 21) for _ in range(int(rng.integers(1, 4)))):
                        if at > 30 * MINUTE and not any(abs(at - r["start"]) < HOUR for r in s.refills):
                            s.fill(at, rng.uniform(1, 6) * MINUTE, rng.uniform(0.06, 0.15))
                else:
                    for at in sorted(daytime(s, d, 7, 21) for _ in range(int(rng.integers(1, 4)))):
                        if at > 30 * MINUTE and not any(abs(at - r["start"]) < HOUR for r in s.refills):
                            s.fill(at, rng.uniform(0.5, 4) * MINUTE, rng.uniform(0.053, 0.07))
        s.guard()

    elif kind == "gapfill":  # filled while nothing was recorded
        days_for(s, 2, 6)
        few_rows(s, [5, 10, 60, 300])
        s.habit = Taps(share(0.1, 0.3), rng) if rng.random() < 0.6 else Constant(share(0.1, 0.3))
        s.level = rng.uniform(0.4, 0.7)
        s.prepare()
        for d in each_day(s):
            at = daytime(s, d)
            if at < 3 * HOUR or rng.random() < 0.3:
                continue
            r = s.fill(at, rng.uniform(2, 10) * MINUTE, rng.uniform(0.15, 0.7))
            if r:
                long = 10 * MINUTE * 72 ** rng.random()  # to 12 h
                a = max(at - rng.uniform(0.1, 0.8) * long, 20 * MINUTE)
                s.gap(a, max(a + long, r["end"] + MINUTE))
        s.guard()

    elif kind.startswith("leak-"):
        rate = 0.0005 * 20 ** rng.random()  # 0.05 to 1 % an hour
        begins = rng.uniform(16, 60) * HOUR
        s.level = rng.uniform(0.75, 0.95)
        s.every = float(rng.choice([10, 60, 300]))
        if kind == "leak-still":
            if rng.random() < 0.6:
                s.heat = (str(rng.choice(["sine", "lag", "sun", "cloud"])), rng.uniform(0.002, 0.02))
        elif kind == "leak-daily":
            s.habit = Taps(share(0.05, 0.12), rng) if rng.random() < 0.6 else Cook(share(0.03, 0.06), rng)
            begins = rng.uniform(48, 96) * HOUR
        elif kind == "leak-constant":
            s.habit = Constant(share(0.03, 0.12)) if rng.random() < 0.5 else Fridge(share(0.03, 0.08), rng)
            rate = max(rate, 0.5 * s.habit.mean() / 24 / s.capacity)
            begins = rng.uniform(36, 72) * HOUR
        elif kind == "leak-first":
            begins = 0.0
        elif kind == "leak-mended":
            s.habit = Taps(share(0.04, 0.1), rng) if rng.random() < 0.5 else Nothing()
        s.seconds = math.ceil((begins + 0.08 / rate * HOUR) / HOUR) * HOUR
        mended = None
        if kind == "leak-mended":
            mended, s.seconds = s.seconds, s.seconds + 2 * DAY
        if s.seconds / s.every > 60000:
            s.every = 60.0 if s.seconds < 40 * DAY else 300.0
        s.prepare()
        s.leak(begins, rate, mended)
        if kind in ("leak-daily", "leak-mended"):
            s.guard()

    elif kind.startswith("still-"):  # nothing happens, and the day warms it
        s.seconds = 60 * HOUR
        s.level = rng.uniform(0.15, 0.9)
        s.heat = (kind[6:], rng.uniform(0.003, 0.025))
        s.noise = rng.uniform(0.0005, 0.01)
        s.trend = float(rng.choice([0, 0, 1, -1])) * rng.uniform(0, 0.15) * s.heat[1]
        few_rows(s, [10, 30, 60, 300])
        s.prepare()

    elif kind == "gaps":
        days_for(s, 5, 14)
        few_rows(s, [10, 60, 300])
        s.habit = Taps(share(0.05, 0.15), rng) if rng.random() < 0.5 else Constant(share(0.03, 0.08))
        s.prepare()
        s.guard()
        t = rng.uniform(2, 20) * HOUR
        while t < s.seconds - 6 * HOUR:
            long = rng.uniform(0.5, 12) * HOUR if rng.random() < 0.75 else rng.uniform(1, 2.5) * DAY
            s.gap(t, min(t + long, s.seconds - 4 * HOUR))
            t += long + rng.uniform(4, 30) * HOUR

    elif kind in ("broken", "brokenfill"):
        days_for(s, 2, 6)
        few_rows(s, [5, 10, 60, 300])
        s.habit = Taps(share(0.08, 0.2), rng) if rng.random() < 0.6 else Constant(share(0.08, 0.2))
        s.level = rng.uniform(0.5, 0.8)
        s.prepare()
        t = rng.uniform(2, 14) * HOUR
        while t < s.seconds - 8 * HOUR:
            long = rng.uniform(3, 240) * MINUTE
            what = str(rng.choice(["open", "flicker", "words", "none"] + (["short"] if min(s.lower, s.upper) > 5 else [])))
            if kind == "brokenfill":
                s.fill(t + rng.uniform(0.1, 0.6) * long, min(rng.uniform(2, 6) * MINUTE, 0.3 * long), rng.uniform(0.12, 0.5), what)
            s.faults.append((t, t + long, what))
            t += long + rng.uniform(8, 30) * HOUR
        s.guard()

    elif kind in ("stuck", "stuckfill"):
        days_for(s, 2, 5)
        few_rows(s, [5, 10, 60])
        s.habit = Taps(share(0.1, 0.25), rng) if rng.random() < 0.6 else Constant(share(0.1, 0.25))
        s.level = rng.uniform(0.55, 0.9) if kind == "stuck" else rng.uniform(0.3, 0.55)
        s.prepare()
        at = rng.uniform(8, 30) * HOUR
        long = rng.uniform(2, 14) * HOUR
        s.sticks.append((at, at + long))
        if kind == "stuckfill":
            s.fill(at + rng.uniform(0.05, 0.5) * long, rng.uniform(2, 10) * MINUTE, rng.uniform(0.2, 0.4), "stuck")
        s.guard()

    elif kind in ("drive", "pump"):
        days_for(s, 1, 4)
        few_rows(s, [1, 5, 10, 30])
        s.habit = Constant(share(0.03, 0.08)) if kind == "drive" else Nothing()
        s.level = rng.uniform(0.5, 0.9)
        fuel = rng.uniform(0.03, 0.08)  # share an hour of driving
        how, size = str(rng.choice(["white", "sine", "ar"])), rng.uniform(0.01, 0.05)
        s.prepare()
        left = s.level
        for d in each_day(s):
            t = daytime(s, d, 7, 10)
            while t < d * DAY + 20 * HOUR - s.local(0):
                long = rng.uniform(20, 100) * MINUTE
                if t < 10 * MINUTE or t + long > s.seconds - HOUR:
                    t += HOUR
                    continue
                s.trips.append((t, t + long, how, size))
                if kind == "pump":
                    litres = fuel * s.capacity * long / HOUR
                    s.flows.add(t, long, -litres)
                    s.used.append((t, long, -litres))
                    stop = rng.uniform(3, 6) * MINUTE
                    if s.at(t + long) < 0.45 or rng.random() < 0.2:
                        s.fill(t + long + 0.25 * stop, 0.5 * stop, rng.uniform(0.2, 0.8), "pump stop")
                        more = rng.uniform(20, 60) * MINUTE
                        if t + long + stop + more < s.seconds - HOUR:
                            s.trips.append((t + long + stop, t + long + stop + more, how, size))
                            litres = fuel * s.capacity * more / HOUR
                            s.flows.add(t + long + stop, more, -litres)
                            s.used.append((t + long + stop, more, -litres))
                        long += stop + more
                t += long + rng.uniform(0.3, 3) * HOUR
        s.guard()

    elif kind == "coarse":  # a sender that moves in steps
        days_for(s, 3, 8)
        few_rows(s, [10, 30, 60])
        s.habit = Taps(share(0.1, 0.25), rng) if rng.random() < 0.5 else Constant(share(0.1, 0.2))
        s.full_scale_step = float(rng.choice([0.01, 0.02, 0.03]))
        s.prepare()
        for d in each_day(s):
            if rng.random() < 0.5 and daytime(s, d) > HOUR:
                s.fill(daytime(s, d, 9, 19) if d else 3 * HOUR, rng.uniform(2, 10) * MINUTE, rng.uniform(0.15, 0.6))
        s.guard()

    elif kind in ("clockback", "clockleap"):
        days_for(s, 2, 4)
        few_rows(s, [10, 60])
        s.habit = Taps(share(0.1, 0.3), rng)
        s.level = rng.uniform(0.5, 0.8)
        s.prepare()
        at = rng.uniform(0.3, 0.7) * s.seconds
        s.jumps.append((math.ceil(at / s.every) * s.every, -HOUR if kind == "clockback" else HOUR))
        for d in each_day(s):
            t = daytime(s, d)
            if t > HOUR and abs(t - at) > 3 * HOUR and rng.random() < 0.7:
                s.fill(t, rng.uniform(2, 10) * MINUTE, rng.uniform(0.2, 0.6))
        s.guard()

    elif kind in ("theft", "drain"):
        days_for(s, 2, 5)
        few_rows(s, [5, 10, 60])
        s.habit = Taps(share(0.03, 0.1), rng) if kind == "drain" else Constant(share(0.01, 0.03))
        s.level = rng.uniform(0.7, 0.95)
        s.prepare()
        if kind == "theft":
            t = daytime(s, 1, 25, 28)
            s.out(t, rng.uniform(2, 12) * MINUTE, rng.uniform(0.12, 0.4), "theft")
        else:
            t = daytime(s, 1, 9, 18)
            s.out(t, rng.uniform(5, 30) * MINUTE, max(s.at(t) - rng.uniform(0.03, 0.25), 0.2), "drain")
            s.fill(t + rng.uniform(2, 6) * HOUR, rng.uniform(4, 12) * MINUTE, rng.uniform(0.4, 0.7))
        s.guard()

    elif kind == "lpg":  # gas: the level breathes with the day, and is filled to four fifths
        days_for(s, 5, 14)
        few_rows(s, [30, 60, 300])
        s.top, s.level = 0.8, rng.uniform(0.5, 0.8)
        s.habit = Both(Fridge(share(0.01, 0.04), rng), Cook(share(0.01, 0.04), rng))
        s.heat = (str(rng.choice(["sine", "lag", "sun", "cloud"])), rng.uniform(0.003, 0.02))
        s.prepare()
        t = rng.uniform(0.4, 0.7) * s.seconds
        s.fill(t, rng.uniform(2, 6) * MINUTE, 0.8)
        s.guard()

    elif kind == "weeks":  # weekends are not as weekdays
        days_for(s, 14, 30)
        s.every = float(rng.choice([60, 120, 300]))
        s.habit = Taps(share(0.04, 0.08), rng, days=[0.6, 0.6, 0.6, 0.6, 1.1, 1.9, 1.6], vary=0.2)
        s.prepare()
        s.guard()

    elif kind == "holiday":  # a week in which nobody is there
        days_for(s, 15, 21)
        s.every = float(rng.choice([60, 300]))
        s.habit = Taps(share(0.06, 0.12), rng)
        a = rng.uniform(4, 6) * DAY
        s.idle.append((a, a + 7 * DAY))
        if rng.random() < 0.5:
            s.heat = ("sine", rng.uniform(0.002, 0.01))
        s.prepare()
        s.guard()

    elif kind == "warmuse":  # water used daily in a vehicle that the sun warms
        days_for(s, 4, 9)
        few_rows(s, [10, 60, 300])
        s.habit = Taps(share(0.06, 0.15), rng)
        s.heat = (str(rng.choice(["sine", "lag", "sun", "cloud"])), rng.uniform(0.003, 0.02))
        s.prepare()
        for d in each_day(s):
            if d and rng.random() < 0.3:
                s.fill(daytime(s, d), rng.uniform(2, 10) * MINUTE, rng.uniform(0.2, 0.6))
        s.guard()

    elif kind == "sloshfill":  # filled by day under a surface that never rests
        days_for(s, 1, 4)
        few_rows(s, [1, 5, 10, 60])
        s.habit = Constant(share(0.1, 0.3))
        s.level = rng.uniform(0.4, 0.7)
        s.always = (str(rng.choice(["white", "sine", "ar"])), rng.uniform(0.005, 0.03))
        s.prepare()
        for d in each_day(s):
            t = daytime(s, d)
            if t > HOUR and rng.random() < 0.8:
                s.fill(t, rng.uniform(2, 15) * MINUTE, rng.uniform(0.08, 0.6))
        s.guard()

    elif kind == "summer":  # the clocks go forward by an hour, and the times say so
        days_for(s, 3, 6)
        few_rows(s, [10, 60])
        s.write_as, s.offset = "local", int(rng.choice([1, 2]))
        s.habit = Taps(share(0.1, 0.25), rng)
        s.prepare()
        s.summer = rng.uniform(0.3, 0.7) * s.seconds
        for d in each_day(s):
            t = daytime(s, d)
            if t > HOUR and rng.random() < 0.6:
                s.fill(t, rng.uniform(2, 10) * MINUTE, rng.uniform(0.2, 0.6))
        s.guard()

    elif kind == "all":  # a bit of everything
        days_for(s, 4, 10)
        few_rows(s, [10, 30, 60])
        s.habit = Both(Taps(share(0.06, 0.15), rng), Constant(share(0.0, 0.02)))
        s.heat = (str(rng.choice(["sine", "lag", "sun", "cloud"])), rng.uniform(0, 0.012))
        s.full_scale_step = float(rng.choice([0, 0, 0.01]))
        how, size = str(rng.choice(["white", "sine", "ar"])), rng.uniform(0.01, 0.05)
        s.prepare()
        for d in each_day(s):
            t = daytime(s, d, 9, 11)
            if t > HOUR and t < s.seconds - 3 * HOUR and rng.random() < 0.7:
                long = rng.uniform(20, 90) * MINUTE
                s.trips.append((t, t + long, how, size))
                if rng.random() < 0.5:
                    s.fill(t + long + rng.uniform(2, 20) * MINUTE, rng.uniform(2, 10) * MINUTE, rng.uniform(0.1, 0.6))
            t = daytime(s, d, 14, 22)
            if 0 < t < s.seconds - 6 * HOUR and rng.random() < 0.4:
                s.gap(t, t + rng.uniform(0.2, 5) * HOUR) if rng.random() < 0.5 else s.faults.append((t, t + rng.uniform(3, 90) * MINUTE, str(rng.choice(["open", "flicker", "none"]))))
        s.guard()

    elif kind == "cut":  # begins while it is filled, and ends while it is filled
        days_for(s, 1, 2)
        few_rows(s, [5, 10, 60])
        s.habit = Taps(share(0.1, 0.2), rng)
        s.level = rng.uniform(0.2, 0.3)
        s.prepare()
        long = rng.uniform(20, 40) * MINUTE
        half = rng.uniform(0.25, 0.45)
        s.flows.add(0, long / 2, half * s.capacity)
        s.refills.append({"start": 0.0, "end": long / 2, "litres": half * s.capacity, "pct": 100 * half, "why": "begun before"})
        s.guard()
        late = rng.uniform(0.15, 0.3)
        if s.at(s.seconds) + late < 0.97:
            s.flows.add(s.seconds - 10 * MINUTE, 10 * MINUTE, late * s.capacity)
            late *= 1 - max(s.every, s.least) / (10 * MINUTE)  # until the last reading
            s.refills.append({"start": s.seconds - 10 * MINUTE, "end": s.seconds, "litres": late * s.capacity, "pct": 100 * late, "why": "goes on at the end"})

    else:
        raise SystemExit("no kind %r; there are %s" % (kind, " ".join(KINDS)))
    return s


KINDS = ["steady", "slosh-white", "slosh-sine", "slosh-ar", "taps", "cook", "fridge", "dayfill", "sloshfill", "gapfill", "tapfill", "hose", "quick", "partial", "topup", "twopours",
         "leak-still", "leak-daily", "leak-constant", "leak-mended", "leak-first", "still-sine", "still-lag", "still-sun", "still-cloud", "gaps", "broken", "brokenfill", "stuck",
         "stuckfill", "drive", "pump", "coarse", "clockback", "clockleap", "summer", "theft", "drain", "lpg", "weeks", "holiday", "warmuse", "all", "cut"]


def main():
    if "--out" in sys.argv:
        words = sys.argv[1:]
        given = {words[i].lstrip("-"): words[i + 1] for i in range(0, len(words), 2)}
        given["seeds"] = [int(x) for x in given.get("seeds", "1").split(",")]
        given["kinds"] = [k for k in given.get("kinds", "").split(",") if k]
        given["least"] = float(given.get("least", 0))
    else:
        given = json.load(sys.stdin)
    part, parts = given.get("part", (0, 1))
    todo = [(k, seed) for seed in given["seeds"] for k in (given.get("kinds") or KINDS)]
    os.makedirs(given["out"], exist_ok=True)
    print(json.dumps([make(k, seed, given.get("least", 0)).write(given["out"]) for k, seed in todo[len(todo) * part // parts:len(todo) * (part + 1) // parts]]))


main()
