#include "models/draw_off.h"

#include "models/circle.h"
#include "models/mouth.h"

#include <math.h>
#include <stddef.h>

/* h = h_r (q/q_r)^(1/x), odd; beyond a flow share no site has it goes on straight, so that it stays
 * finite. */
static struct drop drop(const void *data, const struct water *water, double flow)
{
    static const double largest_share = 1e15;
    (void)water;
    const struct draw_off *draw = data;
    const double power = 1.0 / draw->exponent;
    const double share = fabs(flow) / draw->flow;
    const double bent = fmin(share, largest_share);
    const double slope = draw->head * power * pow(bent, power - 1.0);
    const double head = draw->head * pow(bent, power) + slope * (share - bent);
    return (struct drop){.head = copysign(head, flow), .slope = slope / draw->flow};
}

static struct span span(const void *data, const struct water *water)
{
    (void)water;
    const struct draw_off *draw = data;
    return (struct span){.lower = 0.0, .upper = draw->most};
}

static struct drop drop_of_step(const void *data, const struct instant *now, const double old[],
                                double flow, double next[])
{
    return mouth_drop(drop, data, now, old, flow, next);
}

static const struct motion nozzle_motion = {.state_count = MOUTH_STATE_COUNT,
                                            .start = mouth_start,
                                            .span = mouth_span,
                                            .never_shuts = true,
                                            .drop = drop_of_step};

const struct element draw_off_element = {
    .kind = "draw-off", .drop = drop, .span = span, .opening = NULL, .pipe = NULL, .motion = NULL};

const struct element nozzle_element = {
    .kind = "nozzle", .drop = drop, .span = span, .motion = &nozzle_motion};

struct draw_off draw_off_orifice(double bore, double coefficient, const struct water *water)
{
    return (struct draw_off){.flow = coefficient * circle_area(bore) * sqrt(2.0 * water->gravity),
                             .head = 1.0,
                             .exponent = 0.5,
                             .most = HUGE_VAL};
}

struct draw_off draw_off_sprinkler(double factor, const struct water *water)
{
    static const double litre_a_minute = 1e-3 / 60.0; /* m3/s */
    static const double bar = 1e5;                    /* Pa */
    return (struct draw_off){.flow = factor * litre_a_minute,
                             .head = bar / (water->density * water->gravity),
                             .exponent = 0.5,
                             .most = HUGE_VAL};
}

bool draw_off_check(const struct draw_off *draw, struct place place, struct failure *failure)
{
    if (!(draw->flow > 0.0 && isfinite(draw->flow) && draw->head > 0.0 && isfinite(draw->head))) {
        return fail(failure, FAILURE_INPUT, place,
                    "draw-off: its flow and the head for it must be above 0; %g m3/s at %g m",
                    draw->flow, draw->head);
    }
    if (!(draw->exponent >= 0.1 && draw->exponent <= 1.0)) {
        return fail(failure, FAILURE_INPUT, place,
                    "draw-off: the power of its pressure must be 0.1 to 1 (0.5 for an orifice); it "
                    "is %g",
                    draw->exponent);
    }
    if (!(draw->most > 0.0)) {
        return fail(failure, FAILURE_INPUT, place,
                    "draw-off: its largest flow must be above 0; it is %g m3/s", draw->most);
    }
    return true;
}
