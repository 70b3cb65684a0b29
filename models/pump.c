#include "models/pump.h"

#include "models/circle.h"
#include "models/monotone_cubic.h"

#include <math.h>

/* How far from no flow, as flow to speed ratio, the pull of reverse flow reaches. */
static const double pull_reach = 0.1;

/* Adds offset a^2 - pull a v/(1 + (v/(r a))^2) at speed a > 0. */
static void join_back(const struct pump_join *join, double a, double v, struct quadrant_value *h)
{
    const double r = pull_reach * pull_reach;
    const double sum = r * a * a + v * v;
    const double pull = join->head_pull * r * a / sum;
    h->value += join->head_offset * a * a - pull * a * a * v;
    h->by_speed += 2.0 * join->head_offset * a - pull * a * v * (r * a * a + 3.0 * v * v) / sum;
    h->by_flow -= pull * a * a * (r * a * a - v * v) / sum;
}

struct quadrant_value pump_head_surface(const struct pump *pump, double flow, double speed)
{
    const double last = pump->flow[pump->count - 1];
    if (speed > 0.0 && flow >= 0.0 && flow <= last * speed) {
        const double share = fmin(flow / speed, last);
        double slope = 0.0;
        const double head =
            monotone_cubic_value(pump->count, pump->flow, pump->head, pump->slope, share, &slope);
        const struct quadrant_value normal = {speed * speed * head,
                                              2.0 * speed * head - flow * slope, speed * slope};
        return normal;
    }
    const double v = flow / pump->best_flow;
    struct quadrant_value h = four_quadrant_value(pump->quadrants.head, speed, v);
    if (speed > 0.0 && flow < 0.0) {
        join_back(&pump->back, speed, v, &h);
    } else if (speed > 0.0) {
        const struct pump_join *join = &pump->ahead;
        const double from = last / pump->best_flow;
        h.value += speed * (join->head_offset * speed - join->head_pull * (v - from * speed));
        h.by_speed += 2.0 * join->head_offset * speed - join->head_pull * (v - 2.0 * from * speed);
        h.by_flow -= join->head_pull * speed;
    }
    h.value *= pump->best_head;
    h.by_speed *= pump->best_head;
    h.by_flow *= pump->best_head / pump->best_flow;
    return h;
}

struct quadrant_value pump_torque_surface(const struct pump *pump, double flow, double speed)
{
    const double last = pump->flow[pump->count - 1];
    const bool is_normal = speed > 0.0 && flow >= 0.0 && flow <= last * speed;
    if (is_normal && pump->power_count > 0) {
        const double share = fmin(flow / speed, last);
        double slope = 0.0;
        const double power = monotone_cubic_value(pump->count, pump->flow, pump->power,
                                                  pump->power_slope, share, &slope);
        const double turns = 2.0 * circle_pi * pump->speed;
        const struct quadrant_value normal = {speed * speed * power / turns,
                                              (2.0 * speed * power - flow * slope) / turns,
                                              speed * slope / turns};
        return normal;
    }
    const double v = flow / pump->best_flow;
    struct quadrant_value torque = four_quadrant_value(pump->quadrants.torque, speed, v);
    if (speed > 0.0 && !is_normal) {
        const double offset = flow < 0.0 ? pump->back.torque_offset : pump->ahead.torque_offset;
        torque.value += offset * speed * speed;
        torque.by_speed += 2.0 * offset * speed;
    }
    torque.value *= pump->best_torque;
    torque.by_speed *= pump->best_torque;
    torque.by_flow *= pump->best_torque / pump->best_flow;
    return torque;
}

struct drop pump_head(const struct pump *pump, double flow, double speed)
{
    const struct quadrant_value head = pump_head_surface(pump, flow, speed);
    const struct drop result = {head.value, head.by_flow};
    return result;
}

double pump_torque(const struct pump *pump, double flow, double speed)
{
    return pump_torque_surface(pump, flow, speed).value;
}

double pump_power(const struct pump *pump, double flow, double speed)
{
    if (pump->power_count == 0) {
        return NAN;
    }
    return speed * speed * speed *
           monotone_cubic_value(pump->count, pump->flow, pump->power, pump->power_slope,
                                flow / speed, 0);
}

double pump_npsh(const struct pump *pump, double flow, double speed)
{
    if (pump->npsh_count == 0) {
        return NAN;
    }
    return speed * speed *
           monotone_cubic_value(pump->count, pump->flow, pump->npsh, pump->npsh_slope, flow / speed,
                                0);
}

double pump_npsh_available(const struct water *water, double head, double axis)
{
    return head - axis - water_vapour_head(water);
}

double pump_specific_speed(const struct pump *pump)
{
    return 60.0 * pump->speed * sqrt(pump->best_flow) / pow(pump->best_head, 0.75);
}
