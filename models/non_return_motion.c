/* Two stages a step; each finds the position s where inertia + closing force + damping = force of
 * the flow. The first uses the flow as it was changing, so that only the second hangs on the flow
 * asked for: then more flow means further open against more force, and the drop of a step is a
 * rising continuous function of flow, whatever the part did before.
 * Forward flow: the force grows without bound towards the seat (K ~ 1/s^2), the root is single and
 * above the seat. Reverse flow: the same law would have two roots or none as the part is sucked on
 * to its seat; there K is taken at the place the part is heading for.
 * A part that would reach its seat in this step at zero flow lets none pass backward: the span of
 * the step begins at 0.
 * Long because stages, stops and seat work on the same private structures. */
#include "models/non_return_motion.h"

#include "models/circle.h"
#include "models/non_return.h"
#include "models/non_return_hold.h"
#include "models/root.h"

#include <math.h>
#include <string.h>

/* Alexander 1977: 1 - sqrt(1/2). */
static const double stage_share = 0.29289321881345247560;

/* A part that never was further than this share of travel from its seat has not left it: coming
 * back counts as no shutting. */
static const double lifted_share = 1e-4;

/* Just off the seat. */
static const double barely_open = 1e-9;

/* m, round-off of heads: a part under no less than its opening head less this is lifted. */
static const double lean_blur = 1e-9;

/* A part that meets a stop slower than this, m/s at its middle, does not come back: so slow a
 * blow is swallowed by the film of water between the faces. Constructed: no figure for valves was
 * found. */
static const double still_speed = 0.02;

/* A rebound that is over in fewer steps than this is not followed. */
static const double flight_steps = 4.0;

/* The valve's numbers as the stages need them. */
struct mechanism {
    const struct non_return *valve;
    const struct water *water;
    double mass;          /* inertia x travel: force for each unit of s'' */
    double damping;       /* damping x travel */
    double lift;          /* force for each m of head */
    double swept;         /* water moved with the part, m3 for each unit of s; 0: not reckoned */
    double quadratic;     /* K_open/(2 g A^2), m for each (m3/s)^2 at s = 1 */
    double forward_floor; /* least square root of K_open/K, forward and backward */
    double backward_floor;
};

/* What a stage starts from. */
struct stage {
    const struct mechanism *part;
    double step;
    double flow;
    double place;
    double speed;
    double reverse_factor; /* force for each (m3/s)^2 of reverse flow, fixed while s is sought */
    double swept;          /* part->swept along the stream, at the place it is heading for */
    double going_on;       /* m3/s, the flow as it was changing */
};

/* Where it ends. */
struct stage_end {
    double place;
    double place_slope; /* by flow */
    double speed;
};

static struct mechanism mechanism_of(const struct non_return *valve, const struct water *water)
{
    const double area = circle_area(valve->bore);
    const double leak = non_return_leak_loss(valve);
    const double gap = isfinite(leak) ? sqrt(valve->full_open_loss / leak) : 0.0;
    double forward = valve->opening_head > 0.0 ? 0.0 : valve->opening_floor;
    if (gap > 0.0) {
        forward = gap;
    }
    const struct mechanism part = {
        .valve = valve,
        .water = water,
        .mass = valve->inertia * valve->travel,
        .damping = valve->damping * valve->travel,
        .lift = non_return_lift(valve, water),
        .swept = valve->own.rotation * valve->seat_area * valve->arm * valve->travel,
        .quadratic = valve->full_open_loss / (2.0 * water->gravity * area * area),
        .forward_floor = forward,
        .backward_floor = gap > 0.0 ? gap : valve->opening_floor,
    };
    return part;
}

/* Square root of K_open/K at s, not below the floor. */
static struct root_value passing(const struct mechanism *part, double s, double floor)
{
    const struct root_value free = non_return_own_passing(&part->valve->own, s);
    if (!(free.value > floor)) {
        return (struct root_value){floor, 0.0};
    }
    return s < 1.0 ? free : (struct root_value){1.0, 0.0};
}

static double square_backward(double flow)
{
    return flow < 0.0 ? -flow * flow : 0.0;
}

/* Force of the flow that comes of the part's own movement. As it shuts it must push the water it
 * sweeps out through its own gap, so the flow past it gives more than the flow past a part at rest.
 * As it opens it moves with the flow and what it sweeps is the flow: nothing is added, for the drop
 * does not reckon with that flow either, until it would outrun the water: then water must come back
 * through the gap to fill the place behind it, and holds it. (Without this a knock flings a light
 * part fully open, whence it falls so slowly that the next knock is harder: it slams for ever.) The
 * flow is taken as it was changing and K at the place it is heading for, so that the step's law
 * stays a rising function of the flow asked for. */
static struct root_value rotation(const struct stage *stage, double speed)
{
    const double flow = stage->going_on;
    const double past = flow - stage->swept * speed;
    const double factor = stage->reverse_factor;
    const double by_past = -2.0 * factor * stage->swept / stage->step;
    if (speed < 0.0) {
        return (struct root_value){factor * (past * fabs(past) - flow * fabs(flow)),
                                   by_past * fabs(past)};
    }
    return (struct root_value){factor * (square_backward(past) - square_backward(flow)),
                               by_past * fmax(-past, 0.0)};
}

/* Everything but the force of the flow on the part at rest, at position s. */
static struct root_value resistance(const struct stage *stage, double s)
{
    const struct mechanism *part = stage->part;
    const double h = stage->step;
    double slope = 0.0;
    const double force = non_return_force(part->valve, part->water, s, &slope);
    const double speed = (s - stage->place) / h;
    struct root_value result = {part->mass * (speed - stage->speed) / h + force +
                                    part->damping * speed,
                                part->mass / (h * h) + slope + part->damping / h};
    if (stage->swept > 0.0) {
        const struct root_value own = rotation(stage, speed);
        result.value -= own.value;
        result.slope -= own.slope;
    }
    return result;
}

static struct root_value unbalance(const void *user, double s)
{
    const struct stage *stage = user;
    const struct mechanism *part = stage->part;
    struct root_value result = resistance(stage, s);
    if (stage->flow > 0.0) {
        const struct root_value open = passing(part, s, part->forward_floor);
        const double ratio = stage->flow / open.value;
        const double force = part->lift * part->quadratic * ratio * ratio;
        result.value -= force;
        result.slope += 2.0 * force * open.slope / open.value;
    } else {
        result.value += stage->reverse_factor * stage->flow * stage->flow;
    }
    return result;
}

/* K of reverse flow at the place the part is heading for, which is told. */
static double set_reverse_factor(struct stage *stage)
{
    const struct mechanism *part = stage->part;
    const double heading = stage->place + stage->step * stage->speed;
    const double open = passing(part, heading, part->backward_floor).value;
    const double angle = fmin(fmax(heading, 0.0), 1.0) * part->valve->travel;
    stage->reverse_factor = part->lift * part->quadratic / (open * open);
    stage->swept = part->swept * (part->valve->is_swing ? fmax(cos(angle), 0.0) : 1.0);
    return heading;
}

/* Force of the flow at position s by flow. */
static double force_by_flow(const struct stage *stage, double s)
{
    const struct mechanism *part = stage->part;
    if (stage->flow < 0.0) {
        return -2.0 * stage->reverse_factor * stage->flow;
    }
    const double open = passing(part, s, part->forward_floor).value;
    return open > 0.0 ? 2.0 * part->lift * part->quadratic * stage->flow / (open * open) : 0.0;
}

static struct stage_end solve_stage(struct stage *stage)
{
    double guess = set_reverse_factor(stage);
    const bool is_held_off = stage->flow > 0.0 && !(stage->part->forward_floor > 0.0);
    const double lower = is_held_off ? 0.0 : -(double)INFINITY;
    if (is_held_off && !(guess > 0.0)) {
        guess = barely_open;
    }
    struct stage_end end;
    end.place = root_find(unbalance, stage, guess, lower, INFINITY);
    const double slope = unbalance(stage, end.place).slope;
    end.place_slope = slope > 0.0 ? force_by_flow(stage, end.place) / slope : 0.0;
    end.speed = (end.place - stage->place) / stage->step;
    return end;
}

/* Both stages as they come out, before the stops are heeded. */
struct move {
    struct stage second;
    struct stage_end first_end; /* at stage_share of the step */
    struct stage_end end;
};

/* The flow as it was changing, `after` s on. It ends at none: where a wave or the seat has stopped
 * the flow within a step, going on beyond would fling a nearly shut part open with a flow that
 * never was, the harder the shorter the step. Force goes with the flow's square, so that a flow
 * that does pass zero smoothly loses nothing by it. */
static double flow_going_on(const double old[], double after)
{
    const double flow = old[NON_RETURN_STATE_FLOW];
    const double then = flow + after * old[NON_RETURN_STATE_RATE];
    return (flow < 0.0 && then > 0.0) || (flow > 0.0 && then < 0.0) ? 0.0 : then;
}

/* How fast the flow changed in a step; for the same reason nothing where it turned or stopped. */
static double rate_of_step(double before, double flow, double step)
{
    const bool has_turned = (before < 0.0 && flow >= 0.0) || (before > 0.0 && flow <= 0.0);
    return has_turned ? 0.0 : (flow - before) / step;
}

/* What a span keeps for the drops of its step: where the first stage ends. */
enum { KEPT_IS_KNOWN, KEPT_PLACE, KEPT_SPEED, KEPT_COUNT };
_Static_assert((int)KEPT_COUNT <= (int)ELEMENT_KEPT_MAX, "room for all that is kept");

/* The first stage, which no flow asked for changes. */
static struct stage_end move_first(const struct mechanism *part, const struct instant *now,
                                   const double old[])
{
    const double h = stage_share * now->step;
    if (now->kept != NULL && now->kept[KEPT_IS_KNOWN] > 0.0) {
        return (struct stage_end){.place = now->kept[KEPT_PLACE], .speed = now->kept[KEPT_SPEED]};
    }
    struct stage first = {
        .part = part,
        .step = h,
        .flow = flow_going_on(old, h),
        .going_on = flow_going_on(old, h),
        .place = old[NON_RETURN_STATE_OPENING],
        .speed = old[NON_RETURN_STATE_SPEED],
    };
    return solve_stage(&first);
}

static struct move move_part(const struct mechanism *part, const struct instant *now,
                             const double old[], double flow)
{
    const double h = stage_share * now->step;
    const double rest = (1.0 - stage_share) * now->step;
    const double speed = old[NON_RETURN_STATE_SPEED];
    struct move move;
    move.first_end = move_first(part, now, old);
    move.second = (struct stage){
        .part = part,
        .step = h,
        .flow = flow,
        .going_on = flow_going_on(old, now->step),
        .place = old[NON_RETURN_STATE_OPENING] + rest * move.first_end.speed,
        .speed = speed + rest * (move.first_end.speed - speed) / h,
    };
    if (move.first_end.place <= 0.0) { /* met its seat already: forward flow lifts it from rest */
        move.second.place = 0.0;
        move.second.speed = 0.0;
    }
    move.end = solve_stage(&move.second);
    return move;
}

/* Lies on its seat, or has met it in this step and springs off it again at the step's end: a blow
 * against reverse flow stops the flow, whether the part comes back or not. */
static bool is_seated(const struct non_return *valve, const double state[])
{
    return !(valve->leak_area > 0.0) && !(state[NON_RETURN_STATE_OPENING] > 0.0);
}

static bool meets_seat(const struct move *move)
{
    return move->first_end.place <= 0.0 || move->end.place <= 0.0;
}

static struct drop part_drop(const struct mechanism *part, const struct move *move, double flow)
{
    struct drop result = {0.0, 0.0};
    if (!(flow > 0.0) && !(flow < 0.0)) {
        if (move->end.place > 0.0 || part->forward_floor > 0.0) {
            return result;
        }
        /* On the seat at zero flow: the head that a trace of forward flow would need. */
        const struct root_value held = resistance(&move->second, 0.0);
        result.head = held.value / part->lift;
        /* K_open Q^2/(2 g A^2 (a s)^2) tends to that head: s ~ Q sqrt(K_open/(2 g A^2 head))/a */
        if (result.head > 0.0) {
            const double steep = non_return_own_passing(&part->valve->own, 0.0).slope;
            result.slope = held.slope * sqrt(part->quadratic / result.head) / (steep * part->lift);
        }
        return result;
    }
    const double least = flow > 0.0 ? part->forward_floor : part->backward_floor;
    const struct root_value open = passing(part, move->end.place, least);
    const double ratio = flow / open.value;
    result.head = part->quadratic * ratio * fabs(ratio);
    result.slope = 2.0 * part->quadratic * fabs(ratio) / open.value;
    if (flow > 0.0) { /* the drop balances the resistance; by that, without cancellation */
        const double rise = resistance(&move->second, move->end.place).slope;
        result.slope = rise * move->end.place_slope / part->lift;
    } else {
        result.slope -= 2.0 * result.head * open.slope / open.value * move->end.place_slope;
    }
    return result;
}

/* When, as a share of `span`, a part at `place` with `speed` that is at `end` <= 0 after `span`
 * passed 0 (parabola through place, speed and end). */
static double seat_share(double place, double speed, double end, double span)
{
    const double linear = speed * span;
    const double bend = end - place - linear;
    const double root = sqrt(fmax(linear * linear - 4.0 * bend * place, 0.0));
    /* place + linear t + bend t^2 = 0, first root after 0, in the form without cancellation */
    const double below = root - linear;
    return below > 0.0 ? 2.0 * place / below : 1.0;
}

/* How fast its middle moves, m/s, at a `speed` in m/s or rad/s. */
static double middle_speed(const struct non_return *valve, double speed)
{
    return speed * (valve->is_swing ? valve->arm : 1.0);
}

/* Speed, m/s or rad/s, with which a part that meets its seat at `impact` comes back: none where it
 * met it too slowly, or would not rise far enough to count as lifted before it is back, or would be
 * back within a few steps under the `acceleration` that brought it (what the steps cannot follow
 * neither dies away nor keeps its energy). */
static double rebound(const struct non_return *valve, const struct instant *now, double impact,
                      double acceleration)
{
    const double speed = valve->restitution * impact;
    const double fall = non_return_force(valve, now->water, 0.0, NULL) / valve->inertia;
    const bool is_low = speed * speed < 2.0 * fall * lifted_share * valve->travel;
    const bool is_short = 2.0 * speed < flight_steps * now->step * acceleration;
    return middle_speed(valve, impact) < still_speed || is_low || is_short ? 0.0 : speed;
}

/* The part has met its seat in this step: notes when, how fast, and at which flow. */
static void note_seat(const struct non_return *valve, const struct instant *now, const double old[],
                      const struct move *move, double flow, double next[])
{
    const bool is_early = move->first_end.place <= 0.0;
    const struct stage_end *end = is_early ? &move->first_end : &move->end;
    const double span = is_early ? stage_share * now->step : now->step;
    const double speed = old[NON_RETURN_STATE_SPEED];
    const double share = seat_share(old[NON_RETURN_STATE_OPENING], speed, end->place, span);
    const double after = share * span;
    const double impact = fabs(speed + share * (end->speed - speed)) * valve->travel;
    /* The flow at that moment: as it was changing, or as this step has it; a flow already throttled
     * by the closing part must not hide the reverse flow, so the larger counts. */
    const double old_flow = old[NON_RETURN_STATE_FLOW];
    const double going_on = old_flow + after * old[NON_RETURN_STATE_RATE];
    const double between = old_flow + after / now->step * (flow - old_flow);
    const double reverse = fmin(0.0, flow < 0.0 ? fmin(going_on, between) : going_on);
    const double acceleration = (speed - end->speed) / span * valve->travel;
    next[NON_RETURN_STATE_SPEED] = rebound(valve, now, impact, acceleration) / valve->travel;
    if (next[NON_RETURN_STATE_SPEED] > 0.0) {
        next[NON_RETURN_STATE_BOUNCES] += 1.0;
    }
    if (!(old[NON_RETURN_STATE_LIFTED] > 0.0)) {
        return;
    }
    next[NON_RETURN_STATE_LIFTED] = 0.0;
    next[NON_RETURN_STATE_SHUTS] += 1.0;
    next[NON_RETURN_STATE_SHUT_TIME] = now->time - now->step + after;
    next[NON_RETURN_STATE_LAST_REVERSE] = reverse;
    if (!(old[NON_RETURN_STATE_SHUTS] > 0.0) || reverse < old[NON_RETURN_STATE_REVERSE_FLOW]) {
        next[NON_RETURN_STATE_REVERSE_FLOW] = reverse;
        next[NON_RETURN_STATE_SEAT_SPEED] = impact;
    }
}

/* Fills `next` for a part that is not on its seat, heeding the stops. */
static void land(const struct non_return *valve, const struct instant *now, const double old[],
                 const struct move *move, double flow, double next[])
{
    const double place = move->end.place;
    if (place >= 1.0) {
        const bool is_soft = middle_speed(valve, move->end.speed * valve->travel) < still_speed;
        next[NON_RETURN_STATE_OPENING] = 1.0;
        next[NON_RETURN_STATE_SPEED] = is_soft ? 0.0 : -valve->restitution * move->end.speed;
    } else if (place > 0.0) {
        next[NON_RETURN_STATE_OPENING] = place;
        next[NON_RETURN_STATE_SPEED] = move->end.speed;
    } else {
        next[NON_RETURN_STATE_OPENING] = 0.0;
        note_seat(valve, now, old, move, flow, next);
        if (flow > 0.0 || (next[NON_RETURN_STATE_SPEED] > 0.0 && !(flow < 0.0))) {
            next[NON_RETURN_STATE_OPENING] = valve->leak_area > 0.0 ? 0.0 : barely_open;
        }
    }
    if (next[NON_RETURN_STATE_OPENING] > lifted_share) {
        next[NON_RETURN_STATE_LIFTED] = 1.0;
    }
}

static void add_strainer(const struct non_return *valve, const struct water *water, double flow,
                         struct drop *result)
{
    const double area = circle_area(valve->bore);
    const double factor = valve->extra_loss / (2.0 * water->gravity * area * area);
    result->head += factor * flow * fabs(flow);
    result->slope += 2.0 * factor * fabs(flow);
}

static void start(const void *data, const struct water *water, double flow, double drop,
                  double state[])
{
    const struct non_return *valve = data;
    memset(state, 0, NON_RETURN_STATE_COUNT * sizeof *state);
    state[NON_RETURN_STATE_SHUT_TIME] = NON_RETURN_NOT_YET;
    state[NON_RETURN_STATE_TURNED] = NON_RETURN_NOT_YET;
    state[NON_RETURN_STATE_FLOW] = flow;
    /* A trace of flow left by round-off under a head too small to lift it: shut. */
    const bool is_shut = drop < valve->opening_head * (1.0 - 1e-9) && !(valve->leak_area > 0.0);
    if (!is_shut) {
        state[NON_RETURN_STATE_OPENING] = non_return_opening(valve, water, flow);
        state[NON_RETURN_STATE_LIFTED] = state[NON_RETURN_STATE_OPENING] > lifted_share ? 1.0 : 0.0;
    } else if (flow < 0.0 || flow > 0.0) {
        state[NON_RETURN_STATE_FLOW] = 0.0;
    }
}

static struct span span_of_step(const void *data, const struct instant *now, const double old[])
{
    const struct non_return *valve = data;
    struct span span = {-INFINITY, INFINITY};
    if (valve->leak_area > 0.0) {
        return span;
    }
    if (non_return_own_is_held(&valve->own) && old[NON_RETURN_STATE_OPENING] > 0.0) {
        return span;
    }
    if (valve->form == NON_RETURN_IDEAL && !non_return_own_is_held(&valve->own)) {
        span.lower = 0.0;
        return span;
    }
    if (is_seated(valve, old)) {
        span.lower = 0.0;
        span.upper = 0.0;
        return span;
    }
    const struct mechanism part = mechanism_of(valve, now->water);
    const struct move move = move_part(&part, now, old, 0.0);
    if (meets_seat(&move)) {
        span.lower = 0.0;
    }
    if (now->kept != NULL) {
        now->kept[KEPT_IS_KNOWN] = 1.0;
        now->kept[KEPT_PLACE] = move.first_end.place;
        now->kept[KEPT_SPEED] = move.first_end.speed;
    }
    return span;
}

/* The ideal valve keeps its steady law; it only notes that it shut. */
static struct drop ideal_drop(const struct non_return *valve, const struct instant *now,
                              const double old[], double flow, double next[])
{
    next[NON_RETURN_STATE_OPENING] = flow > 0.0 ? 1.0 : 0.0;
    if (old[NON_RETURN_STATE_FLOW] > 0.0 && !(flow > 0.0)) {
        next[NON_RETURN_STATE_SHUTS] += 1.0;
        next[NON_RETURN_STATE_SHUT_TIME] = now->time;
    }
    return non_return_drop(valve, now->water, flow);
}

static struct drop drop_of_step(const void *data, const struct instant *now, const double old[],
                                double flow, double next[])
{
    const struct non_return *valve = data;
    memcpy(next, old, NON_RETURN_STATE_COUNT * sizeof *next);
    next[NON_RETURN_STATE_FLOW] = flow;
    next[NON_RETURN_STATE_RATE] = rate_of_step(old[NON_RETURN_STATE_FLOW], flow, now->step);
    const bool is_held = non_return_own_is_held(&valve->own);
    if (is_held && old[NON_RETURN_STATE_OPENING] > 0.0) {
        return non_return_hold_drop(valve, now, old, flow, next);
    }
    if (is_held && valve->leak_area > 0.0) {
        next[NON_RETURN_STATE_OPENING] = non_return_opening(valve, now->water, flow);
        return non_return_drop(valve, now->water, flow);
    }
    if (valve->form == NON_RETURN_IDEAL && !is_held) {
        return ideal_drop(valve, now, old, flow, next);
    }
    const struct mechanism part = mechanism_of(valve, now->water);
    if (is_seated(valve, old)) {
        const double factor = part.quadratic / (part.backward_floor * part.backward_floor);
        const struct drop shut = {factor * flow * fabs(flow), 2.0 * factor * fabs(flow)};
        if (old[NON_RETURN_STATE_SPEED] > 0.0) {
            next[NON_RETURN_STATE_OPENING] = barely_open;
        }
        return shut;
    }
    const struct move move = move_part(&part, now, old, flow);
    struct drop result = part_drop(&part, &move, flow);
    land(valve, now, old, &move, flow, next);
    add_strainer(valve, now->water, flow, &result);
    return result;
}

static bool settle(const void *data, const struct instant *now, const double old[], double flow,
                   double drop, double next[])
{
    const struct non_return *valve = data;
    const bool is_held = non_return_own_is_held(&valve->own);
    if (is_held && old[NON_RETURN_STATE_OPENING] > 0.0) {
        return non_return_hold_settle(valve, now, old, flow, next);
    }
    if (valve->form == NON_RETURN_IDEAL && !is_held) {
        return false;
    }
    if (is_seated(valve, old)) {
        if (drop > valve->opening_head + 1e-12) {
            next[NON_RETURN_STATE_OPENING] = barely_open;
        }
        return false;
    }
    /* It was lifted and no water could follow, as where the next valve is still shut: it leans on
     * its opening head and is there when that one is lifted. */
    const bool is_still = !(flow < 0.0) && !(flow > 0.0);
    const bool is_leaning =
        old[NON_RETURN_STATE_OPENING] <= barely_open && drop >= valve->opening_head - lean_blur;
    if (!is_held && is_seated(valve, next) && is_still && is_leaning) {
        next[NON_RETURN_STATE_OPENING] = barely_open;
    }
    /* Seated against reverse flow: the step is solved again with the valve shut. */
    return !is_held && is_seated(valve, next) && (flow < 0.0 || flow > 0.0);
}

const struct motion non_return_motion = {
    .state_count = NON_RETURN_STATE_COUNT,
    .start = start,
    .span = span_of_step,
    .drop = drop_of_step,
    .settle = settle,
    .setting = 0,
};
