#include "solver/steady/linearise.h"

#include "solver/steady/runs.h"

#include <math.h>

/* Least slope a law is given when linearised: this head, m, at the usual flow. It keeps links
 * without loss solvable; as it only shapes the steps, the answer does not know of it. */
static const double floor_head = 1e-6;

/* The floor sinks with the residual of the heads, down to this, m, so that it does not slow the end
 * where the law it stands in for has flows near zero beside it. A law that has some slope, if less,
 * keeps it down to this: with a steeper one a flow that dies away as q|q| would crawl. Lower still
 * and the linear systems would lose their last digits. */
static const double least_floor_head = 1e-8;

/* A flow that became this share of what it was is halving; 1.852 as exponent gives 0.46, and the
 * corrections of a step lessen it further. */
static const double least_halving = 0.3;
static const double most_halving = 0.6;

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

/* The usual flow beyond the present one, or the end of the span before it. */
static double flow_beyond(const struct state *state, int link, struct span span)
{
    const double flow = state->flow[link];
    const double usual = state->usual_flow[link];
    return clamp(flow < span.upper ? flow + usual : flow - usual, span);
}

/* Slope of the chord from the present flow to the usual flow beyond it. */
static double chord_slope(const struct state *state, const struct water *water, int other,
                          struct span span)
{
    const int link = state->other[other];
    const struct law *law = &state->law[other];
    const double flow = state->flow[link];
    const double beyond = flow_beyond(state, link, span);
    if (!(fabs(beyond - flow) > 0.0)) {
        return 1.0; /* a fixed flow: any slope will do */
    }
    const struct drop drop = law->element->drop(law->data, water, beyond);
    return (drop.head - state->drop[link]) / (beyond - flow);
}

/* `now` and `before` as distances from rest. Signs count: a flow that turned is none. */
static bool is_halving(double now, double before)
{
    const double product = now * before;
    const double square = before * before;
    return product > least_halving * square && product < most_halving * square;
}

/* Where a law that loses q|q| or the like meets no loss, each Newton step only halves the flow that
 * is to vanish. A flow seen halving takes the chord to its rest (no flow, or the end of its span)
 * instead, a hair less steep so that a flow at the very opening head ends shut. Any slope is
 * allowed here: it shapes the step, not the answer. */
static const double less_steep = 1.0 - 1e-9;

static double rest_slope(const struct state *state, const struct water *water, int other,
                         struct span span)
{
    const int link = state->other[other];
    const struct law *law = &state->law[other];
    const double rest = clamp(0.0, span);
    const double now = state->flow[link] - rest;
    if (!is_halving(now, state->last_flow[link] - rest)) {
        return state->slope[link];
    }
    const struct drop drop = law->element->drop(law->data, water, rest);
    return less_steep * (state->drop[link] - drop.head) / now;
}

static void set_link(struct state *state, int link, double slope)
{
    state->conductance[link] = 1.0 / slope;
}

void linearise_chords(struct state *state, const struct water *water)
{
    double *head = state->target; /* until the first step has flows to aim at, */
    double *slope = state->trial; /* and to try */
    double *beyond = state->conductance;
    for (int e = 0; e < state->link_count; e++) {
        beyond[e] = state->flow[e] + state->usual_flow[e];
    }
    friction_many_drops(state->link_count, state->digest, beyond, head, slope);
    for (int e = 0; e < state->link_count; e++) {
        slope[e] = (head[e] - state->drop[e]) / state->usual_flow[e];
    }
    runs_add_chords(state, slope);
    for (int e = 0; e < state->link_count; e++) {
        set_link(state, e, larger(slope[e], floor_head / state->usual_flow[e]));
    }
    int next = 0;
    for (int i = 0; i < state->other_count; i++) {
        const int e = state->other[i];
        const double chord = chord_slope(state, water, i, state_span(state, e, &next));
        set_link(state, e, larger(chord, floor_head / state->usual_flow[e]));
    }
}

/* Friction alone: no end to the span, no loss at rest. A run does lose something there, by its
 * draws; and its pipes have slopes, as they hardly all come to rest together. */
static void linearise_friction(struct state *state, double least, double floor)
{
    const double *flow = state->flow;
    const double *last_flow = state->last_flow;
    for (int e = 0; e < state->link_count; e++) {
        double slope = state->slope[e];
        if (is_halving(flow[e], last_flow[e])) {
            slope = less_steep * state->drop[e] / flow[e];
        }
        const double lowest = (slope > 0.0 ? least : floor) / state->usual_flow[e];
        set_link(state, e, larger(slope, lowest));
    }
    for (int i = 0; i < state->extra_count; i++) {
        const int e = state->of[i];
        const double slope = state->slope[e];
        const double lowest = (slope > 0.0 ? least : floor) / state->usual_flow[e];
        set_link(state, e, larger(slope, lowest));
    }
}

void linearise(struct state *state, const struct water *water)
{
    const double least = fmin(floor_head, least_floor_head * state->floor_raise);
    const double floor = fmin(floor_head, fmax(state->gap_head, least));
    linearise_friction(state, least, floor);
    int next = 0;
    for (int i = 0; i < state->other_count; i++) {
        const int e = state->other[i];
        const struct span span = state_span(state, e, &next);
        double slope;
        if (state->flow[e] <= span.lower || state->flow[e] >= span.upper) {
            /* upright there: what it will need if it opens */
            slope = larger(state->slope[e], chord_slope(state, water, i, span));
        } else {
            slope = rest_slope(state, water, i, span);
        }
        const double usual = state->usual_flow[e];
        set_link(state, e, larger(slope, (slope > 0.0 ? least : floor) / usual));
    }
}
