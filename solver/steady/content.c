#include "solver/steady/content.h"

#include <float.h>
#include <math.h>

/* A step is kept when the derivative left at its end is at most this share of that at its start. */
static const double good_share = 0.3;

enum { SEARCH_LIMIT = 60 };

void content_evaluate(struct state *state, const struct water *water)
{
    friction_many_drops(state->link_count, state->digest, state->trial, state->drop, state->slope);
    for (int i = 0; i < state->other_count; i++) {
        const int e = state->other[i];
        const struct law *law = &state->law[e];
        const struct drop drop = law->element->drop(law->data, water, state->trial[e]);
        state->drop[e] = drop.head;
        state->slope[e] = drop.slope;
    }
}

/* E' for the drops now in the state; `noise` gets what round-off may have added. */
static double derivative(const struct state *state, double *noise)
{
    double sum = 0.0;
    *noise = 0.0;
    for (int e = 0; e < state->link_count; e++) {
        const double from = state->head[state->from[e]];
        const double to = state->head[state->to[e]];
        const double change = state->target[e] - state->flow[e];
        sum += (state->drop[e] - (from - to)) * change;
        *noise += (fabs(state->drop[e]) + fabs(from) + fabs(to)) * fabs(change);
    }
    *noise *= 4.0 * DBL_EPSILON;
    return sum;
}

static double derivative_at(struct state *state, const struct water *water, double t, double *noise)
{
    for (int e = 0; e < state->link_count; e++) {
        const double flow = state->flow[e];
        /* the very end must be met exactly: shut is zero, not nearly zero */
        state->trial[e] = t < 1.0 ? flow + t * (state->target[e] - flow) : state->target[e];
    }
    content_evaluate(state, water);
    return derivative(state, noise);
}

double content_search(struct state *state, const struct water *water)
{
    double noise;
    double low = 0.0;
    double high = 1.0;
    double low_slope = derivative(state, &noise);
    const double start = fabs(low_slope);
    double high_slope = derivative_at(state, water, 1.0, &noise);
    if (high_slope <= good_share * start + noise) {
        return 1.0;
    }
    int last_side = 0;
    for (int i = 0; i < SEARCH_LIMIT; i++) {
        /* false position, the end that stays being halved (Illinois; Dowell & Jarratt 1971) */
        double t = low + (high - low) * (low_slope / (low_slope - high_slope));
        if (!(t > low && t < high)) {
            t = low + 0.5 * (high - low);
        }
        const double slope = derivative_at(state, water, t, &noise);
        if (fabs(slope) <= good_share * start + noise) {
            return t;
        }
        const int side = slope < 0.0 ? -1 : 1;
        if (side < 0) {
            low = t;
            low_slope = slope;
            high_slope *= last_side == side ? 0.5 : 1.0;
        } else {
            high = t;
            high_slope = slope;
            low_slope *= last_side == side ? 0.5 : 1.0;
        }
        last_side = side;
    }
    return low;
}
