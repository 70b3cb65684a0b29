#include "solver/study/spread.h"

#include <math.h>
#include <stdbool.h>

/* Below -38 the standard normal distribution is nothing in double precision. */
static const double NORMAL_FARTHEST = 38.0;
enum { HALVINGS = 64 }; /* 76/2^64 is below the spacing of doubles near 1e-3 */

static double normal_below(double z)
{
    return 0.5 * erfc(-z / sqrt(2.0));
}

/* Halving needs no coefficients from a table and cannot fail; the upper half by symmetry, where
 * shares are exact again. */
double spread_normal_quantile(double share)
{
    const bool is_upper = share > 0.5;
    const double below = is_upper ? 1.0 - share : share;
    double low = -NORMAL_FARTHEST;
    double high = 0.0;
    for (int i = 0; i < HALVINGS; i++) {
        const double middle = 0.5 * (low + high);
        if (normal_below(middle) < below) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return is_upper ? -0.5 * (low + high) : 0.5 * (low + high);
}

double spread_value(const struct spread *spread, double share)
{
    switch (spread->kind) {
    case SPREAD_LISTED:
        return fmin(floor(share * spread->count), (double)spread->count - 1.0);
    case SPREAD_EVEN:
        break;
    case SPREAD_NORMAL: {
        const double below = normal_below((spread->low - spread->mean) / spread->deviation);
        const double up_to = normal_below((spread->high - spread->mean) / spread->deviation);
        const double z = spread_normal_quantile(below + share * (up_to - below));
        return fmin(fmax(spread->mean + spread->deviation * z, spread->low), spread->high);
    }
    }
    return spread->low + share * (spread->high - spread->low);
}

int spread_level_count(const struct spread *spread, int asked)
{
    return spread->kind == SPREAD_LISTED ? spread->count : asked;
}

double spread_level(const struct spread *spread, int level, int count)
{
    if (spread->kind == SPREAD_LISTED) {
        return (double)level;
    }
    if (spread->kind == SPREAD_NORMAL) {
        return spread_value(spread, ((double)level + 0.5) / (double)count);
    }
    return level == count - 1
               ? spread->high
               : spread->low + (spread->high - spread->low) * (double)level / (double)(count - 1);
}
