#include "solver/steady/linearise.h"

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

static double clamp(double flow, struct span span)
{
    if (flow < span.lower) {
        return span.lower;
    }
    return flow > span.upper ? span.upper : flow;
}

/* The usual flow beyond the present one, or the end of the span before it. */
static double flow_beyond(const struct state *state, int link)
{
    const struct span span = state->span[link];
    const double flow = state->flow[link];
    const double usual = state->law[link].usual_flow;
    return clamp(flow < span.upper ? flow + usual : flow - usual, span);
}

/* Slope of the chord from the present flow to the usual flow beyond it. */
static double chord_slope(const struct state *state, const struct water *water, int link)
{
    const struct law *law = &state->law[link];
    const double flow = state->flow[link];
    const double other = flow_beyond(state, link);
    if (!(fabs(other - flow) > 0.0)) {
        return 1.0; /* a fixed flow: any slope will do */
    }
    const struct drop drop = law->element->drop(law->data, water, other);
    return (drop.head - state->drop[link]) / (other - flow);
}

/* Where a law that loses q|q| or the like meets no loss, each Newton step only halves the flow that
 * is to vanish. A flow seen halving takes the chord to its rest (no flow, or the end of its span)
 * instead, a hair less steep so that a flow at the very opening head ends shut. Any slope is
 * allowed here: it shapes the step, not the answer. */
static double rest_slope(const struct state *state, const struct water *water, int link)
{
    const struct law *law = &state->law[link];
    const double rest = clamp(0.0, state->span[link]);
    const double now = state->flow[link] - rest;
    const double before = state->last_flow[link] - rest;
    const double share = now / before;
    if (!(share > least_halving && share < most_halving)) {
        return state->slope[link];
    }
    const struct drop drop = law->element->drop(law->data, water, rest);
    return (1.0 - 1e-9) * (state->drop[link] - drop.head) / now;
}

static void set_link(struct state *state, int link, double slope)
{
    state->conductance[link] = 1.0 / slope;
    state->excess[link] =
        state->head[state->from[link]] - state->head[state->to[link]] - state->drop[link];
}

void linearise_chords(struct state *state, const struct water *water)
{
    double *beyond = state->trial; /* until the first step has flows to try */
    double *head = state->excess;  /* of link e until set_link has set it */
    double *slope = state->conductance;
    for (int e = 0; e < state->link_count; e++) {
        beyond[e] = flow_beyond(state, e);
    }
    friction_many_drops(state->link_count, state->digest, beyond, head, slope);
    for (int e = 0; e < state->link_count; e++) {
        const double floor = floor_head / state->law[e].usual_flow;
        const double change = beyond[e] - state->flow[e];
        double chord = 1.0; /* a fixed flow: any slope will do */
        if (!state->has_digest[e]) {
            chord = chord_slope(state, water, e);
        } else if (fabs(change) > 0.0) {
            chord = (head[e] - state->drop[e]) / change;
        }
        set_link(state, e, fmax(chord, floor));
    }
}

void linearise(struct state *state, const struct water *water)
{
    const double least = fmin(floor_head, least_floor_head * state->floor_raise);
    const double floor = fmin(floor_head, fmax(state->gap_head, least));
    for (int e = 0; e < state->link_count; e++) {
        double slope = state->slope[e];
        const struct span span = state->span[e];
        if (state->flow[e] <= span.lower || state->flow[e] >= span.upper) {
            /* upright there: what it will need if it opens */
            slope = fmax(slope, chord_slope(state, water, e));
        } else {
            slope = rest_slope(state, water, e);
        }
        const double usual = state->law[e].usual_flow;
        set_link(state, e, fmax(slope, (slope > 0.0 ? least : floor) / usual));
    }
}
