#include "models/root.h"

#include <math.h>
#include <stdbool.h>

enum { STEP_LIMIT = 200, NEWTON_LIMIT = 40 };

/* Relative step below which one more Newton step no longer changes the answer (its error is the
 * square of this). */
static const double small_step = 1e-13;

/* A place between the ends; when an end is infinite, further and further out from `x`. */
static double halve(double x, double lower, double upper, double reach)
{
    if (isfinite(lower) && isfinite(upper)) {
        return lower + 0.5 * (upper - lower);
    }
    if (isfinite(lower)) {
        return x + reach;
    }
    return isfinite(upper) ? x - reach : x;
}

double root_find(root_function function, const void *user, double guess, double lower, double upper)
{
    double x = guess;
    double reach = 1.0;
    if (!(x > lower && x < upper)) {
        x = halve(0.0, lower, upper, reach);
    }
    for (int i = 0; i < STEP_LIMIT; i++) {
        const struct root_value now = function(user, x);
        if (!(now.value < 0.0 || now.value > 0.0)) {
            return x;
        }
        if (now.value > 0.0) {
            upper = x;
        } else {
            lower = x;
        }
        double next = now.slope > 0.0 ? x - now.value / now.slope : (double)NAN;
        const bool is_newton = i < NEWTON_LIMIT || i % 2 == 0;
        if (!is_newton || !(next >= lower && next <= upper)) {
            next = halve(x, lower, upper, reach);
            reach *= 2.0;
        }
        if (fabs(next - x) <= small_step * fabs(next)) {
            return next;
        }
        x = next;
    }
    return x;
}
