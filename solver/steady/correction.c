#include "solver/steady/correction.h"

#include "solver/steady/content.h"
#include "solver/steady/inner.h"

#include <math.h>

/* Flows at the end of the step; false when one would leave its span by more than round-off. */
static bool set_target(struct state *state)
{
    int next = 0;
    for (int e = 0; e < state->link_count; e++) {
        const double change = state->shift[state->from[e]] - state->shift[state->to[e]];
        const double conductance = state_conductance(state, e, &next);
        state->target[e] = state->flow[e] + conductance * (state->excess[e] + change);
    }
    for (int i = 0; i < state->limited_count; i++) {
        const int e = state->limited[i];
        const double flow = state->target[e];
        state->target[e] = fmin(fmax(flow, state->span[e].lower), state->span[e].upper);
        if (fabs(state->target[e] - flow) > state->tie_flow) {
            return false;
        }
    }
    return true;
}

bool correction_make(struct state *state, const struct water *water, bool *has_moved,
                     struct gap *gap, struct failure *failure)
{
    *has_moved = false;
    inner_set_right(state);
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
    content_step(state, water, true, gap);
    *has_moved = true;
    return true;
}
