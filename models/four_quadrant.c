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

struct four_quadrant four_quadrant_between(double specific_speed)
{
    const int last = four_quadrant_count() - 1;
    int upper = 0; /* the tables stand by rising specific speed */
    while (upper <= last && four_quadrant_at(upper)->specific_speed < specific_speed) {
        upper++;
    }
    if (upper == 0 || upper > last) {
        return *four_quadrant_at(upper == 0 ? 0 : last);
    }
    const struct four_quadrant *below = four_quadrant_at(upper - 1);
    const struct four_quadrant *above = four_quadrant_at(upper);
    const double share = log(specific_speed / below->specific_speed) /
                         log(above->specific_speed / below->specific_speed);
    struct four_quadrant between = *above;
    if (!(share < 1.0)) {
        return between;
    }
    between.name = "between tables";
    between.specific_speed = specific_speed;
    for (int i = 0; i < FOUR_QUADRANT_POINTS; i++) {
        between.head[i] = below->head[i] + share * (above->head[i] - below->head[i]);
        between.torque[i] = below->torque[i] + share * (above->torque[i] - below->torque[i]);
    }
    return between;
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
