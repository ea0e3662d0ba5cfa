"""Reads a packed column, from its description in docs/history.md alone."""

import math

SLOTS = 1024
WORD = 1 << 64


def signed(v):
    """v as a two's complement number of 64 bits."""
    v %= WORD
    return v - WORD if v >= WORD >> 1 else v


def student(t, freedom):
    odds = [1, 1 / 2, 3 / 8, 5 / 16, 35 / 128, 63 / 256, 231 / 1024, 429 / 2048]
    square = t * t + freedom
    sin, cos2 = t / math.sqrt(square), freedom / square
    total = 0.0
    for c in reversed(odds[: freedom // 2]):
        total = total * cos2 + c
    return 0.5 + 0.5 * sin * total


def table(shape, step, centre, made={}):
    """The table of a scale: for each state the symbol (None is the escape), how
    many bits are read, and what they are added to."""
    if (shape, step, centre) in made:
        return made[shape, step, centre]
    scale = math.ldexp(1.0, step // 2)
    if step % 2:
        scale *= 1.4142135623730951
    scale *= (1.42, 1.19)[shape]
    freedom = (16, 4)[shape]
    counts, rest = {}, 1.0
    for k in range(-63, 64):
        p = student((k + 0.5 - centre) / scale, freedom) - student((k - 0.5 - centre) / scale, freedom)
        counts[k] = math.floor(p * SLOTS + 0.5)
        if counts[k]:
            rest -= p
    largest = max(counts, key=lambda k: (counts[k], -k))
    counts[None] = max(1, math.floor(rest * SLOTS + 0.5))
    counts[largest] += SLOTS - sum(counts.values())
    spread, at = [None] * SLOTS, 0
    for k, n in counts.items():
        for _ in range(n):
            spread[at] = k
            at = (at + 643) % SLOTS
    out = []
    for k in spread:
        x = counts[k]
        counts[k] += 1
        bits = 11 - x.bit_length()
        out.append((k, bits, (x << bits) - SLOTS))
    made[shape, step, centre] = out
    return out


class Bytes:
    def __init__(self, data):
        self.data, self.at = data, 0

    def byte(self):
        self.at += 1
        return self.data[self.at - 1]

    def uvarint(self):
        v = shift = 0
        while True:
            b = self.byte()
            v |= (b & 127) << shift
            shift += 7
            if b < 128:
                return v

    def varint(self):
        u = self.uvarint()
        return (u >> 1) ^ -(u & 1)

    def bits(self, n):
        """From here on bits are read, the lowest of a byte first."""
        v = int.from_bytes(self.data, "little") >> self.place & ((1 << n) - 1)
        self.place += n
        return v


def unpack(data):
    """The column, and how many bytes it took."""
    b = Bytes(data)
    head = b.uvarint()
    n, form = head >> 2, head & 3
    return {0: same, 1: plain, 2: steps, 3: track}[form](b, n), b.at


def same(b, n):
    return [b.varint()] * n


def plain(b, n):
    out, v = [], 0
    for _ in range(n):
        v = signed(v + b.varint())
        out.append(v)
    return out


def steps(b, n):
    out = [b.varint()]
    constant = b.varint()
    for _ in range(b.uvarint()):
        for _ in range(b.uvarint()):
            out.append(signed(out[-1] + constant))
        out.append(signed(out[-1] + constant + b.varint()))
    while len(out) < n:
        out.append(signed(out[-1] + constant))
    return out


def track(b, n):
    first = b.varint()
    gains, flags, step = b.byte(), b.byte(), b.byte()
    least_gain, turn = gains & 15, gains >> 4
    shape, memory = flags & 1, flags >> 1 & 7
    step -= 256 if step > 127 else 0
    factor = b.uvarint() if flags & 16 else 1
    slope = b.varint() << 16 if turn != 15 else 0
    distance = (110218 if step % 2 else 77936)
    distance = distance << step // 2 if step >= 0 else distance >> -(step // 2)
    level, gain = 0, min(1, least_gain)
    b.place = 8 * b.at
    state, last = b.bits(10), 0
    out = [first]
    while len(out) < n:
        s = -8
        if distance > 0:
            n_bits = distance.bit_length()
            s = 2 * (n_bits - 17)
            if distance << (64 - n_bits) >> 48 >= 46341:
                s += 1
            s = max(s, -8)
        low = (s - 4) // 2 if s > 5 else 0
        s -= 2 * low
        places = 3 if s <= -2 else 2 if s <= 0 else 0
        most, far = 8 * distance + 16384, 0
        for _ in range(min(8, n - len(out))):
            foretold = level + slope
            place = (foretold & 65535) >> (16 - places)
            k, bits, base = table(shape, s, (place + 0.5) / (1 << places))[state]
            if k is None:
                u = b.bits(b.bits(6))
                residual = (u >> 1) ^ -(u & 1)
            else:
                residual = (k << low) + b.bits(low) - ((1 << low) - 1)
            state, last = base + b.bits(bits), bits
            number = (foretold >> 16) + residual
            out.append(signed(first + number * factor))
            off = (number << 16) - foretold
            far += min(off if off >= 0 else -off - 1, most)
            if k is None:
                level, gain = number << 16, min(1, least_gain)
            else:
                level = foretold + (off >> gain)
                if turn < 14:
                    slope += off >> turn
        distance += (far // 8 - distance) >> memory
        gain = min(gain + 1, least_gain)
    b.at = (b.place - last + 7) // 8
    return out
