#include "models/non_return_own.h"

#include "models/circle.h"

#include <math.h>
#include <stddef.h>

struct root_value non_return_own_passing(const struct non_return_own *own, double s)
{
    const int count = own->loss_count;
    if (count == 0 || !(s > 0.0)) {
        const double slope =
            count == 0 ? 1.0 : sqrt(own->loss[count - 1] / own->loss[0]) / own->loss_opening[0];
        return (struct root_value){count == 0 ? s : 0.0, slope};
    }
    if (s <= own->loss_opening[0]) {
        const double slope = sqrt(own->loss[count - 1] / own->loss[0]) / own->loss_opening[0];
        return (struct root_value){slope * s, slope};
    }
    if (s >= 1.0) {
        return (struct root_value){1.0, 0.0};
    }
    int i = 0;
    while (i < count - 2 && s > own->loss_opening[i + 1]) {
        i++;
    }
    const double power = log(own->loss[i] / own->loss[i + 1]) /
                         log(own->loss_opening[i + 1] / own->loss_opening[i]) / 2.0;
    const double passing =
        sqrt(own->loss[count - 1] / own->loss[i]) * pow(s / own->loss_opening[i], power);
    return (struct root_value){passing, power * passing / s};
}

struct root_value non_return_own_force(const struct non_return_own *own, bool is_swing, double x)
{
    const double at = fmax(x, 0.0);
    struct root_value force = {own->preload + own->rate * at + own->weight, own->rate};
    if (is_swing) {
        force.value += own->weight * (sin(at + own->seat_angle) - 1.0);
        force.slope += own->weight * cos(at + own->seat_angle);
    }
    if (x < 0.0) {
        force.slope = 0.0;
    }
    return force;
}

double non_return_own_top(const struct non_return_own *own, bool is_swing)
{
    if (!is_swing || !(own->weight > own->rate)) {
        return INFINITY;
    }
    return fmax(0.0, acos(-own->rate / own->weight) - own->seat_angle);
}

double non_return_own_curve(const struct non_return_own *own, double deceleration)
{
    if (own->curve_count == 0 || !isfinite(deceleration)) {
        return NAN;
    }
    double low = 0.0;
    double low_velocity = 0.0;
    for (int i = 0; i < own->curve_count; i++) {
        const double high = own->curve_deceleration[i];
        const double velocity = own->curve_velocity[i];
        if (deceleration <= high || i == own->curve_count - 1) {
            const double share = (fmax(deceleration, 0.0) - low) / (high - low);
            return low_velocity + share * (velocity - low_velocity);
        }
        low = high;
        low_velocity = velocity;
    }
    return NAN;
}

bool non_return_own_is_held(const struct non_return_own *own)
{
    return own->stick_velocity > 0.0 || own->shut_delay > 0.0;
}

static bool check_numbers(const struct non_return_own *own, const char *type, struct place place,
                          struct failure *failure)
{
    const struct {
        const char *name;
        double value;
        double largest;
    } bounds[] = {
        {"preload", own->preload, 1e9},
        {"rate of its spring", own->rate, 1e9},
        {"weight", own->weight, 1e9},
        {"seat angle", own->seat_angle, circle_pi},
        {"rotation", own->rotation, 10.0},
        {"velocity until which it sticks", own->stick_velocity, 50.0},
        {"shut delay", own->shut_delay, 1e4},
    };
    for (size_t i = 0; i < sizeof bounds / sizeof *bounds; i++) {
        if (!(bounds[i].value >= 0.0) || !(bounds[i].value <= bounds[i].largest)) {
            return fail(failure, FAILURE_INPUT, place,
                        "non-return valve '%s': %s is %.6g in SI units; it must be at least 0 and "
                        "at most %.6g",
                        type, bounds[i].name, bounds[i].value, bounds[i].largest);
        }
    }
    return true;
}

static bool check_loss(const struct non_return_own *own, const char *type, double full_open_loss,
                       struct place place, struct failure *failure)
{
    for (int i = 0; i < own->loss_count; i++) {
        const double opening = own->loss_opening[i];
        const double loss = own->loss[i];
        const bool is_good = isfinite(opening) && isfinite(loss) && loss > 0.0 &&
                             opening > (i > 0 ? own->loss_opening[i - 1] : 0.0) &&
                             (i == 0 || loss <= own->loss[i - 1]);
        if (!is_good) {
            return fail(failure, FAILURE_INPUT, place,
                        "non-return valve '%s': loss by opening: openings must rise from above 0 "
                        "and losses must not; K %.6g at %.6g",
                        type, loss, opening);
        }
    }
    const int last = own->loss_count - 1;
    if (last >= 0 && (last == 0 || fabs(own->loss_opening[last] - 1.0) > 1e-9 ||
                      fabs(own->loss[last] - full_open_loss) > 1e-9 * full_open_loss)) {
        return fail(failure, FAILURE_INPUT, place,
                    "non-return valve '%s': loss by opening: needs at least two points and the "
                    "last fully open",
                    type);
    }
    return true;
}

bool non_return_own_check(const struct non_return_own *own, const char *type, double full_open_loss,
                          struct place place, struct failure *failure)
{
    if (!check_numbers(own, type, place, failure) ||
        !check_loss(own, type, full_open_loss, place, failure)) {
        return false;
    }
    for (int i = 0; i < own->curve_count; i++) {
        const double deceleration = own->curve_deceleration[i];
        const double velocity = own->curve_velocity[i];
        if (!isfinite(deceleration) || !isfinite(velocity) ||
            !(deceleration > (i > 0 ? own->curve_deceleration[i - 1] : 0.0)) ||
            !(velocity >= (i > 0 ? own->curve_velocity[i - 1] : 0.0))) {
            return fail(failure, FAILURE_INPUT, place,
                        "non-return valve '%s': slam curve: decelerations must rise from above 0 "
                        "and reverse velocities must not fall; %.6g m/s follows at %.6g m/s2",
                        type, velocity, deceleration);
        }
    }
    return true;
}
