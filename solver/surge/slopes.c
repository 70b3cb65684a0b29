#include "solver/surge/slopes.h"

#include "solver/surge/four.h"

#include <math.h>
#include <stddef.h>

/* Far below what anybody could measure, far above what rounding does to water that stands still. */
const double slopes_tolerance = 1e-6;

/* Half of the strands of each line. */
static EACH_BODY void find_half(int count, const double *restrict value, double *restrict least,
                                double *restrict most)
{
    four low;
    four high;
    four here;
    four_fill((double)INFINITY, &low);
    four_fill(-(double)INFINITY, &high);
    four_load(value, &here);
    for (int v = 1; v <= count; v++) {
        four next;
        four_load(value + (ptrdiff_t)v * WIDEST, &next);
        const four slope = next - here;
        four_lower(&slope, &low);
        four_raise(&slope, &high);
        here = next;
    }
    four_store(least, &low);
    four_store(most, &high);
}

EACH_WIDTH
static void find(int count, const double *restrict value, double *restrict least,
                 double *restrict most)
{
    for (int j = 0; j < WIDEST; j += FOUR) {
        find_half(count, value + j, least + j, most + j);
    }
}

void slopes_find(int count, const double right[], const double left[], struct slopes *slopes)
{
    find(count, right, slopes->least_right, slopes->most_right);
    find(count, left, slopes->least_left, slopes->most_left);
}

static inline double lesser(double one, double other)
{
    return other < one ? other : one;
}

static struct slopes join(int pieces, const struct slopes piece[])
{
    struct slopes all = piece[0];
    for (int i = 1; i < pieces; i++) {
        const struct slopes *other = &piece[i];
        for (int j = 0; j < WIDEST; j++) {
            all.least_right[j] = lesser(all.least_right[j], other->least_right[j]);
            all.most_right[j] = -lesser(-all.most_right[j], -other->most_right[j]);
            all.least_left[j] = lesser(all.least_left[j], other->least_left[j]);
            all.most_left[j] = -lesser(-all.most_left[j], -other->most_left[j]);
        }
    }
    return all;
}

struct slopes_ways slopes_find_ways(int pieces, const struct slopes piece[],
                                    const struct slopes_law *law)
{
    const struct slopes all = join(pieces, piece);
    const double allowed = slopes_allowed(law->steps);
    /* With w the width of all slopes together and steepest s, after k steps no slope of p is above
     * u - (1 - s)^k (u - most p), none of m below l + (1 - s)^k (least m - l), u and l the greatest
     * and least of all: so step k raises a head by (1 - s)^k (w + rise) - w at least, which is no
     * less than nothing where rise >= ((1 - s)^-n - 1) w, for the small exponents that are let
     * through at most 1.3 s n w. */
    const double growth = law->steepest * law->steps;
    struct slopes_ways ways = {0, 0};
    if (!(growth < 0.25)) {
        return ways;
    }
    for (int j = 0; j < WIDEST; j++) {
        const double width = -lesser(-all.most_right[j], -all.most_left[j]) -
                             lesser(all.least_right[j], all.least_left[j]);
        /* two values make a slope, and two slopes a rise */
        const double changed = 1.3 * growth * width + 4.0 * law->rounding;
        const double rise = piece[0].least_left[j] - all.most_right[j];
        const double fall = all.least_right[j] - piece[0].most_left[j];
        ways.rising |= (unsigned)(rise - changed >= allowed) << j;
        ways.falling |= (unsigned)(fall - changed >= allowed) << j;
    }
    return ways;
}
