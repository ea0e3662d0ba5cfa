# Lookup table of a level sender: counts to tenths of a percent.
# From: water tank (invented)
# 103 entries, one for each 4 counts from 56; held at both ends.
# Largest error against the curve, every count from 58 to 466 tried: 1.416 points at count 464. One count is 0.7 points at most.
# The error is the table's own. The sender's and the input's come on top of it.
# -1 is no level. What the counts mean:
#   0 to 10: a short
#   11 to 21: fewer ohms than the sender was seen to give
#   22 to 478: a level
#   479 to 826: more ohms than the sender was seen to give
#   827 to 1023: an open wire
from array import array

GW_NO_LEVEL = -1
GW_FULL_COUNT = 1023
GW_FINE = 0  # a level
GW_SHORT = 1  # a short
GW_BELOW = 2  # fewer ohms than the sender was seen to give
GW_ABOVE = 3  # more ohms than the sender was seen to give
GW_OPEN = 4  # an open wire
GW_NO_COUNT = 5  # not a count of this converter

gw_levels = array("h", (
    1000, 992, 982, 973, 964, 955, 946, 938, 929, 920, 912, 903,
    894, 886, 878, 869, 861, 853, 845, 837, 829, 821, 812, 804,
    796, 788, 780, 772, 765, 757, 749, 741, 733, 725, 717, 709,
    701, 693, 685, 677, 669, 661, 653, 645, 637, 628, 620, 612,
    604, 596, 588, 580, 571, 563, 555, 547, 539, 531, 522, 514,
    506, 497, 489, 481, 472, 464, 455, 447, 438, 430, 421, 412,
    403, 394, 385, 376, 367, 357, 348, 338, 329, 319, 308, 298,
    287, 276, 265, 254, 242, 230, 218, 205, 192, 178, 164, 149,
    134, 117, 99, 79, 58, 35, 5,
))


def gw_fault(counts):
    """What a count means: GW_FINE where there is a level."""
    if counts < 0 or counts > GW_FULL_COUNT:
        return GW_NO_COUNT
    if counts <= 10:
        return GW_SHORT
    if counts <= 21:
        return GW_BELOW
    if counts <= 478:
        return GW_FINE
    if counts <= 826:
        return GW_ABOVE
    return GW_OPEN


def gw_level_tenths(counts):
    """The figure in tenths of a percent, or GW_NO_LEVEL."""
    if gw_fault(counts) != GW_FINE:
        return GW_NO_LEVEL
    i = (counts >> 2) - 14
    return gw_levels[max(0, min(len(gw_levels) - 1, i))]
