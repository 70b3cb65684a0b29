#include "solver/findings/findings.h"

#include "solver/findings/rules.h"
#include "solver/rest.h"

/* The same site with every pump stopped. Without pumps it is `steady` itself. */
static bool solve_at_rest(const struct site *site, const struct steady *steady, struct arena *arena,
                          struct steady *rest, struct failure *failure)
{
    if (site->pump_place_count == 0) {
        *rest = *steady;
        return true;
    }
    struct network *network = network_copy(site->network, arena);
    struct pump_unit *stopped = arena_take(arena, (size_t)site->pump_place_count, sizeof *stopped);
    if (!network || !stopped) {
        return fail_memory(failure, "the site at rest");
    }
    for (int i = 0; i < site->pump_place_count; i++) {
        struct link *link = &network->links[site->pump_places[i].link];
        stopped[i] = *(const struct pump_unit *)link->data;
        stopped[i].is_running = false;
        link->data = &stopped[i];
    }
    if (!steady_init(rest, network, arena, failure)) {
        return false;
    }
    struct steady_solver *solver = steady_solver_new(network, failure);
    const bool is_done =
        solver && steady_solve(solver, network, &site->water, &steady_defaults, rest, failure);
    steady_solver_free(solver);
    return is_done;
}

/* Back head of every non-return valve when it alone holds. */
static bool find_back_heads(const struct site *site, struct arena *arena, double back_head[],
                            struct failure *failure)
{
    if (site->valve_count == 0) {
        return true;
    }
    struct rest *rest = rest_new(site, arena, failure);
    struct steady_solver *solver = rest ? steady_solver_new(site->network, failure) : NULL;
    bool is_done = solver != NULL;
    for (int i = 0; is_done && i < site->valve_count; i++) {
        is_done = rest_back_head(rest, solver, site->network, site->valves[i].link, &back_head[i],
                                 failure);
    }
    steady_solver_free(solver);
    return is_done;
}

bool findings_steady(const struct site *site, const struct steady *steady,
                     struct findings *findings, struct failure *failure)
{
    struct arena *arena = arena_new();
    struct steady rest = {0};
    if (!arena) {
        return fail_memory(failure, "the findings");
    }
    double *back_head = arena_take(arena, (size_t)site->valve_count, sizeof *back_head);
    bool is_done = back_head ? solve_at_rest(site, steady, arena, &rest, failure) &&
                                   find_back_heads(site, arena, back_head, failure)
                             : fail_memory(failure, "the findings");
    if (is_done) {
        const struct view view = {.site = site,
                                  .network = site->network,
                                  .steady = steady,
                                  .rest = rest.ending == STEADY_CONVERGED ? &rest : NULL,
                                  .back_head = back_head,
                                  .findings = findings};
        rules_pumps(&view);
        rules_suction(&view);
        rules_valves(&view);
        rules_pipes(&view);
        rules_points(&view);
        is_done = rules_rest(&view, arena, failure) && rules_coupled(&view, arena, failure);
    }
    arena_free(arena);
    return is_done && (!findings->is_cut || fail_memory(failure, "the findings"));
}
