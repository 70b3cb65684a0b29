#include "solver/steady/start.h"

#include <math.h>

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

void start_flows(struct state *state, bool is_warm)
{
    for (int e = 0; e < state->link_count; e++) {
        state->flow[e] = clamp(is_warm ? state->flow[e] : 0.0, state->span[e]);
        state->last_flow[e] = state->flow[e];
    }
}

void start_fit(struct state *state)
{
    for (int e = 0; e < state->link_count; e++) {
        const double rest = state->flow[e];
        const double away = state->target[e] - rest;
        const double mean = sqrt(fabs(away) * state->usual_flow[e]);
        state->flow[e] = clamp(rest + copysign(mean, away), state->span[e]);
        state->last_flow[e] = state->flow[e];
    }
}
