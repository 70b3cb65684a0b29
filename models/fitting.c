#include "models/fitting.h"

#include <math.h>
#include <stddef.h>

/* h = r Q|Q|, or h = (K + K1/Re) v|v|/2g with Re of the bore whose area is `area`; both odd in flow
 * but for the two directions' own K. */
static struct drop drop(const void *data, const struct water *water, double flow)
{
    static const double quarter_pi = 0.78539816339744830962;
    const struct fitting *fitting = data;
    const double size = fabs(flow);
    double quadratic = fitting->resistance;
    double linear = 0.0;
    if (!(quadratic > 0.0)) {
        const double per_area = 1.0 / (2.0 * water->gravity * fitting->area);
        quadratic = (flow < 0.0 ? fitting->loss_back : fitting->loss) * per_area / fitting->area;
        linear = fitting->laminar * water->viscosity * per_area / sqrt(fitting->area / quarter_pi);
    }
    return (struct drop){.head = copysign(size * (linear + quadratic * size), flow),
                         .slope = linear + 2.0 * quadratic * size};
}

static struct span span(const void *data, const struct water *water)
{
    (void)water;
    const struct fitting *fitting = data;
    return (struct span){.lower = fitting->is_one_way ? 0.0 : -HUGE_VAL, .upper = HUGE_VAL};
}

const struct element fitting_element = {
    .kind = "fitting", .drop = drop, .span = span, .opening = NULL, .pipe = NULL, .motion = NULL};
