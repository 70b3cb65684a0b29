/* Loss: head lost to friction in one reach, as the characteristic method wants it.
 *
 * Along a reach the pipe equations give, with half of the friction taken at each of its ends
 * (trapezoidal rule, second order, stable at any friction; Wylie & Streeter 1993, ch. 3),
 *     2 B Q + F(Q) = d,     d = p - m
 * where F is the drop of the pipe's own steady law over one reach, p and m the two characteristic
 * values that arrive at a node and B the impedance a/(gA). The kernel only needs G(d) = F(Q(d)).
 *
 * Three forms: no loss at all; the purely quadratic law in closed form, which where k|d| is small
 * is summed as its series (the series of Catalan's numbers; cut where it is 4e-12 of the loss)
 * without root and division; every other law as a table of cubics on intervals an eighth of an
 * octave wide, made from the steady law itself (value and slope exact at the joints, between them
 * better than 1e-6 of the loss; about 1e-4 in the interval where a law has a kink of curvature).
 * The table is scaled so that it meets the steady law exactly at the steady flow: a steady start is
 * then held to round-off. */
#ifndef SOLVER_SURGE_LOSS_H
#define SOLVER_SURGE_LOSS_H

#include "models/arena.h"
#include "models/element.h"

#include <stdint.h>
#include <string.h>

enum loss_kind { LOSS_NONE, LOSS_QUADRATIC, LOSS_TABLE };

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
    double curvature;  /* 1/m, k of G = k d|d|/(1 + sqrt(1 + k|d|))^2; table: beyond its end */
    int64_t first_key; /* table: key of its first interval */
    int count;         /* table: intervals */
    double *cubics;    /* [count + 1][4] coefficients by distance from the interval's start; the
                          first is the straight line from 0 to the first interval */
};

/* False: memory ended. */
MUST_CHECK bool loss_init(struct loss *loss, const struct loss_law *law, struct arena *arena,
                          struct failure *failure);

/* Largest k|d| for which the series is taken. */
static const double loss_series_end = 1.0 / 128.0;

/* The series, with its sign, for x = k|d| <= loss_series_end. */
static inline double loss_series(double difference, double x)
{
    return difference * x *
           (0.25 + x * (-0.125 + x * (5.0 / 64.0 + x * (-7.0 / 128.0 + x * (21.0 / 512.0)))));
}

/* One interval of a table: |G| = c0 + x (c1 + x (c2 + x c3)), x = |d| - start. */
struct loss_interval {
    double start;
    double cubic[4];
};

/* The interval in which |d| = size lies. False: beyond the table's end. */
bool loss_interval_at(const struct loss *loss, double size, struct loss_interval *interval);

/* The leading bits of |d| (exponent and three of its mantissa): equal for all numbers of one
 * interval, and different for those of two, except that all below the table share its first. */
static inline uint64_t loss_key(double difference)
{
    uint64_t bits;
    memcpy(&bits, &difference, sizeof bits);
    return bits << 1 >> 50;
}

/* G(d), m, and dG/dd; odd in d, 0 <= slope < 1 up to the table's error. Total. */
struct drop loss_at(const struct loss *loss, double difference);

/* G of many differences at once, m, the same digits as loss_at. */
void loss_row(const struct loss *loss, int count, const double difference[], double lost[]);

#endif
