#include "solver/steady/start.h"

#include <math.h>
#include <string.h>

/* m/s; what pumped pipe is commonly sized for lies near it. */
static const double usual_velocity = 0.7;

static double clamp(double flow, struct span span)
{
    if (flow < span.lower) {
        return span.lower;
    }
    return flow > span.upper ? span.upper : flow;
}

double start_usual_flow(const struct link *link)
{
    const double area = link->area > 0.0 ? link->area : 1e-3;
    return usual_velocity * area;
}

/* The flows within their spans; those one step before are the same. */
static void go_within_spans(struct state *state)
{
    for (int i = 0; i < state->limited_count; i++) {
        double *flow = &state->flow[state->limited[i]];
        *flow = clamp(*flow, state->span[i]);
    }
    memcpy(state->last_flow, state->flow, (size_t)state->link_count * sizeof *state->flow);
}

void start_flows(struct state *state, bool is_warm)
{
    for (int e = 0; e < state->link_count && !is_warm; e++) {
        state->flow[e] = 0.0;
    }
    go_within_spans(state);
}

double start_fitted(double flow, double usual)
{
    return copysign(sqrt(fabs(flow) * usual), flow);
}

void start_fit(struct state *state)
{
    for (int e = 0; e < state->link_count; e++) {
        const double rest = state->flow[e];
        state->flow[e] = rest + start_fitted(state->target[e] - rest, state->usual_flow[e]);
    }
    go_within_spans(state);
}
