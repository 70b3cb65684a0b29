#include "solver/steady/newton.h"

#include "solver/steady/content.h"
#include "solver/steady/inner.h"
#include "solver/steady/start.h"

#include <float.h>
#include <math.h>
#include <string.h>

/* Least slope a law is given when linearised: this head, m, at the usual flow. It keeps links
 * without loss solvable; as it only shapes the steps, the answer does not know of it. */
static const double floor_head = 1e-6;

/* The floor sinks with the residual of the heads, down to this, m, so that it does not slow the end
 * where the law it stands in for has flows near zero beside it. A law that has some slope, if less,
 * keeps it down to this: with a steeper one a flow that dies away as q|q| would crawl. Lower still
 * and the linear systems would lose their last digits. */
static const double least_floor_head = 1e-8;

/* A flow that became this share of what it was is halving; 1.852 as exponent gives 0.46. */
static const double least_halving = 0.4;
static const double most_halving = 0.6;

/* Residuals below this many times the unit round-off of what went into them are nothing. */
static const double round_off_units = 16.0;

/* Round-off is reckoned as of at least this head, m, and this flow, m3/s: nobody cares for less. */
static const double least_head = 1.0;
static const double least_flow = 1e-5;

/* Residuals above round-off that still count as an answer when nothing gets better: shares of the
 * largest head (at least 1 m) and of the largest flow (at least 1e-2 m3/s). */
static const double good_head_share = 1e-12;
static const double good_flow_share = 1e-11;

/* Steps without the residuals becoming less before the iteration gives up. */
enum { PATIENCE = 12 };

/* Largest residual of heads as a multiple of its round-off, and in m. */
struct gap {
    double units;
    double head;
};

static double clamp(double flow, struct span span)
{
    if (flow < span.lower) {
        return span.lower;
    }
    return flow > span.upper ? span.upper : flow;
}

static void read_spans(struct state *state, const struct network *network,
                       const struct water *water)
{
    state->limited_count = 0;
    for (int e = 0; e < state->link_count; e++) {
        const struct link *link = &network->links[e];
        state->span[e] = link->element->span(link->data, water);
        if (isfinite(state->span[e].lower) || isfinite(state->span[e].upper)) {
            state->limited[state->limited_count++] = e;
        }
    }
}

/* A link at the end of its span has no slope of its own there (its graph is upright): take the
 * chord to the usual flow, which is what it will need if it opens. */
static double chord_slope(const struct state *state, const struct network *network,
                          const struct water *water, int link)
{
    const struct link *what = &network->links[link];
    const struct span span = state->span[link];
    const double flow = state->flow[link];
    const double away = flow > span.lower ? -start_usual_flow(what) : start_usual_flow(what);
    const double other = clamp(flow + away, span);
    if (!(fabs(other - flow) > 0.0)) {
        return 1.0; /* a fixed flow: any slope will do */
    }
    const struct drop drop = what->element->drop(what->data, water, other);
    return (drop.head - state->drop[link]) / (other - flow);
}

/* Where a law that loses q|q| or the like meets no loss, each Newton step only halves the flow that
 * is to vanish. A flow seen halving takes the chord to its rest (no flow, or the end of its span)
 * instead, a hair less steep so that a flow at the very opening head ends shut. Any slope is
 * allowed here: it shapes the step, not the answer. */
static double rest_slope(const struct state *state, const struct network *network,
                         const struct water *water, int link)
{
    const double rest = clamp(0.0, state->span[link]);
    const double now = state->flow[link] - rest;
    const double before = state->last_flow[link] - rest;
    const double share = now / before;
    if (!(share > least_halving && share < most_halving)) {
        return state->slope[link];
    }
    const struct drop drop =
        network->links[link].element->drop(network->links[link].data, water, rest);
    return (1.0 - 1e-9) * (state->drop[link] - drop.head) / now;
}

static void linearise(struct state *state, const struct network *network, const struct water *water)
{
    const double floor = fmin(floor_head, fmax(state->gap_head, least_floor_head));
    for (int e = 0; e < state->link_count; e++) {
        double slope = state->slope[e];
        const struct span span = state->span[e];
        if (state->flow[e] <= span.lower || state->flow[e] >= span.upper) {
            slope = fmax(slope, chord_slope(state, network, water, e));
        } else {
            slope = rest_slope(state, network, water, e);
        }
        const double usual = start_usual_flow(&network->links[e]);
        slope = fmax(slope, (slope > 0.0 ? least_floor_head : floor) / usual);
        state->conductance[e] = 1.0 / slope;
        state->excess[e] = state->head[state->from[e]] - state->head[state->to[e]] - state->drop[e];
    }
}

/* How far heads and flows are from meeting the laws. */
static struct gap find_gap(const struct state *state)
{
    struct gap gap = {0.0, 0.0};
    for (int e = 0; e < state->link_count; e++) {
        const double from = state->head[state->from[e]];
        const double to = state->head[state->to[e]];
        const double flow = state->flow[e];
        double error = from - to - state->drop[e];
        if (flow <= state->span[e].lower) {
            error = fmax(error, 0.0); /* any smaller drop will do */
        }
        if (flow >= state->span[e].upper) {
            error = fmin(error, 0.0);
        }
        const double unit = DBL_EPSILON * (fabs(from) + fabs(to) + fabs(state->drop[e]) +
                                           fabs(state->slope[e] * flow) + least_head);
        error = fabs(error);
        gap.head = fmax(gap.head, error);
        if (error > gap.units * unit) {
            gap.units = error / unit;
        }
    }
    return gap;
}

/* Largest |outflow + draw| over rows, m3/s, for the present flows; `units` as above. */
static double find_imbalance(struct state *state, double *units)
{
    for (int row = 0; row < state->point_count; row++) {
        state->imbalance[row] = state->draw[row];
        state->noise[row] = fabs(state->draw[row]);
    }
    for (int e = 0; e < state->link_count; e++) {
        const double flow = state->flow[e];
        state->imbalance[state->from[e]] += flow;
        state->imbalance[state->to[e]] -= flow;
        state->noise[state->from[e]] += fabs(flow);
        state->noise[state->to[e]] += fabs(flow);
    }
    double worst = 0.0;
    double largest = least_flow;
    for (int row = 0; row < state->row_count; row++) {
        worst = fmax(worst, fabs(state->imbalance[row]));
        largest = fmax(largest, state->noise[row]);
    }
    *units = worst / (DBL_EPSILON * largest);
    return worst;
}

/* Residuals that are an answer though above round-off. */
static bool is_good(const struct state *state, struct gap gap, double imbalance)
{
    double head = least_head;
    double flow = 1e-2;
    for (int e = 0; e < state->link_count; e++) {
        flow = fmax(flow, fabs(state->flow[e]));
        head = fmax(head, fmax(fabs(state->head[state->from[e]]), fabs(state->drop[e])));
    }
    return gap.head <= good_head_share * head && imbalance <= good_flow_share * flow;
}

/* One step of flows and heads; `is_balanced`: the present flows meet the draws, so the content may
 * judge the step. */
static bool take_step(struct state *state, const struct network *network, const struct water *water,
                      const struct steady_options *options, bool has_guess, bool *is_balanced,
                      struct failure *failure)
{
    const bool was_short = state->is_short;
    if (!has_guess) {
        linearise(state, network, water);
    }
    if (!inner_solve(state, has_guess, options->step_limit, failure)) {
        return false;
    }
    for (int row = 0; row < state->row_count; row++) {
        state->head[row] += state->shift[row];
    }
    if (*is_balanced && state->is_short == was_short) {
        (void)content_search(state, network, water);
    } else {
        memcpy(state->trial, state->target, (size_t)state->link_count * sizeof *state->trial);
        content_evaluate(state, network, water);
        *is_balanced = true;
    }
    memcpy(state->last_flow, state->flow, (size_t)state->link_count * sizeof *state->flow);
    memcpy(state->flow, state->trial, (size_t)state->link_count * sizeof *state->flow);
    return true;
}

/* Fits flows to a first guess of the heads where they are far from it. */
static bool improve_start(struct state *state, const struct network *network,
                          const struct water *water, bool *has_guess, struct failure *failure)
{
    linearise(state, network, water);
    if (!inner_guess(state, true, failure)) {
        return false;
    }
    *has_guess = start_fit(state, network, water) == 0;
    if (*has_guess) {
        return true; /* the guess stands as the beginning of the first step */
    }
    for (int row = 0; row < state->row_count; row++) {
        state->head[row] += state->shift[row];
    }
    memcpy(state->flow, state->trial, (size_t)state->link_count * sizeof *state->flow);
    content_evaluate(state, network, water);
    return true;
}

bool newton_solve(struct state *state, const struct network *network, const struct water *water,
                  const struct steady_options *options, enum steady_ending *ending,
                  struct failure *failure)
{
    state->steps = 0;
    state->is_short = false;
    state->gap_head = INFINITY;
    read_spans(state, network, water);
    start_flows(state, network, options->is_warm);
    content_evaluate(state, network, water);
    bool has_guess = false;
    if (!options->is_warm && !improve_start(state, network, water, &has_guess, failure)) {
        return false;
    }
    bool is_balanced = false;
    double best = INFINITY;
    int waited = 0;
    for (int step = 0;; step++) {
        if (!take_step(state, network, water, options, step == 0 && has_guess, &is_balanced,
                       failure)) {
            return false;
        }
        double units;
        const struct gap gap = find_gap(state);
        state->gap_head = gap.head;
        const double imbalance = find_imbalance(state, &units);
        const double worst = fmax(gap.units, units);
        waited = worst < 0.5 * best ? 0 : waited + 1;
        best = fmin(best, worst);
        if (worst <= round_off_units) {
            *ending = STEADY_CONVERGED;
            break;
        }
        if (waited >= 2 && is_good(state, gap, imbalance)) {
            *ending = STEADY_CONVERGED; /* round-off greater than reckoned */
            break;
        }
        if (waited >= PATIENCE) {
            *ending = STEADY_STALLED;
            break;
        }
        if (state->steps >= options->step_limit || step >= options->step_limit) {
            *ending = is_good(state, gap, imbalance) ? STEADY_CONVERGED : STEADY_TOO_MANY;
            break;
        }
    }
    if (state->is_short) {
        *ending = STEADY_CUT_OFF_DRAW;
    }
    return true;
}
