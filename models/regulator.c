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

enum regulator_duty regulator_duty(const struct regulator *regulator, const struct water *water,
                                   double flow, double head_from, double head_to)
{
    static const double still = 1e-12; /* m/s: nothing flows */
    if (!(flow > still * regulator->area)) {
        return REGULATOR_SHUT;
    }
    return find_claims(regulator, water, flow, head_from, head_to).strongest;
}

/* --- while things move: no faster than its stroke --- */

const double regulator_usual_stroke = 5.0;

/* The loss at `share` open; none is let through a shut one. */
static struct drop drop_at_share(const struct regulator *regulator, const struct water *water,
                                 double flow, double share)
{
    return velocity_head_drop(regulator->open_loss / (share * share), regulator->laminar,
                              regulator->area, water, flow);
}

/* Share open at which `flow` > 0 costs `head`. */
static double share_of(const struct regulator *regulator, const struct water *water, double flow,
                       double head)
{
    const struct drop open =
        velocity_head_drop(regulator->open_loss, 0.0, regulator->area, water, flow);
    const double laminar =
        velocity_head_drop(0.0, regulator->laminar, regulator->area, water, flow).head;
    const double quadratic = head - laminar;
    return quadratic > open.head ? sqrt(open.head / quadratic) : 1.0;
}

static void start(const void *data, const struct water *water, double flow, double head_from,
                  double head_to, double state[])
{
    const struct regulator *regulator = data;
    const bool is_moving =
        regulator_duty(regulator, water, flow, head_from, head_to) != REGULATOR_SHUT;
    const bool is_claimed = head_to > regulator->most_behind || head_from < regulator->least_before;
    state[REGULATOR_STATE_OPENING] = is_claimed ? 0.0 : 1.0;
    if (is_moving) {
        state[REGULATOR_STATE_OPENING] = share_of(regulator, water, flow, head_from - head_to);
    }
}

/* A reach no wider than this is none: to lose 1e60 times what it does fully open is to be shut. The
 * longest stroke of a case, 1e6 s, opens it by 1e-15 in the shortest step, 1e-9 s. */
static const double least_share = 1e-30;

/* Shares that it can reach in a step. */
struct reach {
    double narrow;
    double wide;
};

static struct reach find_reach(const struct regulator *regulator, const struct instant *now,
                               const double old[])
{
    const double move = regulator->stroke > 0.0 ? now->step / regulator->stroke : 1.0;
    return (struct reach){.narrow = fmax(old[REGULATOR_STATE_OPENING] - move, 0.0),
                          .wide = fmin(old[REGULATOR_STATE_OPENING] + move, 1.0)};
}

/* Where it is at the end of the step: what its flow tells, within the reach. */
static double find_share(const struct regulator *regulator, const struct water *water,
                         const struct reach *reach, const struct coupled_at *at, double claim)
{
    static const double still = 1e-12; /* m/s: nothing flows */
    double share = claim > 0.0 ? reach->narrow : reach->wide;
    if (at->flow > still * regulator->area) {
        share = share_of(regulator, water, at->flow, at->head_from - at->head_to);
    }
    return fmin(fmax(share, reach->narrow), reach->wide);
}

/* The law of a loss L = a q + b q^2 that the regulator stands at, L - d = 0, divided by
 * (a + b q + sqrt(Z^2 + b d))/Z, where Z is the impedance of the pipes around: L - d itself where
 * it is flat beside Z, and Z (q - what d lets through) where it is steep. It rises with the flow
 * and falls with d as before, and is never much steeper than a pipe: Newton's method would else go
 * to and fro between it and the claim. Backward, where no answer lies, it goes on with slope Z. */
static struct coupled_law law_at_share(const struct regulator *regulator, const struct water *water,
                                       const struct coupled_at *at, double share)
{
    const struct drop drop = drop_at_share(regulator, water, at->flow, share);
    const double difference = at->head_from - at->head_to;
    if (!(at->impedance > 0.0)) {
        return (struct coupled_law){.value = drop.head - difference,
                                    .by_flow = drop.slope,
                                    .by_head_from = -1.0,
                                    .by_head_to = 1.0};
    }
    const double linear = drop_at_share(regulator, water, 0.0, share).slope;
    const double quadratic = drop_at_share(regulator, water, 1.0, share).head - linear;
    const double forward = fmax(at->flow, 0.0);
    const double given = fmax(difference, 0.0);
    const double root = sqrt(at->impedance * at->impedance + quadratic * given);
    const double divisor = linear + quadratic * forward + root;
    const double weight = at->impedance / divisor;
    const double excess = (at->flow > 0.0 ? drop.head : 0.0) - difference;
    const double by_given = given > 0.0 ? 0.5 * quadratic / root / divisor : 0.0;
    const double by_head = weight * (1.0 + excess * by_given);
    struct coupled_law law = {
        .value = weight * excess, .by_head_from = -by_head, .by_head_to = by_head};
    if (at->flow > 0.0) {
        law.by_flow = weight * (drop.slope - excess * quadratic / divisor);
    } else {
        law.value += at->impedance * at->flow;
        law.by_flow = at->impedance;
    }
    return law;
}

static struct coupled_law law_of_step(const void *data, const struct instant *now,
                                      const double old[], const struct coupled_at *at,
                                      double next[])
{
    const struct regulator *regulator = data;
    const struct reach reach = find_reach(regulator, now, old);
    const double by_behind = at->head_to - regulator->most_behind;
    const double by_before = regulator->least_before - at->head_from;
    const double weight = at->impedance > 0.0 ? at->impedance : 1.0 / regulator->area;
    const struct coupled_law rest = {.value = weight * at->flow, .by_flow = weight};
    struct coupled_law law = by_behind >= by_before
                                 ? (struct coupled_law){.value = by_behind, .by_head_to = 1.0}
                                 : (struct coupled_law){.value = by_before, .by_head_from = -1.0};
    next[REGULATOR_STATE_OPENING] =
        find_share(regulator, now->water, &reach, at, fmax(by_behind, by_before));
    if (!(reach.wide > least_share)) {
        return rest;
    }
    if (reach.narrow > least_share) {
        const struct coupled_law narrow = law_at_share(regulator, now->water, at, reach.narrow);
        law = narrow.value < law.value ? narrow : law;
    }
    const struct coupled_law wide = law_at_share(regulator, now->water, at, reach.wide);
    law = wide.value > law.value ? wide : law;
    return rest.value < law.value ? rest : law;
}

static const struct coupling coupling = {
    .partner_count = 0, .partners = NULL, .law = law, .start = start, .law_of_step = law_of_step};

const struct element regulator_element = {.kind = "pressure regulator",
                                          .drop = drop,
                                          .span = span,
                                          .opening = NULL,
                                          .pipe = NULL,
                                          .motion = NULL,
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
    if (!(regulator->stroke >= 0.0)) {
        return fail(failure, FAILURE_INPUT, place,
                    "pressure regulator: its stroke must take 0 s or more; it is %g s",
                    regulator->stroke);
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
