#include "models/non_return.h"

#include "models/circle.h"
#include "models/root.h"

#include <math.h>
#include <stddef.h>

const double non_return_fully_open = 0.95;

/* Sharp-edged gap: discharge coefficient 0.62 (any hydraulics textbook, e.g. Munson, Young &
 * Okiishi, orifice in a large wall). */
static const double gap_discharge = 0.62;

/* Head at which the part hangs at share open s: shut + rise s, or shut/(1 - s^2). */
struct balance {
    double shut; /* m */
    double rise; /* m */
    bool is_paid_on;
};

static struct balance balance_of(const struct non_return *valve, double gravity)
{
    const double v = valve->full_open_velocity;
    const double open = valve->full_open_loss * v * v / (2.0 * gravity);
    const struct balance balance = {valve->opening_head,
                                    open > valve->opening_head ? open - valve->opening_head : 0.0,
                                    !(v > 0.0)};
    return balance;
}

/* Head, m, at which a part with a law of its own hangs at share open s; it never falls with s. */
static struct root_value hanging_head(const struct non_return *valve, const struct water *water,
                                      double s)
{
    const double top = non_return_own_top(&valve->own, valve->is_swing) / valve->travel;
    const double lift = non_return_lift(valve, water);
    double slope = 0.0;
    const double force = non_return_force(valve, water, fmin(s, top), &slope);
    return (struct root_value){force / lift, s < top ? slope / lift : 0.0};
}

static bool has_own_law(const struct non_return *valve)
{
    return valve->own.has_force || valve->own.loss_count > 0;
}

/* What own_excess works on. */
struct own_balance {
    const struct non_return *valve;
    const struct water *water;
    double quadratic; /* K_open v^2/2g */
};

/* (K_open/K(s)) (hanging head) - K_open v^2/2g: rises with s. */
static struct root_value own_excess(const void *user, double s)
{
    const struct own_balance *balance = user;
    const struct root_value passing = non_return_own_passing(&balance->valve->own, s);
    const struct root_value head = hanging_head(balance->valve, balance->water, s);
    const double square = passing.value * passing.value;
    return (struct root_value){square * head.value - balance->quadratic,
                               square * head.slope +
                                   2.0 * passing.value * passing.slope * head.value};
}

/* Share open where K_open v^2/2g is `quadratic`, less than `open`, which opens it fully. Begins
 * where a part under an even force would hang. */
static double own_share(const struct non_return *valve, const struct water *water, double quadratic,
                        double open)
{
    const struct own_balance balance = {valve, water, quadratic};
    return root_find(own_excess, &balance, sqrt(quadratic / open), 0.0, 1.0);
}

/* Steady law of a valve with a law of its own, forward, without strainer; slope by velocity. */
static struct drop own_drop(const struct non_return *valve, const struct water *water, double v)
{
    const double quadratic = valve->full_open_loss * v * v / (2.0 * water->gravity);
    const double quadratic_slope = valve->full_open_loss * v / water->gravity;
    const double open = hanging_head(valve, water, 1.0).value;
    if (quadratic >= open) {
        return (struct drop){quadratic, quadratic_slope};
    }
    const double s = quadratic > 0.0 ? own_share(valve, water, quadratic, open) : 0.0;
    const struct root_value head = hanging_head(valve, water, s);
    const struct own_balance balance = {valve, water, quadratic};
    const double rise = own_excess(&balance, s).slope;
    struct drop result = {head.value, 0.0};
    if (rise > 0.0) {
        result.slope = head.slope * quadratic_slope / rise;
    } else if (head.value > 0.0) { /* v/s tends to g'(0) sqrt(2 g head/K) */
        result.slope = head.slope / non_return_own_passing(&valve->own, 0.0).slope *
                       sqrt(valve->full_open_loss / (2.0 * water->gravity * head.value));
    }
    return result;
}

double non_return_leak_loss(const struct non_return *valve)
{
    if (!(valve->leak_area > 0.0)) {
        return INFINITY;
    }
    const double ratio = circle_area(valve->bore) / (gap_discharge * valve->leak_area);
    return fmax(ratio * ratio, valve->full_open_loss);
}

/* What share_excess works on. */
struct share_sought {
    const struct balance *balance;
    double loss;
};

static struct root_value share_excess(const void *user, double s)
{
    const struct share_sought *sought = user;
    const struct balance *balance = sought->balance;
    return (struct root_value){s * s * (balance->shut + balance->rise * s) - sought->loss,
                               s * (2.0 * balance->shut + 3.0 * balance->rise * s)};
}

/* Share open at which s^2 (shut + rise s) = `loss`, above 0 and up to that of s = 1. Begins where
 * the larger of both terms would be it alone, at most sqrt 2 too far. */
static double share_at(const struct balance *balance, double loss)
{
    const struct share_sought sought = {balance, loss};
    double guess = sqrt(loss / fmax(balance->shut, loss));
    if (balance->rise > 0.0) {
        guess = fmin(guess, cbrt(loss / balance->rise));
    }
    return root_find(share_excess, &sought, guess, 0.0, 1.0);
}

/* Steady law of the valve alone against v^2/2g, forward: head and its derivative by velocity. */
static struct drop balance_drop(const struct balance *balance, double loss, double v,
                                double gravity)
{
    const double quadratic = loss * v * v / (2.0 * gravity);
    const double quadratic_slope = loss * v / gravity;
    struct drop result = {quadratic, quadratic_slope};
    if (balance->is_paid_on) {
        result.head += balance->shut;
        return result;
    }
    if (quadratic >= balance->shut + balance->rise) {
        return result;
    }
    const double s = quadratic > 0.0 ? share_at(balance, quadratic) : 0.0;
    result.head = balance->shut + balance->rise * s;
    const double hung = 2.0 * balance->shut + 3.0 * balance->rise * s;
    if (s > 0.0) {
        result.slope = balance->rise * quadratic_slope / (s * hung);
    } else if (balance->shut > 0.0) { /* v/s tends to sqrt(2 g shut/K) */
        result.slope = balance->rise * sqrt(loss / (2.0 * gravity * balance->shut));
    } else {
        result.slope = 0.0;
    }
    return result;
}

/* Without an opening head the balance alone would start upright like v^(2/3): s_floor bounds it. */
static double floor_loss(const struct non_return *valve)
{
    const double leak = non_return_leak_loss(valve);
    if (isfinite(leak) || valve->opening_head > 0.0) {
        return leak;
    }
    return valve->full_open_loss / (valve->opening_floor * valve->opening_floor);
}

/* Forward, without strainer: head and its derivative by velocity. */
static struct drop forward_drop(const struct non_return *valve, const struct water *water, double v)
{
    const double gravity = water->gravity;
    const struct balance balance = balance_of(valve, gravity);
    const double limit = floor_loss(valve);
    const struct drop hung = has_own_law(valve)
                                 ? own_drop(valve, water, v)
                                 : balance_drop(&balance, valve->full_open_loss, v, gravity);
    if (isfinite(limit) && limit * v * v / (2.0 * gravity) < hung.head) {
        return (struct drop){limit * v * v / (2.0 * gravity), limit * v / gravity};
    }
    return hung;
}

struct drop non_return_drop(const struct non_return *valve, const struct water *water, double flow)
{
    const double area = circle_area(valve->bore);
    const double v = flow / area;
    const double gravity = water->gravity;
    struct drop result = {0.0, 0.0};
    if (flow < 0.0) { /* through the leak, or outside the span */
        const double leak = fmin(non_return_leak_loss(valve), 1e12) + valve->extra_loss;
        result.head = leak * v * fabs(v) / (2.0 * gravity);
        result.slope = leak * fabs(v) / gravity;
    } else {
        result = forward_drop(valve, water, v);
        result.head += valve->extra_loss * v * v / (2.0 * gravity);
        result.slope += valve->extra_loss * v / gravity;
    }
    result.slope /= area;
    return result;
}

double non_return_opening(const struct non_return *valve, const struct water *water, double flow)
{
    if (!(flow > 0.0)) {
        return 0.0;
    }
    if (valve->form == NON_RETURN_IDEAL) {
        return 1.0;
    }
    const double v = flow / circle_area(valve->bore);
    const double head = forward_drop(valve, water, v).head;
    const struct balance balance = balance_of(valve, water->gravity);
    const double quadratic = valve->full_open_loss * v * v / (2.0 * water->gravity);
    if (head < balance.shut) { /* the leak passes it all */
        return 0.0;
    }
    if (has_own_law(valve)) {
        const double open = hanging_head(valve, water, 1.0).value;
        const bool is_open = quadratic >= open;
        return is_open ? 1.0 : own_share(valve, water, quadratic, open);
    }
    if (balance.is_paid_on) {
        if (head < balance.shut + quadratic) { /* the leak rules */
            return sqrt(1.0 - balance.shut / head);
        }
        return quadratic < head ? sqrt(quadratic / head) : 1.0;
    }
    if (quadratic >= balance.shut + balance.rise) {
        return 1.0;
    }
    const double share = share_at(&balance, quadratic);
    if (head < balance.shut + balance.rise * share) { /* the floor or the leak rules */
        return (head - balance.shut) / balance.rise;
    }
    return share;
}

double non_return_full_open_flow(const struct non_return *valve, const struct water *water)
{
    const struct balance balance = balance_of(valve, water->gravity);
    if (has_own_law(valve)) {
        return circle_area(valve->bore) *
               sqrt(2.0 * water->gravity * hanging_head(valve, water, 1.0).value /
                    valve->full_open_loss);
    }
    if (balance.is_paid_on) {
        return balance.shut > 0.0 ? (double)INFINITY : 0.0;
    }
    return circle_area(valve->bore) *
           sqrt(2.0 * water->gravity * (balance.shut + balance.rise) / valve->full_open_loss);
}

double non_return_lift(const struct non_return *valve, const struct water *water)
{
    return water->density * water->gravity * valve->seat_area * valve->arm;
}

double non_return_force(const struct non_return *valve, const struct water *water, double s,
                        double *slope)
{
    const double lift = non_return_lift(valve, water);
    const struct balance balance = balance_of(valve, water->gravity);
    const double share = fmax(s, 0.0);
    if (valve->own.has_force) {
        const struct root_value force =
            non_return_own_force(&valve->own, valve->is_swing, s * valve->travel);
        if (slope != NULL) {
            *slope = force.slope * valve->travel;
        }
        return force.value;
    }
    double head = balance.shut + balance.rise * share;
    double head_slope = s < 0.0 ? 0.0 : balance.rise;
    if (balance.is_paid_on) {
        /* 1 - s^2 is bounded so that the law is total; no flow opens it so far. */
        const double left = fmax(1.0 - share * share, 1e-9);
        head = balance.shut / left;
        head_slope = left > 1e-9 ? 2.0 * share * balance.shut / (left * left) : 0.0;
    }
    if (slope != NULL) {
        *slope = lift * head_slope;
    }
    return lift * head;
}

double non_return_velocity_of_force(const struct non_return *valve, const struct water *water,
                                    double force)
{
    return sqrt(2.0 * water->gravity * force /
                (non_return_lift(valve, water) * valve->full_open_loss));
}

/* A number of the description with the range it must be in. */
struct bound {
    const char *name;
    double value;
    bool may_be_zero;
    double largest;
};

bool non_return_check(const struct non_return *valve, struct place place, struct failure *failure)
{
    const bool is_ideal = valve->form == NON_RETURN_IDEAL;
    const double area = circle_area(valve->bore);
    const struct bound bounds[] = {
        {"bore", valve->bore, false, 10.0},
        {"port area", valve->port_area, false, 2.0 * area},
        {"opening head", valve->opening_head, true, 100.0},
        {"full-open loss", valve->full_open_loss, is_ideal, 1e6},
        {"full-open velocity", valve->full_open_velocity, true, 50.0},
        {"strainer loss", valve->extra_loss, true, 1e6},
        {"seat area", valve->seat_area, false, 10.0 * area},
        {valve->is_swing ? "moving inertia" : "moving mass", valve->inertia, is_ideal, 1e6},
        {valve->is_swing ? "swing angle" : "travel", valve->travel, is_ideal, 10.0},
        {"arm", valve->arm, false, 10.0},
        {valve->is_swing ? "swing damping" : "damping", valve->damping, true, 1e9},
        {valve->is_swing ? "closing moment" : "closing force", valve->closing_force, true, 1e9},
        {"opening floor", valve->opening_floor, false, 0.5},
        {"seating head", valve->seating_head, true, 100.0},
        {"holding head", valve->holding_head, true, 1000.0},
        {"leak", valve->leak_area, true, area},
        {"restitution", valve->restitution, true, 1.0},
    };
    for (size_t i = 0; i < sizeof bounds / sizeof bounds[0]; i++) {
        const struct bound *bound = &bounds[i];
        const bool is_low = bound->may_be_zero ? !(bound->value >= 0.0) : !(bound->value > 0.0);
        if (is_low || !(bound->value <= bound->largest)) {
            return fail(failure, FAILURE_INPUT, place,
                        "non-return valve '%s': %s is %.6g in SI units; it must be %s 0 and at "
                        "most %.6g",
                        valve->type, bound->name, bound->value,
                        bound->may_be_zero ? "at least" : "above", bound->largest);
        }
    }
    return non_return_own_check(&valve->own, valve->type, valve->full_open_loss, place, failure);
}
