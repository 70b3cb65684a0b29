#include "solver/steady/coupled.h"

#include "solver/steady/coupled_system.h"
#include "solver/steady/newton.h"
#include "solver/steady/safeguard.h"

#include <math.h>
#include <string.h>

/* Residuals are nothing, or an answer, at the sizes newton.c uses. */
static const double round_off_units = 16.0;
static const double good_head_share = 1e-12;
static const double good_flow_share = 1e-11;

/* A flow nearer than this share of the largest (at least that, m3/s) to the end of its span is at
 * the end. */
static const double end_share = 4e-15;
static const double least_flow = 1e-5;

/* The same, m3/s, of a coupled law, whose round-off is that of heads: a tenth of what the mass
 * residual may be. */
static const double coupled_tie = 1e-14;

/* Continuation: first and least stride, and how near a stride's answer must be, share of the head
 * scale. */
static const double first_stride = 0.25;
static const double least_stride = 1e-3;
static const double stride_share = 1e-7;

enum { NEWTON_LIMIT = 60, STRIDE_LIMIT = 25, TIME_LIMIT = 300 };

struct coupled {
    struct coupled_system *system;
    struct arena *arena; /* holds this and the arrays */
    int point_count;
    int link_count;
    double *head; /* [point_count] m, present, by row */
    double *flow; /* [link_count] m3/s */
    double *trial_head;
    double *trial_flow;
    double *best_head; /* of the full laws, seen so far */
    double *best_flow;
    double *kept_head; /* where a continuation's last stride ended */
    double *kept_flow;
    double *step; /* [size] */
    double best;  /* size of its residual */
    double size;  /* of the present residual */
    int steps;    /* linear systems */
};

bool coupled_is_needed(const struct network *network)
{
    return coupled_system_needed(network);
}

bool coupled_fits(const struct coupled *coupled, const struct network *network)
{
    return coupled_system_fits(coupled->system, network);
}

struct coupled *coupled_new(const struct network *network, const struct state *state,
                            struct failure *failure)
{
    struct arena *arena = arena_new();
    struct coupled *coupled = arena ? arena_take(arena, 1, sizeof *coupled) : NULL;
    if (!coupled) {
        arena_free(arena);
        (void)fail_memory(failure, "the coupled solver");
        return NULL;
    }
    coupled->arena = arena;
    coupled->point_count = state->point_count;
    coupled->link_count = state->link_count;
    double **const heads[] = {&coupled->head, &coupled->trial_head, &coupled->best_head,
                              &coupled->kept_head};
    double **const flows[] = {&coupled->flow, &coupled->trial_flow, &coupled->best_flow,
                              &coupled->kept_flow};
    bool is_good = true;
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++) {
        *heads[i] = arena_take(arena, (size_t)state->point_count, sizeof **heads[i]);
        *flows[i] = arena_take(arena, (size_t)state->link_count, sizeof **flows[i]);
        is_good = is_good && *heads[i] && *flows[i];
    }
    const size_t size = (size_t)state->row_count + (size_t)state->link_count;
    coupled->step = arena_take(arena, size, sizeof *coupled->step);
    if (!is_good || !coupled->step) {
        coupled_free(coupled);
        (void)fail_memory(failure, "the coupled solver");
        return NULL;
    }
    coupled->system = coupled_system_new(network, state->row_count, state->row, failure);
    if (!coupled->system) {
        coupled_free(coupled);
        return NULL;
    }
    return coupled;
}

void coupled_free(struct coupled *coupled)
{
    if (!coupled) {
        return;
    }
    coupled_system_free(coupled->system);
    arena_free(coupled->arena);
}

static void copy(const struct coupled *coupled, double to_head[], double to_flow[],
                 const double head[], const double flow[])
{
    memcpy(to_head, head, (size_t)coupled->point_count * sizeof *head);
    memcpy(to_flow, flow, (size_t)coupled->link_count * sizeof *flow);
}

/* Evaluates at the present heads and flows, and remembers the best of the full laws. */
static void look(struct coupled *coupled)
{
    coupled->size = coupled_system_evaluate(coupled->system, coupled->head, coupled->flow);
    if (coupled->system->blend >= 1.0 && coupled->size < coupled->best) {
        coupled->best = coupled->size;
        copy(coupled, coupled->best_head, coupled->best_flow, coupled->head, coupled->flow);
    }
}

/* Size of the residual `t` of the way along the step; head and flow of it in the trial arrays. */
static double try_step(struct coupled *coupled, double t)
{
    const int rows = coupled->system->row_count;
    copy(coupled, coupled->trial_head, coupled->trial_flow, coupled->head, coupled->flow);
    for (int row = 0; row < rows; row++) {
        coupled->trial_head[row] += t * coupled->step[row];
    }
    for (int e = 0; e < coupled->link_count; e++) {
        coupled->trial_flow[e] += t * coupled->step[rows + e];
    }
    return coupled_system_evaluate(coupled->system, coupled->trial_head, coupled->trial_flow);
}

/* Goes along the step until the residual is below `bar`; where it never is, to its least. */
static void search(struct coupled *coupled, double bar)
{
    double least = INFINITY;
    double least_t = 0.0;
    double t = 1.0;
    for (int i = 0; i <= SAFEGUARD_HALVINGS; i++) {
        const double size = try_step(coupled, t);
        if (safeguard_is_good(size, bar, t)) {
            least_t = t;
            break;
        }
        if (size < least) {
            least = size;
            least_t = t;
        }
        t *= 0.5;
    }
    (void)try_step(coupled, least_t);
    copy(coupled, coupled->head, coupled->flow, coupled->trial_head, coupled->trial_flow);
    look(coupled);
}

static bool is_good(const struct coupled *coupled, struct coupled_gap gap)
{
    const double head = coupled->system->largest_head;
    double flow = 1e-2;
    for (int e = 0; e < coupled->link_count; e++) {
        flow = fmax(flow, fabs(coupled->flow[e]));
    }
    return gap.head <= good_head_share * head && gap.flow <= good_flow_share * flow;
}

/* Newton from the present heads and flows until round-off or, `near` > 0, until the residual is
 * below it. *has_answer tells whether it got there. */
static bool newton(struct coupled *coupled, double near, int limit, bool *has_answer,
                   struct failure *failure)
{
    struct safeguard safeguard;
    double best_units = INFINITY;
    int waited = 0;
    look(coupled);
    safeguard_begin(&safeguard, coupled->size);
    *has_answer = false;
    for (int step = 0; step <= limit; step++) {
        const struct coupled_gap gap = coupled_system_gap(coupled->system);
        waited = gap.units < 0.5 * best_units ? 0 : waited + 1;
        best_units = fmin(best_units, gap.units);
        if (gap.units <= round_off_units || coupled->size <= near ||
            (waited >= 2 && is_good(coupled, gap))) {
            *has_answer = true;
            return true;
        }
        if (step == limit) {
            return true;
        }
        coupled->steps++;
        if (!coupled_system_step(coupled->system, safeguard_light_damping, coupled->step,
                                 failure)) {
            return false;
        }
        search(coupled, safeguard_bar(&safeguard));
        safeguard_note(&safeguard, step, coupled->size);
    }
    return true;
}

/* Leads the laws from the nearest monotone ones, whose answer stands in head and flow, to the full
 * ones. */
static bool lead(struct coupled *coupled, bool *has_answer, struct failure *failure)
{
    struct coupled_system *system = coupled->system;
    const double near = stride_share * system->head_scale;
    double blend = 0.0;
    double stride = first_stride;
    *has_answer = true;
    copy(coupled, coupled->kept_head, coupled->kept_flow, coupled->head, coupled->flow);
    while (blend < 1.0 && stride >= least_stride) {
        system->blend = fmin(blend + stride, 1.0);
        if (!newton(coupled, near, STRIDE_LIMIT, has_answer, failure)) {
            return false;
        }
        if (*has_answer) {
            blend = system->blend;
            stride *= 2.0;
            copy(coupled, coupled->kept_head, coupled->kept_flow, coupled->head, coupled->flow);
        } else {
            stride *= 0.25;
            copy(coupled, coupled->head, coupled->flow, coupled->kept_head, coupled->kept_flow);
        }
    }
    system->blend = 1.0;
    if (!*has_answer) {
        return true;
    }
    return newton(coupled, 0.0, NEWTON_LIMIT, has_answer, failure);
}

/* Lets heads and flows move as in time until Newton can take over. */
static bool settle(struct coupled *coupled, bool *has_answer, struct failure *failure)
{
    const double near = stride_share * coupled->system->head_scale;
    double damping = safeguard_first_damping;
    look(coupled);
    for (int i = 0; i < TIME_LIMIT && coupled->size > near; i++) {
        const double before = coupled->size;
        coupled->steps++;
        if (!coupled_system_step(coupled->system, damping, coupled->step, failure)) {
            return false;
        }
        (void)try_step(coupled, 1.0);
        copy(coupled, coupled->head, coupled->flow, coupled->trial_head, coupled->trial_flow);
        look(coupled);
        damping = safeguard_next_damping(damping, before, coupled->size);
    }
    return newton(coupled, 0.0, NEWTON_LIMIT, has_answer, failure);
}

/* Flows within round-off of the end of their span, or of standing still, are there. */
static void tidy_flows(struct coupled *coupled)
{
    const struct coupled_system *system = coupled->system;
    double largest = least_flow;
    for (int e = 0; e < coupled->link_count; e++) {
        largest = fmax(largest, fabs(coupled->flow[e]));
    }
    for (int e = 0; e < coupled->link_count; e++) {
        const bool is_coupled = system->coupled_place[e] != NETWORK_NONE;
        const double tie = fmax(end_share * largest, is_coupled ? coupled_tie : 0.0);
        const struct span span = system->span[e];
        double *flow = &coupled->flow[e];
        if (fabs(*flow - span.lower) <= tie) {
            *flow = span.lower;
        } else if (fabs(*flow - span.upper) <= tie) {
            *flow = span.upper;
        }
    }
}

/* Its links have the order of the network, those of the state have their own. */
static void begin(struct coupled *coupled, const struct state *state, const struct network *network,
                  const struct water *water)
{
    memcpy(coupled->head, state->head, (size_t)coupled->point_count * sizeof *coupled->head);
    for (int e = 0; e < coupled->link_count; e++) {
        coupled->flow[state->link[e]] = state->flow[e];
    }
    coupled_system_begin(coupled->system, network, water, state->draw, coupled->head,
                         coupled->flow);
    coupled->system->blend = 1.0;
}

/* From the monotone answer in the state to the full laws, by one way after the other. */
static bool solve_full(struct coupled *coupled, const struct state *state,
                       const struct network *network, const struct water *water, bool *has_answer,
                       struct failure *failure)
{
    typedef bool (*way)(struct coupled *, bool *, struct failure *);
    static const way ways[] = {lead, settle};
    begin(coupled, state, network, water);
    if (!newton(coupled, 0.0, NEWTON_LIMIT, has_answer, failure)) {
        return false;
    }
    for (size_t i = 0; i < sizeof ways / sizeof *ways && !*has_answer; i++) {
        begin(coupled, state, network, water);
        if (!ways[i](coupled, has_answer, failure)) {
            return false;
        }
    }
    return true;
}

/* The answer, into the state. */
static void end(struct coupled *coupled, struct state *state)
{
    memcpy(state->head, coupled->head, (size_t)coupled->point_count * sizeof *coupled->head);
    for (int e = 0; e < coupled->link_count; e++) {
        state->flow[e] = coupled->flow[state->link[e]];
    }
    state->steps += coupled->steps;
}

bool coupled_solve(struct coupled *coupled, struct state *state, const struct network *network,
                   const struct water *water, const struct steady_options *options,
                   enum steady_ending *ending, struct failure *failure)
{
    bool has_answer = false;
    coupled->best = INFINITY;
    coupled->steps = 0;
    if (options->is_warm) {
        begin(coupled, state, network, water);
        if (!newton(coupled, 0.0, NEWTON_LIMIT, &has_answer, failure)) {
            return false;
        }
        *ending = STEADY_CONVERGED;
        state->is_short = false;
        state->steps = 0;
    }
    if (!has_answer) {
        if (!newton_solve(state, water, options, ending, failure) ||
            !solve_full(coupled, state, network, water, &has_answer, failure)) {
            return false;
        }
    }
    if (!has_answer) {
        copy(coupled, coupled->head, coupled->flow, coupled->best_head, coupled->best_flow);
        *ending = STEADY_NO_COUPLED_ANSWER;
    } else if (!state->is_short) {
        *ending = STEADY_CONVERGED;
    }
    tidy_flows(coupled);
    end(coupled, state);
    return true;
}
