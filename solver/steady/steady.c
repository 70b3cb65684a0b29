#include "solver/steady/steady.h"

#include "solver/steady/certificate.h"
#include "solver/steady/coupled.h"
#include "solver/steady/forest.h"
#include "solver/steady/laws.h"
#include "solver/steady/newton.h"
#include "solver/steady/runs.h"
#include "solver/steady/state.h"
#include "solver/steady/zones.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

const struct steady_options steady_defaults = {.step_limit = 200, .is_warm = false};

struct steady_solver {
    struct forest forest;
    int first_in_runs;       /* a pipe of the first run by shape (series.h), or NETWORK_NONE */
    struct state *core;      /* of the network without its forest, with runs of pipes as links; NULL
                                until there are runs whose laws allow it */
    struct state *bare;      /* without its forest only; NULL: it has none, or until it is needed */
    struct state *whole;     /* NULL until it is needed beside these */
    struct coupled *coupled; /* NULL until a network has a law that is no monotone graph */
    double *sum;             /* [point_count] draws, then workspace of the certificate; room for as
                                many of struct forest_left */
};

bool steady_init(struct steady *result, const struct network *network, struct arena *arena,
                 struct failure *failure)
{
    const size_t points = (size_t)network->point_count;
    const size_t links = (size_t)network->link_count;
    memset(result, 0, sizeof *result);
    arena_expect(
        arena,
        arena_need(points, sizeof *result->head) + arena_need(points, sizeof *result->zone) +
            arena_need(links, sizeof *result->flow) + arena_need(links, sizeof *result->drop),
        0);
    result->head = arena_take(arena, points, sizeof *result->head);
    result->zone = arena_take(arena, points, sizeof *result->zone);
    result->flow = arena_take(arena, links, sizeof *result->flow);
    result->drop = arena_take(arena, links, sizeof *result->drop);
    if (!result->head || !result->zone || !result->flow || !result->drop) {
        return fail_memory(failure, "the steady answer");
    }
    return true;
}

static bool ready_whole(struct steady_solver *solver, const struct network *network,
                        struct failure *failure)
{
    if (!solver->whole) {
        solver->whole = state_new(network, NULL, NULL, failure);
    }
    return solver->whole != NULL;
}

/* The solver for laws that are no monotone graph, of these partners. */
static bool ready_coupled(struct steady_solver *solver, const struct network *network,
                          struct failure *failure)
{
    if (solver->coupled && !coupled_fits(solver->coupled, network)) {
        coupled_free(solver->coupled);
        solver->coupled = NULL;
    }
    if (!solver->coupled && ready_whole(solver, network, failure)) {
        solver->coupled = coupled_new(network, solver->whole, failure);
    }
    return solver->coupled != NULL;
}

/* Without the forest but with every pipe a link of its own, where there is a forest. */
static bool ready_bare(struct steady_solver *solver, const struct network *network,
                       struct failure *failure)
{
    if (!solver->bare && solver->forest.count > 0) {
        solver->bare = state_new(network, &solver->forest, NULL, failure);
    }
    return solver->bare || solver->forest.count == 0;
}

/* What the first solution of `network` needs. */
static bool make_ready(struct steady_solver *solver, const struct network *network,
                       struct failure *failure)
{
    struct forest_left *left = (void *)solver->sum; /* the sums are not needed yet */
    if (!forest_plan(&solver->forest, network, left, failure)) {
        return false;
    }
    if (!solver->forest.is_monotone) {
        return ready_coupled(solver, network, failure);
    }
    struct series series;
    if (!series_plan(&series, network, left, failure)) {
        return false;
    }
    solver->first_in_runs = series.first;
    const bool has_runs = series.count > 0;
    if (has_runs) {
        solver->core = state_new(network, &solver->forest, &series, failure);
    }
    series_free(&series);
    if (has_runs) {
        return solver->core != NULL;
    }
    return solver->forest.count > 0 ? ready_bare(solver, network, failure)
                                    : ready_whole(solver, network, failure);
}

/* Plans anew where the laws did not allow runs so far and now do, as a solver made for these laws
 * would: of the same laws the digits are then the same, whatever was solved before. */
static bool ready_runs(struct steady_solver *solver, const struct network *network,
                       struct failure *failure)
{
    const int first = solver->first_in_runs;
    if (solver->core || first == NETWORK_NONE || !series_is_plain(&network->links[first])) {
        return true;
    }
    forest_free(&solver->forest);
    state_free(solver->bare);
    solver->bare = NULL;
    return make_ready(solver, network, failure);
}

struct steady_solver *steady_solver_new(const struct network *network, struct failure *failure)
{
    struct steady_solver *solver = calloc(1, sizeof *solver);
    if (!solver) {
        (void)fail_memory(failure, "the steady solver");
        return NULL;
    }
    static_assert(sizeof(struct forest_left) >= sizeof *solver->sum, "room for both");
    solver->first_in_runs = NETWORK_NONE;
    void *room = calloc((size_t)network->point_count + 1, sizeof(struct forest_left));
    solver->sum = room;
    if (!solver->sum) {
        (void)fail_memory(failure, "the steady solver");
    }
    if (!solver->sum || !make_ready(solver, network, failure)) {
        steady_solver_free(solver);
        return NULL;
    }
    return solver;
}

void steady_solver_free(struct steady_solver *solver)
{
    if (!solver) {
        return;
    }
    coupled_free(solver->coupled);
    state_free(solver->core);
    state_free(solver->bare);
    state_free(solver->whole);
    forest_free(&solver->forest);
    free(solver->sum);
    free(solver);
}

/* Heads and flows to start from; `draw` [point_count] of the network. */
static void fill_state(struct state *state, const struct network *network, const double draw[],
                       const struct steady_options *options, const struct steady *result)
{
    double mean = 0.0;
    int held_count = 0;
    for (int i = 0; i < network->point_count; i++) {
        const struct point *point = &network->points[i];
        const int row = state->row[i];
        if (point->is_held) {
            mean += point->held_head;
            held_count++;
        }
        if (row == NETWORK_NONE) {
            continue;
        }
        assert(point->is_held == (row >= state->row_count));
        state->draw[row] = draw[i];
        if (point->is_held) {
            state->head[row] = point->held_head;
        } else if (options->is_warm) {
            state->head[row] = result->head[i];
        }
    }
    runs_set_draws(state, draw);
    mean = held_count > 0 ? mean / held_count : 0.0;
    for (int row = 0; row < state->row_count && !options->is_warm; row++) {
        state->head[row] = mean;
    }
    if (options->is_warm) {
        for (int e = 0; e < state->link_count; e++) {
            const int link = state->link[e];
            state->flow[e] = link >= 0 ? result->flow[link] : 0.0 - result->flow[~link];
        }
    }
}

static void fill_result(const struct steady_solver *solver, struct state *state,
                        const struct network *network, const struct water *water,
                        struct steady *result)
{
    for (int i = 0; i < network->point_count; i++) {
        if (state->row[i] != NETWORK_NONE) {
            result->head[i] = state->head[state->row[i]];
        }
    }
    runs_answer(state, result->flow, result->drop, result->head);
    result->zone_count = zones_number(state, network->point_count, result->zone);
    if (state != solver->whole) {
        forest_heads(&solver->forest, network, water, result->flow, result->drop, result->head,
                     result->zone);
    }
    result->steps = state->steps;
    result->solves = state->solves;
    const struct certificate found =
        certificate_find(network, water, result->head, result->flow, solver->sum);
    result->mass_residual = found.mass_residual;
    result->energy_residual = found.energy_residual;
    result->complementarity = found.complementarity;
    result->worst_point = found.worst_point;
    result->worst_link = found.worst_link;
}

/* Draws and laws of a state without the forest. False: it has no law for this network. */
static bool read_laws(struct state *state, const struct steady_solver *solver,
                      const struct network *network, const struct water *water,
                      const struct steady_options *options, const struct steady *result)
{
    fill_state(state, network, solver->sum, options, result);
    return laws_read(state, network, water);
}

/* The state without the forest that suits the laws, with draws and laws in it: as long as all pipes
 * of runs have laws that these may be made of, the core. NULL in `chosen`: there is none. False:
 * failure tells. */
static bool choose_state(struct steady_solver *solver, const struct network *network,
                         const struct water *water, const struct steady_options *options,
                         const struct steady *result, struct state **chosen,
                         struct failure *failure)
{
    *chosen = solver->core;
    if (solver->core && read_laws(solver->core, solver, network, water, options, result)) {
        return true;
    }
    *chosen = NULL;
    if (!ready_bare(solver, network, failure)) {
        return false;
    }
    if (solver->bare && read_laws(solver->bare, solver, network, water, options, result)) {
        *chosen = solver->bare;
    }
    return true;
}

/* Heads that grew beyond all numbers: of branches and inside runs no step has seen them. */
static bool are_heads_finite(const struct network *network, const double head[])
{
    double sum = 0.0; /* stays nought, or is no number */
    for (int i = 0; i < network->point_count; i++) {
        sum += 0.0 * head[i];
    }
    return sum == 0.0;
}

/* Without the forest. `is_answer` becomes false, and the result means nothing, where that has no
 * answer: which draw a zone is denied, say, hangs on what the forest draws. */
static bool solve_core(struct steady_solver *solver, const struct network *network,
                       const struct water *water, const struct steady_options *options,
                       struct steady *result, bool *is_answer, struct failure *failure)
{
    struct state *state;
    *is_answer = false;
    if (!ready_runs(solver, network, failure)) {
        return false;
    }
    if ((!solver->core && solver->forest.count == 0) ||
        !forest_flows(&solver->forest, network, water, solver->sum, result->flow)) {
        return true; /* nothing is taken out, or the forest has got another law */
    }
    if (!choose_state(solver, network, water, options, result, &state, failure)) {
        return false;
    }
    if (!state) {
        return true;
    }
    if (!newton_solve(state, water, options, &result->ending, failure)) {
        return false;
    }
    if (result->ending == STEADY_CONVERGED) {
        fill_result(solver, state, network, water, result);
        *is_answer = are_heads_finite(network, result->head);
    }
    return true;
}

static bool solve_whole(struct steady_solver *solver, const struct network *network,
                        const struct water *water, const struct steady_options *options,
                        struct steady *result, struct failure *failure)
{
    const bool is_coupled = coupled_is_needed(network);
    if (!ready_whole(solver, network, failure) ||
        (is_coupled && !ready_coupled(solver, network, failure))) {
        return false;
    }
    struct state *whole = solver->whole;
    for (int i = 0; i < network->point_count; i++) {
        solver->sum[i] = network->points[i].draw;
    }
    fill_state(whole, network, solver->sum, options, result);
    (void)laws_read(whole, network, water);
    const bool is_done = is_coupled ? coupled_solve(solver->coupled, whole, network, water, options,
                                                    &result->ending, failure)
                                    : newton_solve(whole, water, options, &result->ending, failure);
    if (is_done) {
        fill_result(solver, whole, network, water, result);
    }
    return is_done;
}

bool steady_solve(struct steady_solver *solver, const struct network *network,
                  const struct water *water, const struct steady_options *options,
                  struct steady *result, struct failure *failure)
{
    bool is_answer;
    return solve_core(solver, network, water, options, result, &is_answer, failure) &&
           (is_answer || solve_whole(solver, network, water, options, result, failure));
}

const char *steady_ending_text(enum steady_ending ending)
{
    switch (ending) {
    case STEADY_CONVERGED:
        return "converged";
    case STEADY_STALLED:
        return "no further progress";
    case STEADY_TOO_MANY:
        return "step limit reached";
    case STEADY_CUT_OFF_DRAW:
        return "a zone without any held head cannot get the water drawn from it";
    case STEADY_NO_COUPLED_ANSWER:
        return "regulators, tees or rising pump curves found no answer together";
    }
    return "unknown";
}
