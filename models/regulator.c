#include "models/regulator.h"

#include "models/velocity_head.h"

#include <math.h>
#include <stddef.h>

static struct drop open_drop(const struct regulator *regulator, const struct water *water,
                             double flow)
{
    return velocity_head_drop(regulator->open_loss, regulator->laminar, regulator->area, water,
                              flow);
}

static struct drop drop(const void *data, const struct water *water, double flow)
{
    return open_drop(data, water, flow);
}

static struct span span(const void *data, const struct water *water)
{
    (void)data;
    (void)water;
    return (struct span){.lower = 0.0, .upper = HUGE_VAL};
}

/* The three claims on it: each is how much head it must take away beyond what it takes now. */
struct claims {
    struct drop open;
    double by_loss;
    double by_behind;
    double by_before;
    enum regulator_duty strongest;
};

static struct claims find_claims(const struct regulator *regulator, const struct water *water,
                                 double flow, double head_from, double head_to)
{
    struct claims claims = {.open = open_drop(regulator, water, flow)};
    claims.by_loss = claims.open.head - (head_from - head_to);
    claims.by_behind = head_to - regulator->most_behind;
    claims.by_before = regulator->least_before - head_from;
    claims.strongest = REGULATOR_OPEN;
    if (claims.by_behind > claims.by_loss) {
        claims.strongest = REGULATOR_HOLDS_BEHIND;
    }
    if (claims.by_before > fmax(claims.by_loss, claims.by_behind)) {
        claims.strongest = REGULATOR_HOLDS_BEFORE;
    }
    return claims;
}

/* Velocity counts as head here, m/s as m: both branches of the minimum are then of one size. */
static struct coupled_law law(const void *data, const struct water *water,
                              const struct coupled_at *at)
{
    const struct regulator *regulator = data;
    const struct claims claims =
        find_claims(regulator, water, at->flow, at->head_from, at->head_to);
    const double most = fmax(claims.by_loss, fmax(claims.by_behind, claims.by_before));
    const double velocity = at->flow / regulator->area;
    if (velocity < most) {
        return (struct coupled_law){.value = velocity, .by_flow = 1.0 / regulator->area};
    }
    if (claims.strongest == REGULATOR_HOLDS_BEHIND) {
        return (struct coupled_law){.value = most, .by_head_to = 1.0};
    }
    if (claims.strongest == REGULATOR_HOLDS_BEFORE) {
        return (struct coupled_law){.value = most, .by_head_from = -1.0};
    }
    return (struct coupled_law){
        .value = most, .by_flow = claims.open.slope, .by_head_from = -1.0, .by_head_to = 1.0};
}

static const struct coupling coupling = {.partner_count = 0, .partners = NULL, .law = law};

enum regulator_duty regulator_duty(const struct regulator *regulator, const struct water *water,
                                   double flow, double head_from, double head_to)
{
    static const double still = 1e-12; /* m/s: nothing flows */
    if (!(flow > still * regulator->area)) {
        return REGULATOR_SHUT;
    }
    return find_claims(regulator, water, flow, head_from, head_to).strongest;
}

/* --- while things move: it keeps its opening --- */

static void motion_start(const void *data, const struct water *water, double flow, double head,
                         double state[])
{
    static const double still = 1e-9; /* m/s */
    const struct regulator *regulator = data;
    state[REGULATOR_STATE_RESISTANCE] = -1.0;
    if (flow > still * regulator->area) {
        const double laminar =
            velocity_head_drop(0.0, regulator->laminar, regulator->area, water, flow).head;
        state[REGULATOR_STATE_RESISTANCE] = fmax(head - laminar, 0.0) / flow / flow;
    }
}

static struct span motion_span(const void *data, const struct instant *now, const double old[])
{
    (void)data;
    (void)now;
    const bool is_shut = old[REGULATOR_STATE_RESISTANCE] < 0.0;
    return (struct span){.lower = 0.0, .upper = is_shut ? 0.0 : HUGE_VAL};
}

static struct drop motion_drop(const void *data, const struct instant *now, const double old[],
                               double flow, double next[])
{
    const struct regulator *regulator = data;
    const double resistance = fmax(old[REGULATOR_STATE_RESISTANCE], 0.0);
    struct drop drop =
        velocity_head_drop(0.0, regulator->laminar, regulator->area, now->water, flow);
    next[REGULATOR_STATE_RESISTANCE] = old[REGULATOR_STATE_RESISTANCE];
    drop.head += resistance * flow * fabs(flow);
    drop.slope += 2.0 * resistance * fabs(flow);
    return drop;
}

static const struct motion motion = {.state_count = REGULATOR_STATE_COUNT,
                                     .start = motion_start,
                                     .span = motion_span,
                                     .drop = motion_drop,
                                     .settle = NULL,
                                     .setting = NULL};

const struct element regulator_element = {.kind = "pressure regulator",
                                          .drop = drop,
                                          .span = span,
                                          .opening = NULL,
                                          .pipe = NULL,
                                          .motion = &motion,
                                          .coupling = &coupling};

bool regulator_check(const struct regulator *regulator, struct place place, struct failure *failure)
{
    if (!(regulator->area > 0.0 && isfinite(regulator->area))) {
        return fail(failure, FAILURE_INPUT, place, "pressure regulator: its bore must be above 0");
    }
    if (!(regulator->open_loss > 0.0 && isfinite(regulator->open_loss)) ||
        !(regulator->laminar >= 0.0 && isfinite(regulator->laminar))) {
        return fail(failure, FAILURE_INPUT, place,
                    "pressure regulator: loss fully open must be above 0; it is %g",
                    regulator->open_loss);
    }
    const bool is_number = !isnan(regulator->most_behind) && !isnan(regulator->least_before);
    const bool has_behind = isfinite(regulator->most_behind);
    const bool has_before = isfinite(regulator->least_before);
    if (!is_number || regulator->most_behind < -HUGE_VAL || regulator->least_before > HUGE_VAL ||
        (!has_behind && !has_before)) {
        return fail(failure, FAILURE_INPUT, place,
                    "pressure regulator: say the pressure it holds behind it or before it");
    }
    return true;
}
