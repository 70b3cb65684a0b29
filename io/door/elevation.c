#include "io/door/elevation.h"

#include <math.h>

/* Elevation said at the end of part i - 1, which is the start of part i; NAN. */
static double said_between(int count, const struct part parts[], int i)
{
    if (i > 0 && isfinite(parts[i - 1].end)) {
        return parts[i - 1].end;
    }
    return i < count ? parts[i].start : (double)NAN;
}

/* Parts from `first` up to (not with) `last`, from elevation `low` to `high`. */
static void fill(struct part parts[], int first, int last, double low, double high)
{
    double length = 0;
    double done = 0;
    for (int i = first; i < last; i++) {
        length += parts[i].length;
    }
    for (int i = first; i < last; i++) {
        parts[i].elevation_from = length > 0 ? low + (high - low) * (done / length) : low;
        done += parts[i].length;
        parts[i].elevation_to = length > 0 ? low + (high - low) * (done / length) : low;
    }
    if (last > first) {
        parts[last - 1].elevation_to = high;
    }
}

void elevation_settle(int count, struct part parts[], double first, double last)
{
    int known = 0;
    double at = isfinite(first) ? first : said_between(count, parts, 0);
    if (!isfinite(at)) {
        /* Nothing is said of the start: level with the first thing known. */
        for (int i = 1; i <= count && !isfinite(at); i++) {
            at = said_between(count, parts, i);
        }
        at = isfinite(at) ? at : isfinite(last) ? last : 0;
    }
    for (int i = 1; i <= count; i++) {
        double said = said_between(count, parts, i);
        if (i == count && !isfinite(said)) {
            said = isfinite(last) ? last : at;
        }
        if (isfinite(said)) {
            fill(parts, known, i, at, said);
            known = i;
            at = said;
        }
    }
}
