#include "solver/steady/correction.h"

#include "solver/steady/content.h"

#include <math.h>
#include <string.h>

static double clamp(double flow, struct span span)
{
    if (flow < span.lower) {
        return span.lower;
    }
    return flow > span.upper ? span.upper : flow;
}

/* Head residuals at the present flows, and what they make of the sums at the rows. */
static void set_right(struct state *state)
{
    for (int row = 0; row < state->point_count; row++) {
        state->imbalance[row] = -state->draw[row];
    }
    for (int e = 0; e < state->link_count; e++) {
        const int from = state->from[e];
        const int to = state->to[e];
        state->excess[e] = state->head[from] - state->head[to] - state->drop[e];
        const double flow = state->flow[e] + state->active[e] * state->excess[e];
        state->imbalance[from] -= flow;
        state->imbalance[to] += flow;
    }
}

/* Flows at the end of the step; false when one would leave its span by more than round-off. */
static bool set_target(struct state *state)
{
    for (int e = 0; e < state->link_count; e++) {
        const double change = state->shift[state->from[e]] - state->shift[state->to[e]];
        const double flow = state->flow[e] + state->active[e] * (state->excess[e] + change);
        state->target[e] = clamp(flow, state->span[e]);
        if (fabs(state->target[e] - flow) > state->tie_flow) {
            return false;
        }
    }
    return true;
}

bool correction_make(struct state *state, const struct water *water, bool *has_moved,
                     struct failure *failure)
{
    *has_moved = false;
    set_right(state);
    state->solves++;
    if (!linear_solve(state->linear, state->imbalance, state->shift, failure)) {
        return false;
    }
    if (!set_target(state)) {
        return true;
    }
    for (int row = 0; row < state->row_count; row++) {
        state->head[row] += state->shift[row];
    }
    (void)content_search(state, water);
    memcpy(state->flow, state->trial, (size_t)state->link_count * sizeof *state->flow);
    *has_moved = true;
    return true;
}
