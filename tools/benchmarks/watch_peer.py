"""What general-purpose libraries take for the work of the feeds and the watch:
CSV rows, candump lines and NMEA sentences read, a register pair turned into a
float, and a level filtered. For docs/benchmarks.md; wants python3-numpy,
python3-scipy, python3-can, python3-nmea2 and python3-pymodbus."""

import csv
import datetime
import io
import os
import tempfile
import time

import can
import numpy
import pynmea2
from pymodbus.constants import Endian
from pymodbus.payload import BinaryPayloadDecoder
from scipy import signal


def timed(name, n, work):
    best = min(_once(work) for _ in range(3))
    print(f"{name}: {best / n * 1e6:.2f} us each")


def _once(work):
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def rows():
    start = datetime.datetime(2026, 6, 1, tzinfo=datetime.timezone.utc)
    text = "time,ohm\n" + "".join(
        f"{(start + datetime.timedelta(seconds=10 * i)).isoformat().replace('+00:00', 'Z')},{100 + i % 7 / 10}\n"
        for i in range(100000)
    )

    def read():
        for row in csv.DictReader(io.StringIO(text)):
            datetime.datetime.fromisoformat(row["time"].replace("Z", "+00:00"))
            float(row["ohm"])

    timed("a row of a history (csv, datetime)", 100000, read)


def candump():
    lines = "".join(f"({1436509052 + i}.249713) can0 19F21123#103E49DC050000FF\n" for i in range(20000))
    with tempfile.NamedTemporaryFile("w", suffix=".log", delete=False) as f:
        f.write(lines)

    def read():
        for message in can.LogReader(f.name):
            int.from_bytes(message.data[1:3], "little", signed=True) * 0.004

    timed("a line of a candump log (python-can)", 20000, read)
    os.unlink(f.name)


def sentences():
    text = "$IIXDR,E,75.0,P,FreshWater#0*4B"
    timed("an XDR sentence (pynmea2)", 20000, lambda: [float(pynmea2.parse(text).data[1]) for _ in range(20000)])


def registers():
    pair = [0x42F6, 0xE979]

    def read():
        for _ in range(20000):
            BinaryPayloadDecoder.fromRegisters(pair, byteorder=Endian.Big, wordorder=Endian.Big).decode_32bit_float()

    timed("two registers as a float (pymodbus)", 20000, read)


def filtered():
    """A Hampel identifier over eleven readings (NumPy, all at once) and a
    second-order Kalman filter in its steady state (SciPy's lfilter): less than the
    watch does, which has six filters whose noise isn't known, and says how sure it is."""
    n = 200000
    y = 50 + numpy.random.default_rng(1).normal(0, 3, n)

    def work():
        windows = numpy.lib.stride_tricks.sliding_window_view(numpy.pad(y, 5, mode="edge"), 11)
        middle = numpy.median(windows, axis=1)
        scale = 1.4826 * numpy.median(numpy.abs(windows - middle[:, None]), axis=1)
        clean = numpy.where(numpy.abs(y - middle) > 3 * scale, middle, y)
        signal.lfilter([0.05, -0.0495], [1, -1.95, 0.9505], clean)

    timed("a reading through a Hampel identifier and a filter (NumPy, SciPy)", n, work)


for work in (rows, candump, sentences, registers, filtered):
    work()
