#include "models/four_quadrant.h"

#include "models/circle.h"

#include <math.h>
#include <stddef.h>

struct quadrant_value four_quadrant_value(const double entries[FOUR_QUADRANT_POINTS], double a,
                                          double v)
{
    const double spacing = circle_pi / 44.0;
    const double square = a * a + v * v;
    if (!(square > 0.0)) {
        const struct quadrant_value nothing = {0.0, 0.0, 0.0};
        return nothing;
    }
    const double position = (circle_pi + atan2(v, a)) / spacing;
    int i = (int)position;
    if (i > FOUR_QUADRANT_POINTS - 2) {
        i = FOUR_QUADRANT_POINTS - 2;
    }
    if (i < 0) {
        i = 0;
    }
    const double rise = entries[i + 1] - entries[i];
    const double w = entries[i] + (position - i) * rise;
    const double w_slope = rise / spacing; /* dW/dx; dx/dv = a/square, dx/da = -v/square */
    const struct quadrant_value result = {square * w, 2.0 * a * w - v * w_slope,
                                          2.0 * v * w + a * w_slope};
    return result;
}

static double look_up(const double entries[], double a, double v, double *slope)
{
    const struct quadrant_value found = four_quadrant_value(entries, a, v);
    if (slope != NULL) {
        *slope = found.by_flow;
    }
    return found.value;
}

double four_quadrant_head(const struct four_quadrant *table, double a, double v, double *slope)
{
    return look_up(table->head, a, v, slope);
}

double four_quadrant_torque(const struct four_quadrant *table, double a, double v, double *slope)
{
    return look_up(table->torque, a, v, slope);
}
