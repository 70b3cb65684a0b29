#include "models/non_return_hold.h"

#include "models/circle.h"

#include <math.h>

struct drop non_return_hold_drop(const struct non_return *valve, const struct instant *now,
                                 const double old[], double flow, double next[])
{
    const double area = circle_area(valve->bore);
    const double held = old[NON_RETURN_STATE_OPENING];
    const double passing =
        fmax(non_return_own_passing(&valve->own, held).value, valve->opening_floor);
    const double loss = valve->full_open_loss / (passing * passing) + valve->extra_loss;
    const double factor = loss / (2.0 * now->water->gravity * area * area);
    const struct drop fixed = {factor * flow * fabs(flow), 2.0 * factor * fabs(flow)};
    if (!(flow > 0.0)) {
        return fixed;
    }
    /* Forward flow opens it further where that costs less. Asking so, and not by the opening, keeps
     * the law without a jump at no flow, also of a part that has only just left its seat. */
    const struct drop floating = non_return_drop(valve, now->water, flow);
    if (floating.head > fixed.head) {
        return fixed;
    }
    next[NON_RETURN_STATE_OPENING] = fmax(held, non_return_opening(valve, now->water, flow));
    return floating;
}

bool non_return_hold_settle(const struct non_return *valve, const struct instant *now,
                            const double old[], double flow, double next[])
{
    const double before = old[NON_RETURN_STATE_FLOW];
    const double limit = -valve->own.stick_velocity * circle_area(valve->bore);
    const double start = now->time - now->step;
    if (flow > limit || !(flow < before || before <= limit)) {
        next[NON_RETURN_STATE_TURNED] = NON_RETURN_NOT_YET;
        return false;
    }
    if (!(old[NON_RETURN_STATE_TURNED] >= 0.0)) {
        const double share = before > limit ? (before - limit) / (before - flow) : 0.0;
        next[NON_RETURN_STATE_TURNED] = start + share * now->step;
    }
    const double shut = next[NON_RETURN_STATE_TURNED] + valve->own.shut_delay;
    if (shut > now->time) {
        return false;
    }
    const double share = fmax((shut - start) / now->step, 0.0);
    const double reverse = fmin(limit, before + share * (flow - before));
    next[NON_RETURN_STATE_OPENING] = 0.0;
    next[NON_RETURN_STATE_SPEED] = 0.0;
    next[NON_RETURN_STATE_TURNED] = NON_RETURN_NOT_YET;
    next[NON_RETURN_STATE_LIFTED] = 0.0;
    next[NON_RETURN_STATE_SHUTS] += 1.0;
    next[NON_RETURN_STATE_SHUT_TIME] = shut;
    next[NON_RETURN_STATE_LAST_REVERSE] = reverse;
    next[NON_RETURN_STATE_REVERSE_FLOW] = fmin(reverse, next[NON_RETURN_STATE_REVERSE_FLOW]);
    return true;
}
