#include "solver/steady/steady.h"

#include "solver/steady/certificate.h"
#include "solver/steady/coupled.h"
#include "solver/steady/laws.h"
#include "solver/steady/newton.h"
#include "solver/steady/state.h"
#include "solver/steady/zones.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

const struct steady_options steady_defaults = {.step_limit = 200, .is_warm = false};

struct steady_solver {
    struct state *state;
    struct coupled *coupled; /* NULL until a network has a law that is no monotone graph */
    double *sum;             /* [point_count] workspace of the certificate */
};

bool steady_init(struct steady *result, const struct network *network, struct arena *arena,
                 struct failure *failure)
{
    memset(result, 0, sizeof *result);
    result->head = arena_take(arena, (size_t)network->point_count, sizeof *result->head);
    result->zone = arena_take(arena, (size_t)network->point_count, sizeof *result->zone);
    result->flow = arena_take(arena, (size_t)network->link_count, sizeof *result->flow);
    result->drop = arena_take(arena, (size_t)network->link_count, sizeof *result->drop);
    if (!result->head || !result->zone || !result->flow || !result->drop) {
        return fail_memory(failure, "the steady answer");
    }
    return true;
}

/* The solver for laws that are no monotone graph, of these partners. */
static bool ready_coupled(struct steady_solver *solver, const struct network *network,
                          struct failure *failure)
{
    if (solver->coupled && !coupled_fits(solver->coupled, network)) {
        coupled_free(solver->coupled);
        solver->coupled = NULL;
    }
    if (!solver->coupled) {
        solver->coupled = coupled_new(network, solver->state, failure);
    }
    return solver->coupled != NULL;
}

struct steady_solver *steady_solver_new(const struct network *network, struct failure *failure)
{
    struct steady_solver *solver = calloc(1, sizeof *solver);
    if (!solver) {
        (void)fail_memory(failure, "the steady solver");
        return NULL;
    }
    solver->sum = calloc((size_t)network->point_count + 1, sizeof *solver->sum);
    solver->state = state_new(network, failure);
    if (solver->state && solver->sum && coupled_is_needed(network) &&
        !ready_coupled(solver, network, failure)) {
        steady_solver_free(solver);
        return NULL;
    }
    if (!solver->state || !solver->sum) {
        if (!solver->sum) {
            (void)fail_memory(failure, "the steady solver");
        }
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
    state_free(solver->state);
    free(solver->sum);
    free(solver);
}

/* Heads and flows to start from. */
static void fill_state(struct state *state, const struct network *network,
                       const struct steady_options *options, const struct steady *result)
{
    double mean = 0.0;
    int held_count = 0;
    for (int i = 0; i < state->point_count; i++) {
        if (network->points[i].is_held) {
            mean += network->points[i].held_head;
            held_count++;
        }
    }
    mean = held_count > 0 ? mean / held_count : 0.0;
    for (int i = 0; i < state->point_count; i++) {
        const struct point *point = &network->points[i];
        const int row = state->row[i];
        assert(point->is_held == (row >= state->row_count));
        state->draw[row] = point->draw;
        state->head[row] = options->is_warm ? result->head[i] : mean;
        if (point->is_held) {
            state->head[row] = point->held_head;
        }
    }
    if (options->is_warm) {
        for (int e = 0; e < state->link_count; e++) {
            state->flow[e] = result->flow[state->link[e]];
        }
    }
}

static void fill_result(const struct steady_solver *solver, const struct network *network,
                        const struct water *water, struct steady *result)
{
    struct state *state = solver->state;
    for (int i = 0; i < state->point_count; i++) {
        result->head[i] = state->head[state->row[i]];
    }
    for (int e = 0; e < state->link_count; e++) {
        result->flow[state->link[e]] = state->flow[e];
    }
    for (int e = 0; e < state->link_count; e++) {
        result->drop[e] = result->head[network->links[e].from] - result->head[network->links[e].to];
    }
    result->steps = state->steps;
    result->solves = state->solves;
    result->zone_count = zones_number(state, result->zone);
    const struct certificate found =
        certificate_find(network, water, result->head, result->flow, solver->sum);
    result->mass_residual = found.mass_residual;
    result->energy_residual = found.energy_residual;
    result->complementarity = found.complementarity;
    result->worst_point = found.worst_point;
    result->worst_link = found.worst_link;
}

bool steady_solve(struct steady_solver *solver, const struct network *network,
                  const struct water *water, const struct steady_options *options,
                  struct steady *result, struct failure *failure)
{
    assert(network->point_count == solver->state->point_count);
    assert(network->link_count == solver->state->link_count);
    fill_state(solver->state, network, options, result);
    laws_read(solver->state, network, water);
    const bool is_coupled = coupled_is_needed(network);
    if (is_coupled && !ready_coupled(solver, network, failure)) {
        return false;
    }
    const bool is_done =
        is_coupled ? coupled_solve(solver->coupled, solver->state, network, water, options,
                                   &result->ending, failure)
                   : newton_solve(solver->state, water, options, &result->ending, failure);
    if (!is_done) {
        return false;
    }
    fill_result(solver, network, water, result);
    return true;
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
