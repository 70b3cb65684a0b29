#include "solver/steady/correction.h"

#include "solver/steady/content.h"
#include "solver/steady/inner.h"

#include <math.h>

/* False when some flow would leave its span by more than round-off. */
static bool stays_in_spans(const struct state *state)
{
    for (int i = 0; i < state->limited_count; i++) {
        const int e = state->limited[i];
        const double change = state->shift[state->from[e]] - state->shift[state->to[e]];
        const double conductance = state->is_open[i] ? state->conductance[e] : 0.0;
        const double flow = state->flow[e] + conductance * (state->excess[e] + change);
        const double within = fmin(fmax(flow, state->span[i].lower), state->span[i].upper);
        if (fabs(within - flow) > state->tie_flow) {
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
    if (!linear_solve(state->linear, state->shift, failure)) {
        return false;
    }
    if (!stays_in_spans(state)) {
        return true;
    }
    for (int row = 0; row < state->row_count; row++) {
        state->head[row] += state->shift[row];
    }
    content_step_linear(state, water, gap);
    *has_moved = true;
    return true;
}
