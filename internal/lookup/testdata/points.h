/*
 * Lookup table of a level sender: counts to tenths of a percent.
 * From: Tidewater Kitchen (invented), main tank
 * Date: 2025-03-01
 * Input: pull-up of 470 Ω, 12 bits
 * 100 % = as full as this tank may be filled (80 % on the dial).
 * 8 points with straight lines between them, rounded to the nearest step, a half upwards; held at both ends.
 * Largest error against the curve, every count from 4 to 656 tried: 0.188 points at count 10. One count is 0.335 points at most.
 * The error is the table's own. The sender's and the input's come on top of it.
 * -1 is no level. What the counts mean:
 *   0 to 684: a level
 *   685 to 2000: more ohms than the sender was seen to give
 *   2001 to 4095: an open wire
 * A short can't be told from a level: it reads like a tank that is nearly empty.
 * CAUTION: Never fill beyond the permitted fill (80 %), whatever the display shows.
 * CAUTION: This table is no cut-off and no leak detector: nothing that fills a tank may be started or stopped by it.
 * CAUTION: Circuits at a fuel or gas tank follow the code for hazardous places; leave them to someone licensed. Keep the current through the sender at 1 mA or less.
 */
#ifndef GW_LOOKUP_H
#define GW_LOOKUP_H

#include <stdint.h>

#define GW_NO_LEVEL (-1)
#define GW_FULL_COUNT 4095u
#define GW_FINE 0 /* a level */
#define GW_SHORT 1 /* a short */
#define GW_BELOW 2 /* fewer ohms than the sender was seen to give */
#define GW_ABOVE 3 /* more ohms than the sender was seen to give */
#define GW_OPEN 4 /* an open wire */
#define GW_NO_COUNT 5 /* not a count of this converter */

#define GW_POINTS 8u
static const uint16_t gw_counts[8] = {
    4, 26, 66, 153, 381, 460, 527, 580,
};
static const int16_t gw_levels[8] = {
    2, 66, 153, 295, 619, 747, 878, 1000,
};

/* What a count means: GW_FINE where there is a level. */
static inline int gw_fault(uint16_t counts)
{
    if (counts > GW_FULL_COUNT) return GW_NO_COUNT;
    if (counts <= 684u) return GW_FINE;
    if (counts <= 2000u) return GW_ABOVE;
    return GW_OPEN;
}

/* The figure in tenths of a percent, or GW_NO_LEVEL. */
static inline int32_t gw_level_tenths(uint16_t counts)
{
    uint16_t low = 0u;
    uint16_t high = (uint16_t)(GW_POINTS - 1u);
    int32_t x0, x1, y0, y1, width;

    if (gw_fault(counts) != GW_FINE) return GW_NO_LEVEL;
    if (counts <= gw_counts[low]) return gw_levels[low];
    if (counts >= gw_counts[high]) return gw_levels[high];
    while (high - low > 1) {
        uint16_t middle = (uint16_t)((low + high) / 2);
        if (gw_counts[middle] <= counts) low = middle;
        else high = middle;
    }
    x0 = (int32_t)gw_counts[low];
    x1 = (int32_t)gw_counts[high];
    y0 = (int32_t)gw_levels[low];
    y1 = (int32_t)gw_levels[high];
    width = x1 - x0;
    return (y0 + ((y1 - y0) * ((int32_t)counts - x0) + width / 2) / width);
}

#endif
