/* Throttling valve: a loss that hangs on how far somebody has opened it.
 *
 * A curve gives K by opening. Between its points ln K is linear in the opening; below the smallest
 * opening the capacity 1/sqrt(K) falls linearly to nothing at 0, where the valve is shut. K of the
 * valve is K of the curve plus what its own full-open K has more (or less) than the curve's: the
 * body's loss is added to the gate's. A relative curve (its full-open K is 1) is multiplied
 * instead. Curves of gate, cock and disc: Weisbach 1855, see models/catalogue/throttling.c. */
#ifndef MODELS_THROTTLING_H
#define MODELS_THROTTLING_H

#include "models/element.h"

enum { THROTTLING_POINT_MAX = 24 };

/* How K hangs on opening, for one kind of valve. */
struct throttling_curve {
    const char *name;                     /* "gate", "ball" ..., or the case's own */
    int count;                            /* 1 to THROTTLING_POINT_MAX */
    double opening[THROTTLING_POINT_MAX]; /* share of travel, rising, > 0, the last one 1 */
    double loss[THROTTLING_POINT_MAX];    /* K, > 0, never rising */
    bool is_relative;                     /* K in shares of the full-open K */
    const char *source;
};

/* A valve in its place. */
struct throttling {
    const struct throttling_curve *curve; /* borrowed */
    double area;                          /* m2, bore area its K refers to */
    double open_loss;                     /* K fully open, > 0 */
    double laminar;                       /* K1 of K1/Re; 0: none */
    double opening;                       /* share of travel, 0 to 1 */
};

/* State while things move: the setting is the opening. */
enum { THROTTLING_STATE_OPENING, THROTTLING_STATE_COUNT };

extern const struct element throttling_element; /* kind "throttling valve" */

/* K at `opening`; openings below a millionth count as a millionth, above 1 as 1. */
double throttling_loss(const struct throttling *valve, double opening);

/* The laws at any opening (an element with a throttling valve in it uses them). */
struct drop throttling_drop(const struct throttling *valve, const struct water *water,
                            double opening, double flow);
struct span throttling_span(double opening); /* {0, 0} when shut (below a millionth) */

/* Points in range and in order; the first fault is told. */
MUST_CHECK bool throttling_curve_check(const struct throttling_curve *curve, struct place place,
                                       struct failure *failure);

/* Every number finite and in its range, and its curve; the first fault is told. */
MUST_CHECK bool throttling_check(const struct throttling *valve, struct place place,
                                 struct failure *failure);

/* --- catalogue of curves --- */

/* A curve with the full-open K and K1 of the valve it was made for. */
struct throttling_kind {
    struct throttling_curve curve;
    double open_loss;
    double laminar;
};

int throttling_catalogue_count(void);
const struct throttling_kind *throttling_catalogue_at(int index);

/* The kind of this name, or NULL; then *nearest (if not NULL) is the closest name to offer. */
const struct throttling_kind *throttling_catalogue_find(const char *name, const char **nearest);

#endif
