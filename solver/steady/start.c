#include "solver/steady/start.h"

#include <math.h>

/* m/s; what pumped pipe is commonly sized for lies near it. */
static const double usual_velocity = 0.7;

/* A flow is far off when its law misses the head difference by more than this share of it. */
static const double far_share = 1.0;

/* It is found again to within this share of the head difference: Newton does the rest. */
static const double near_share = 0.5;

enum { FIT_LIMIT = 60 };

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

void start_flows(struct state *state, const struct network *network, bool is_warm)
{
    for (int e = 0; e < state->link_count; e++) {
        const double flow = is_warm ? state->flow[e] : start_usual_flow(&network->links[e]);
        state->flow[e] = clamp(flow, state->span[e]);
        state->last_flow[e] = state->flow[e];
        state->trial[e] = state->flow[e];
    }
}

/* Middle of two flows; of two sizes far apart the geometric one. */
static double middle_flow(double a, double b)
{
    return a * b > 0.0 ? copysign(sqrt(a * b), a) : 0.5 * (a + b);
}

/* A flow between `near` and `far` whose drop is about `wanted`. */
static double fit_flow(const struct link *link, const struct water *water, double near, double far,
                       double wanted)
{
    for (int i = 0; i < FIT_LIMIT; i++) {
        const double flow = middle_flow(near, far);
        const double drop = link->element->drop(link->data, water, flow).head;
        if (fabs(drop - wanted) <= near_share * fabs(wanted)) {
            return flow;
        }
        if ((drop < wanted) == (near < far)) {
            near = flow;
        } else {
            far = flow;
        }
    }
    return middle_flow(near, far);
}

int start_fit(struct state *state, const struct network *network, const struct water *water)
{
    int count = 0;
    for (int e = 0; e < state->link_count; e++) {
        const struct link *link = &network->links[e];
        const int from = state->from[e];
        const int to = state->to[e];
        const double wanted =
            state->head[from] + state->shift[from] - state->head[to] - state->shift[to];
        const double flow = state->target[e];
        const double drop = link->element->drop(link->data, water, flow).head;
        const double size = fmax(fabs(wanted), fabs(state->drop[e]));
        const bool is_over = (drop - wanted) * (state->drop[e] - wanted) < 0.0;
        if (is_over && fabs(drop - wanted) > far_share * size) {
            state->trial[e] = fit_flow(link, water, state->flow[e], flow, wanted);
            count++;
        } else {
            state->trial[e] = flow;
        }
    }
    return count;
}
