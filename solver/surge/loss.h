/* Loss: head lost to friction in one reach, as the characteristic method wants it.
 *
 * Along a reach the pipe equations give, with half of the friction taken at each of its ends
 * (trapezoidal rule, second order, stable at any friction; Wylie & Streeter 1993, ch. 3),
 *     2 B Q + F(Q) = d,     d = p - m
 * where F is the drop of the pipe's own steady law over one reach, p and m the two characteristic
 * values that arrive at a node and B the impedance a/(gA). The kernel only needs G(d) = F(Q(d)).
 *
 * Three forms: no loss at all; the purely quadratic law in closed form, which where k|d| is small
 * is summed as its series (the series of Catalan's numbers, its first term left out spread over
 * those before it by Chebyshev's polynomial: better than 4e-12 of the loss) without root and
 * division, with as few terms as water of 20 m/s needs; every other law as a table of cubics on
 * intervals an eighth of an octave wide from where it leaves the straight line of laminar flow,
 * made from the steady law itself (value and slope exact at the joints, between them better than
 * 1e-6 of the loss; about 1e-4 in the interval where a law has a kink of curvature). The table is
 * scaled so that it meets the steady law exactly at the steady flow: a steady start is then held to
 * round-off. */
#ifndef SOLVER_SURGE_LOSS_H
#define SOLVER_SURGE_LOSS_H

#include "models/arena.h"
#include "models/each_width.h"
#include "models/element.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum loss_kind { LOSS_NONE, LOSS_QUADRATIC, LOSS_TABLE };

enum { LOSS_TERMS = 4 };

/* Bits of a number below those that tell its interval: of 52 of its mantissa, three more than the
 * exponent. */
enum { LOSS_KEY_SHIFT = 49 };

/* What a loss is made from. */
struct loss_law {
    const struct element *element; /* the pipe's steady law ... */
    const void *data;
    const struct water *water;
    double reaches;     /* ... over this many reaches */
    double impedance;   /* B = a/(gA), s/m2 */
    double area;        /* m2 */
    double steady_flow; /* m3/s where it must be exact */
};

struct loss {
    enum loss_kind kind;
    double curvature; /* 1/m, k of G = k d|d|/(1 + sqrt(1 + k|d|))^2; table: beyond its end */
    int terms;        /* quadratic: of its series, 2 to LOSS_TERMS */
    double series[LOSS_TERMS]; /* G = d |d| (c0 + c1 |d| + ...); those behind `terms` are 0 */
    double series_end;         /* m, largest |d| for which the series is taken */
    int64_t first_key;         /* table: key of its first interval */
    int count;                 /* table: intervals */
    double *cubics;   /* [count + 1][4] coefficients by distance from the interval's start; the
                         first is the straight line from 0 to the first interval */
    double *steepest; /* [count + 1] the largest |dG/dd| in each of these and all below it */
};

/* False: memory ended. */
MUST_CHECK bool loss_init(struct loss *loss, const struct loss_law *law, struct arena *arena,
                          struct failure *failure);

/* The sum of so many terms of a series, with its sign; the same digits for any number that leaves
 * out noughts only. */
static inline double loss_sum(const double series[LOSS_TERMS], int terms, double difference)
{
    double size = fabs(difference);
    double sum = series[terms - 1];
    for (int i = terms - 2; i >= 0; i--) {
        sum = series[i] + size * sum;
    }
    return difference * size * sum;
}

/* One interval of a table: |G| = c0 + x (c1 + x (c2 + x c3)), x = |d| - start; turned round for
 * falling d it gives G from x = d - start, with the same digits. */
struct loss_interval {
    double start;
    double cubic[4];
    double end; /* of |d|, never turned round */
};

static EACH_BODY double loss_cubic(const double cubic[4], double x)
{
    return cubic[0] + x * (cubic[1] + x * (cubic[2] + x * cubic[3]));
}

/* G of a d in the interval, or |G| of |d| where it is not turned round. */
static EACH_BODY double loss_in_interval(const struct loss_interval *interval, double difference)
{
    return loss_cubic(interval->cubic, difference - interval->start);
}

/* The interval in which |d| = size lies. False: beyond the table's end. */
bool loss_interval_at(const struct loss *loss, double size, struct loss_interval *interval);

/* The cubic of ratio (d - G(d)) in the same interval. */
struct loss_interval loss_driven_in(const struct loss_interval *lost, double ratio);

/* The one interval or the two side by side in which all d lie that are `least` or more, `most` or
 * less, turned round if they are below 0; the second holds from |d| = |start| of it on. How many;
 * 0: more, or beyond the table's end, or both signs, unless all are on the line through rest. */
int loss_intervals(const struct loss *loss, double least, double most,
                   struct loss_interval interval[2]);

/* One interval or two, and between which d they hold, both ends among them: kept from step to step
 * while bounds only widen. */
struct loss_near {
    int count; /* 0: none are known */
    double least;
    double most;
    struct loss_interval interval[2];
};

/* The same as loss_intervals, looked for only where those that are known do not hold. */
int loss_near_intervals(const struct loss *loss, double least, double most, struct loss_near *near);

/* The same with `room` for more of them. */
int loss_few_intervals(const struct loss *loss, double least, double most, int room,
                       struct loss_interval interval[]);

/* The leading bits of |d| (exponent and three of its mantissa): equal for all numbers of one
 * interval, and different for those of two, except that all below the table share its first. */
static inline uint64_t loss_key(double difference)
{
    uint64_t bits;
    memcpy(&bits, &difference, sizeof bits);
    return bits << 1 >> (LOSS_KEY_SHIFT + 1);
}

/* G(d), m, and dG/dd; odd in d, 0 <= slope < 1 up to the table's error. Total. */
struct drop loss_at(const struct loss *loss, double difference);

/* No slope dG/dd is above this where |d| <= size; infinite: not known, beyond a table's end. */
double loss_steepest(const struct loss *loss, double size);

#endif
