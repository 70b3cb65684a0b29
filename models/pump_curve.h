/* Pump curve: curves made from few numbers, and curves whose head rises with flow before it falls.
 *
 * Three numbers: H = H0 - a Q^n through the shut-off head and one duty point (n = 2, the parabola
 * of any textbook on pumps) or two (n from both). An estimate: the maker's curve is better.
 *
 * A rising part makes two duty points possible, so it is no monotone law. Its pump carries the
 * least falling curve above it (level at the top head up to the flow of the top, then the maker's
 * own) as `head`, and the maker's curve here; an element of its own states the true law through
 * the coupling, also while it runs down or up: the gap between both is taken at flow/speed and goes
 * with the square of the speed. */
#ifndef MODELS_PUMP_CURVE_H
#define MODELS_PUMP_CURVE_H

#include "models/pump.h"

/* The maker's points, up to the top only what differs from struct pump. */
struct pump_curve {
    int count;                    /* as the pump's */
    double head[PUMP_POINT_MAX];  /* m, rising to the top, then falling */
    double slope[PUMP_POINT_MAX]; /* of the monotone cubic */
    int top;                      /* index of the highest head */
};

/* Kind "pump with rising curve"; its data is a struct pump_unit whose pump has a `rising`. */
extern const struct element rising_pump_element;

/* True of both kinds of pump: with a falling curve, and with one that rises somewhere. */
bool pump_is_kind(const struct element *element);

/* Fills count, flow and head of `pump` (whose name and place are used in messages) from the
 * shut-off head, m, and `duties` (1 or 2) duty points, m3/s and m, with flows rising and heads
 * falling. The curve goes on to 1.5 times the last duty flow, or to no head. */
MUST_CHECK bool pump_curve_estimate(struct pump *pump, double shut_off, int duties,
                                    const double flow[], const double head[],
                                    struct failure *failure);

/* True when the heads of `pump` rise somewhere. */
bool pump_curve_rises(const struct pump *pump);

/* Before pump_init: moves the maker's heads of `pump` to `curve` and gives it the nearest falling
 * ones. Fails when they rise again after a fall, or have their top at the last flow. */
MUST_CHECK bool pump_curve_split(struct pump *pump, struct pump_curve *curve,
                                 struct failure *failure);

/* Head added, m, on the maker's curve at `flow` m3/s and `speed` (share of rated), and its
 * derivative by flow, which is positive on the rising part. */
struct drop pump_curve_head(const struct pump *pump, double flow, double speed);

#endif
