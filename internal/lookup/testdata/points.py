# Lookup table of a level sender: counts to tenths of a percent.
# From: Tidewater Kitchen (invented), main tank
# Date: 2025-03-01
# Input: pull-up of 470 Ω, 12 bits
# 100 % = as full as this tank may be filled (80 % on the dial).
# 8 points with straight lines between them, rounded to the nearest step, a half upwards; held at both ends.
# Largest error against the curve, every count from 4 to 656 tried: 0.188 points at count 10. One count is 0.335 points at most.
# The error is the table's own. The sender's and the input's come on top of it.
# -1 is no level. What the counts mean:
#   0 to 684: a level
#   685 to 2000: more ohms than the sender was seen to give
#   2001 to 4095: an open wire
# A short can't be told from a level: it reads like a tank that is nearly empty.
# CAUTION: Never fill beyond the permitted fill (80 %), whatever the display shows.
# CAUTION: This table is no cut-off and no leak detector: nothing that fills a tank may be started or stopped by it.
# CAUTION: Circuits at a fuel or gas tank follow the code for hazardous places; leave them to someone licensed. Keep the current through the sender at 1 mA or less.
from array import array

GW_NO_LEVEL = -1
GW_FULL_COUNT = 4095
GW_FINE = 0  # a level
GW_SHORT = 1  # a short
GW_BELOW = 2  # fewer ohms than the sender was seen to give
GW_ABOVE = 3  # more ohms than the sender was seen to give
GW_OPEN = 4  # an open wire
GW_NO_COUNT = 5  # not a count of this converter

gw_counts = array("H", (
    4, 26, 66, 153, 381, 460, 527, 580,
))
gw_levels = array("h", (
    2, 66, 153, 295, 619, 747, 878, 1000,
))


def gw_fault(counts):
    """What a count means: GW_FINE where there is a level."""
    if counts < 0 or counts > GW_FULL_COUNT:
        return GW_NO_COUNT
    if counts <= 684:
        return GW_FINE
    if counts <= 2000:
        return GW_ABOVE
    return GW_OPEN


def gw_level_tenths(counts):
    """The figure in tenths of a percent, or GW_NO_LEVEL."""
    if gw_fault(counts) != GW_FINE:
        return GW_NO_LEVEL
    low = 0
    high = len(gw_counts) - 1
    if counts <= gw_counts[low]:
        return gw_levels[low]
    if counts >= gw_counts[high]:
        return gw_levels[high]
    while high - low > 1:
        middle = (low + high) // 2
        if gw_counts[middle] <= counts:
            low = middle
        else:
            high = middle
    x0 = gw_counts[low]
    x1 = gw_counts[high]
    y0 = gw_levels[low]
    y1 = gw_levels[high]
    width = x1 - x0
    return y0 + ((y1 - y0) * (counts - x0) + width // 2) // width
