#include "models/strainer.h"

#include "models/velocity_head.h"

#include <math.h>
#include <stddef.h>

static const double least_free = 1e-6; /* share of its area below which nothing passes */

double strainer_loss(const struct strainer *strainer)
{
    const double free_share = fmax(1.0 - strainer->blocked, least_free);
    return strainer->clean_loss / (free_share * free_share);
}

static struct drop drop(const void *data, const struct water *water, double flow)
{
    const struct strainer *strainer = data;
    return velocity_head_drop(strainer_loss(strainer), strainer->laminar, strainer->area, water,
                              flow);
}

static struct span span(const void *data, const struct water *water)
{
    (void)water;
    const struct strainer *strainer = data;
    if (1.0 - strainer->blocked < least_free) {
        return (struct span){.lower = 0.0, .upper = 0.0};
    }
    return (struct span){.lower = -HUGE_VAL, .upper = HUGE_VAL};
}

const struct element strainer_element = {
    .kind = "strainer", .drop = drop, .span = span, .opening = NULL, .pipe = NULL, .motion = NULL};

static double within(double value, double low, double high)
{
    return fmin(fmax(value, low), high);
}

double strainer_plate_loss(double free_share)
{
    const double f = within(free_share, 1e-3, 1.0);
    const double jet = (0.707 * sqrt(1.0 - f) + 1.0 - f) / f;
    return jet * jet;
}

double strainer_screen_loss(double free_share)
{
    const double f = within(free_share, 1e-3, 1.0);
    const double wake = 1.0 / f - 1.0;
    return 1.3 * (1.0 - f) + wake * wake;
}

double strainer_refer(double loss, double screen_area, double area)
{
    const double ratio = area / screen_area;
    return loss * ratio * ratio;
}

bool strainer_check(const struct strainer *strainer, struct place place, struct failure *failure)
{
    if (!(strainer->area > 0.0 && isfinite(strainer->area))) {
        return fail(failure, FAILURE_INPUT, place, "strainer: its bore must be above 0");
    }
    if (!(strainer->clean_loss > 0.0 && isfinite(strainer->clean_loss))) {
        return fail(failure, FAILURE_INPUT, place,
                    "strainer: clean loss must be above 0; it is %g; state a loss or a free area",
                    strainer->clean_loss);
    }
    if (!(strainer->laminar >= 0.0 && isfinite(strainer->laminar))) {
        return fail(failure, FAILURE_INPUT, place,
                    "strainer: laminar loss must not be negative; it is %g", strainer->laminar);
    }
    if (!(strainer->blocked >= 0.0 && strainer->blocked <= 1.0)) {
        return fail(failure, FAILURE_INPUT, place,
                    "strainer: blocked share must be 0 to 1; it is %g", strainer->blocked);
    }
    return true;
}
