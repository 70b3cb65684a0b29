#include "solver/steady/inner.h"

#include "solver/steady/ray.h"
#include "solver/steady/zones.h"

#include <math.h>
#include <string.h>

/* Sums of flows below this share of the sizes that went into them are round-off: a few units in
 * the last place (2.2e-16) for the handful of terms at a point. */
static const double round_off = 8e-16;

/* The largest flow is taken as at least this, m3/s, when round-off is reckoned. */
static const double least_flow = 1e-5;

/* Share of the largest flow within which a flow counts as being at the end of its span: far above
 * round-off, far below what the mass residual may be. */
static const double tie_share = 1e-13;

/* A full step is kept when it leaves at most this share of the descent at its start. */
static const double good_share = 0.1;

/* Sums below this many times round-off are near enough to stop when they fall no further. */
static const double near_share = 1e7;

/* A rough solution may leave this share of the links with an end to their span on the wrong side:
 * where there are but twelve of them, none. */
static const double few_share = 0.08;

/* A link that was shut gets this share of its usual flow at most from a rough solution. */
static const double opening_share = 0.1;

enum { PATIENCE = 3 };

static double larger(double a, double b)
{
    return a > b ? a : b;
}

static double clamp(double flow, struct span span)
{
    if (flow < span.lower) {
        return span.lower;
    }
    return flow > span.upper ? span.upper : flow;
}

/* Sums with nothing flowing yet, and the sizes that went into them. */
static void begin_sums(struct state *state)
{
    for (int row = 0; row < state->point_count; row++) {
        state->imbalance[row] = state->draw[row];
        state->noise[row] = fabs(state->draw[row]);
    }
}

static inline void add_flow(double *restrict imbalance, double *restrict noise, int from, int to,
                            double flow, double size)
{
    imbalance[from] += flow;
    imbalance[to] -= flow;
    noise[from] += size;
    noise[to] += size;
}

/* Flows of the linearised laws at the present shifts, and their sums at the rows. */
static void set_flows(struct state *state)
{
    const double *shift = state->shift;
    double largest = least_flow;
    int next = 0; /* limited links come in the links' order */
    begin_sums(state);
    for (int e = 0; e < state->link_count; e++) {
        const double from = shift[state->from[e]];
        const double to = shift[state->to[e]];
        const double excess = state->excess[e];
        const double conductance = state->conductance[e];
        const double reach = fabs(excess) + fabs(from) + fabs(to);
        const double flow = state->flow[e] + conductance * (excess + (from - to));
        double target = flow;
        double within = conductance * reach; /* what went into the linearised flow */
        if (next < state->limited_count && state->limited[next] == e) {
            target = clamp(flow, state->span[next]);
            within = fabs(target - flow) > 0.0 ? 0.0 : within;
            state->free_flow[next++] = flow;
        }
        const double size = fabs(target) + fabs(state->flow[e]) + within;
        state->target[e] = target;
        largest = larger(fabs(target), largest);
        add_flow(state->imbalance, state->noise, state->from[e], state->to[e], target, size);
    }
    state->largest_flow = largest;
    state->tie_flow = tie_share * largest;
}

/* The sums anew, when zones have moved since. */
static void sum_flows(struct state *state)
{
    int next = 0;
    begin_sums(state);
    for (int e = 0; e < state->link_count; e++) {
        const int from = state->from[e];
        const int to = state->to[e];
        const double reach =
            fabs(state->excess[e]) + fabs(state->shift[from]) + fabs(state->shift[to]);
        double conductance = state->conductance[e];
        if (next < state->limited_count && state->limited[next] == e) {
            conductance = state_is_open(state, next++) ? conductance : 0.0;
        }
        const double size = fabs(state->target[e]) + fabs(state->flow[e]) + conductance * reach;
        add_flow(state->imbalance, state->noise, from, to, state->target[e], size);
    }
}

void inner_set_right(struct state *state)
{
    double *restrict right = state->shift;
    for (int row = 0; row < state->point_count; row++) {
        right[row] = -state->draw[row];
    }
    int next = 0;
    for (int e = 0; e < state->link_count; e++) {
        const double conductance = state_conductance(state, e, &next);
        const double flow = state->flow[e] + conductance * state->excess[e];
        right[state->from[e]] -= flow;
        right[state->to[e]] += flow;
    }
    for (int row = state->row_count; row < state->point_count; row++) {
        right[row] = 0.0; /* held points */
    }
}

/* Largest sum as a share of round-off; at most 1: balanced. */
static double worst_share(const struct state *state)
{
    double worst = 0.0;
    for (int row = 0; row < state->row_count; row++) {
        const double sum = fabs(state->imbalance[row]);
        const double unit = round_off * (state->noise[row] + state->largest_flow);
        if (sum > worst * unit) {
            worst = sum / unit;
        }
    }
    return worst;
}

/* Which links are open; returns how many differ from those of the last factors. */
static int set_open(struct state *state)
{
    int changes = 0;
    for (int i = 0; i < state->limited_count; i++) {
        const bool is_open = state_is_open(state, i);
        changes += is_open != (state->is_open[i] != 0) ? 1 : 0;
        state->is_open[i] = is_open;
    }
    return changes;
}

/* Length of the step along `direction`. */
static double search(struct state *state)
{
    struct ray ray = {.count = state->limited_count,
                      .flow = state->free_flow,
                      .rate = state->ray_rate,
                      .drop = state->ray_drop,
                      .span = state->span};
    for (int row = 0; row < state->row_count; row++) {
        ray.start += state->imbalance[row] * state->direction[row];
    }
    if (state->limited_count == 0 || ray.start >= 0.0) {
        return 1.0;
    }
    int next = 0; /* limited links come in the links' order */
    for (int e = 0; e < state->link_count; e++) {
        const double change = state->direction[state->from[e]] - state->direction[state->to[e]];
        if (next < state->limited_count && state->limited[next] == e) {
            state->ray_rate[next] = state->conductance[e] * change;
            state->ray_drop[next++] = change;
        } else {
            ray.linear += state->conductance[e] * change * change;
        }
    }
    if (fabs(ray_slope(&ray, 1.0)) <= good_share * fabs(ray.start)) {
        return 1.0;
    }
    const double t = ray_root(&ray);
    return isfinite(t) ? t : 1.0;
}

static void move_heads(struct state *state, double t)
{
    for (int row = 0; row < state->row_count; row++) {
        state->shift[row] += t * state->direction[row];
    }
}

static bool factorise(struct state *state, struct failure *failure)
{
    double *conductance = linear_conductances(state->linear);
    memcpy(conductance, state->conductance, (size_t)state->link_count * sizeof *conductance);
    for (int i = 0; i < state->limited_count; i++) {
        if (!state->is_open[i]) {
            conductance[state->limited[i]] = 0.0;
        }
    }
    state->steps++;
    return linear_factor(state->linear, state->pin_count, state->pin, failure);
}

/* Newton direction at the present sums. */
static bool find_direction(struct state *state, bool is_new, struct failure *failure)
{
    state->solves++;
    for (int row = 0; row < state->row_count; row++) {
        state->direction[row] = -state->imbalance[row];
    }
    return (!is_new || factorise(state, failure)) &&
           linear_solve(state->linear, state->direction, failure);
}

/* First guess of the heads: the links open at the end of the last step (before the first, all) stay
 * open and the others shut whatever the new laws say of the old heads, which stiff links would
 * throw far to one side or the other. Where the guess is right it is the whole step. */
bool inner_guess(struct state *state, bool every_link, struct failure *failure)
{
    for (int i = 0; i < state->limited_count; i++) {
        const int e = state->limited[i];
        const struct span span = state->span[i];
        state->is_open[i] =
            every_link || (state->flow[e] > span.lower && state->flow[e] < span.upper);
    }
    zones_find(state, true);
    inner_set_right(state);
    state->solves++;
    if (!factorise(state, failure) || !linear_solve(state->linear, state->shift, failure)) {
        return false;
    }
    set_flows(state);
    return true;
}

/* Links now open, and the zones they leave; the sums are then those of the zones in balance. */
static void settle_zones(struct state *state)
{
    bool is_shut = state->has_loose_zone;
    for (int i = 0; i < state->limited_count && !is_shut; i++) {
        is_shut = !state_is_open(state, i);
    }
    state->pin_count = 0;
    if (is_shut && (zones_balance(state) || state->pin_count > 0)) {
        sum_flows(state);
    }
}

/* Flows of links that were shut are kept near the end of their span: the heads of the guess, which
 * takes them for shut, may drive any flow through them. */
static void hold_openings(struct state *state)
{
    for (int i = 0; i < state->limited_count; i++) {
        const int e = state->limited[i];
        const struct span span = state->span[i];
        const double before = state->flow[e];
        if (before <= span.lower || before >= span.upper) {
            const double most = opening_share * state->usual_flow[e];
            state->target[e] = fmin(fmax(state->target[e], before - most), before + most);
        }
    }
}

bool inner_solve(struct state *state, int step_limit, bool is_rough, bool *is_balanced,
                 struct failure *failure)
{
    *is_balanced = true;
    if (!inner_guess(state, false, failure)) {
        return false;
    }
    if (state->row_count == 0) {
        return true;
    }
    double best = INFINITY;
    int waited = 0;
    for (int round = 0;; round++) {
        settle_zones(state);
        const double share = worst_share(state);
        if (share <= 1.0) {
            return true;
        }
        waited = share < 0.5 * best ? 0 : waited + 1;
        best = fmin(best, share);
        if (share < near_share && waited >= PATIENCE) {
            return true; /* links at a tie turn open and shut within round-off */
        }
        const int changes = set_open(state);
        const bool is_new = changes > 0;
        const bool are_few = changes <= few_share * state->limited_count;
        if (is_rough && round == 0 && is_new && are_few && state->pin_count == 0) {
            hold_openings(state);
            *is_balanced = false;
            return true;
        }
        if (is_new ? state->steps >= step_limit : waited >= PATIENCE) {
            return true;
        }
        if (!find_direction(state, is_new, failure)) {
            return false;
        }
        move_heads(state, search(state));
        set_flows(state);
    }
}
