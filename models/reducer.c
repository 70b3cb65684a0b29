#include "models/reducer.h"

#include "models/bore_change.h"
#include "models/circle.h"

#include <math.h>
#include <stddef.h>

static struct drop drop(const void *data, const struct water *water, double flow)
{
    const struct reducer *reducer = data;
    return fitting_element.drop(&reducer->fitting, water, flow);
}

static struct span span(const void *data, const struct water *water)
{
    const struct reducer *reducer = data;
    return fitting_element.span(&reducer->fitting, water);
}

const struct element reducer_element = {
    .kind = "reducer", .drop = drop, .span = span, .opening = NULL, .pipe = NULL, .motion = NULL};

bool reducer_init(struct reducer *reducer, struct place place, struct failure *failure)
{
    const double from = reducer->bore_from;
    const double to = reducer->bore_to;
    if (!(from > 0.0 && isfinite(from) && to > 0.0 && isfinite(to))) {
        return fail(failure, FAILURE_INPUT, place,
                    "reducer: both bores must be above 0; %g m and %g m given", from, to);
    }
    if (!(reducer->angle >= 0.0 && reducer->angle <= circle_pi)) {
        return fail(failure, FAILURE_INPUT, place,
                    "reducer: its full cone angle must be 0 to 180 deg; it is %g deg",
                    reducer->angle * 180.0 / circle_pi);
    }
    const double small = fmin(from, to);
    const double ratio = small / fmax(from, to);
    const bool is_sudden = !(reducer->angle > 0.0);
    const double narrowing = is_sudden ? bore_change_contraction(ratio)
                                       : bore_change_tapered_contraction(ratio, reducer->angle);
    const double widening = is_sudden ? bore_change_enlargement(ratio)
                                      : bore_change_tapered_enlargement(ratio, reducer->angle);
    const bool narrows = to < from;
    reducer->fitting = (struct fitting){.area = circle_area(small),
                                        .loss = narrows ? narrowing : widening,
                                        .loss_back = narrows ? widening : narrowing};
    return true;
}
