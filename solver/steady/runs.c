#include "solver/steady/runs.h"

#include "solver/steady/start.h"

#include <math.h>

enum { BLOCK = 128 };

/* Whether an extra is the last pipe of its run. */
static bool is_last(const struct state *state, int extra)
{
    return extra + 1 == state->extra_count || state->of[extra + 1] != state->of[extra];
}

void runs_set_draws(struct state *state, const double draw[])
{
    double offset = 0.0;
    for (int i = 0; i < state->extra_count; i++) {
        offset -= draw[state->before[i]];
        state->offset[i] = offset;
        if (is_last(state, i)) {
            state->draw[state->to[state->of[i]]] -= offset;
            offset = 0.0;
        }
    }
}

/* What `some` extras from `at` on lose at the flows of their links, and their slopes. */
static void find_drops(const struct state *state, const double flow[], int at, int some,
                       double drop[BLOCK], double slope[BLOCK])
{
    double through[BLOCK];
    for (int i = 0; i < some; i++) {
        through[i] = flow[state->of[at + i]] + state->offset[at + i];
    }
    friction_many_drops(some, state->digest + state->link_count + at, through, drop, slope);
}

void runs_add(struct state *state, const double flow[], int begin, int end, int at, double size[])
{
    double drop[BLOCK];
    double slope[BLOCK];
    for (int first = begin; first < end; first += BLOCK) {
        const int some = end - first < BLOCK ? end - first : BLOCK;
        find_drops(state, flow, first, some, drop, slope);
        for (int i = 0; i < some; i++) {
            const int e = state->of[first + i];
            const double before = state->drop[e];
            const double sum = before + drop[i];
            state->drop[e] = sum;
            state->slope[e] += slope[i];
            if (size) {
                size[e - at] += fabs(before) + fabs(drop[i]) - fabs(sum);
            }
        }
    }
}

void runs_add_fitted(struct state *state)
{
    const double *usual = state->usual_flow + state->link_count;
    double fitted[BLOCK];
    double drop[BLOCK];
    double slope[BLOCK];
    for (int at = 0; at < state->extra_count; at += BLOCK) {
        const int some = state->extra_count - at < BLOCK ? state->extra_count - at : BLOCK;
        for (int i = 0; i < some; i++) {
            const int e = state->of[at + i];
            fitted[i] = start_fitted(state->target[e] + state->offset[at + i], usual[at + i]);
        }
        friction_many_drops(some, state->digest + state->link_count + at, fitted, drop, slope);
        for (int i = 0; i < some; i++) {
            const int e = state->of[at + i];
            const double beyond = state->flow[e] + state->offset[at + i] - fitted[i];
            state->drop[e] += drop[i] + slope[i] * beyond;
            state->slope[e] += slope[i];
        }
    }
}

void runs_add_chords(struct state *state, double slope[])
{
    double drop[BLOCK];
    double tangent[BLOCK];
    const double *usual = state->usual_flow + state->link_count;
    const struct friction_digest *digest = state->digest + state->link_count;
    for (int at = 0; at < state->extra_count; at += BLOCK) {
        const int some = state->extra_count - at < BLOCK ? state->extra_count - at : BLOCK;
        friction_many_drops(some, digest + at, usual + at, drop, tangent);
        for (int i = 0; i < some; i++) {
            const int e = state->of[at + i];
            const double chord = drop[i] / usual[at + i];
            slope[e] += chord;
            state->excess[e] -= chord * state->offset[at + i];
        }
    }
}

/* Flow and loss along its run of the pipe at a place of the state's links. */
static void tell(const struct state *state, int place, double through, double lost, double flow[],
                 double drop[])
{
    const int link = state->link[place];
    const int e = link >= 0 ? link : ~link;
    flow[e] = link >= 0 ? through : 0.0 - through;
    drop[e] = link >= 0 ? lost : 0.0 - lost;
}

void runs_answer(const struct state *state, double flow[], double drop[], double head[])
{
    double lost[BLOCK];
    double slope[BLOCK];
    double behind = 0.0; /* m, head at the end of the pipe */
    for (int e = 0; e < state->link_count; e++) {
        const double change = state->head[state->from[e]] - state->head[state->to[e]];
        tell(state, e, state->flow[e], change, flow, drop);
    }
    for (int end = state->extra_count; end > 0; end -= BLOCK) {
        const int at = end > BLOCK ? end - BLOCK : 0;
        find_drops(state, state->flow, at, end - at, lost, slope);
        for (int i = end - 1; i >= at; i--) {
            const int e = state->of[i];
            behind = is_last(state, i) ? state->head[state->to[e]] : behind;
            const double here = behind + lost[i - at];
            tell(state, state->link_count + i, state->flow[e] + state->offset[i], here - behind,
                 flow, drop);
            head[state->before[i]] = here;
            behind = here;
            if (i == 0 || state->of[i - 1] != e) { /* before it is the first pipe of the run */
                tell(state, e, state->flow[e], state->head[state->from[e]] - here, flow, drop);
            }
        }
    }
}
