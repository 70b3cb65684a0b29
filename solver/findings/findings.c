#include "solver/findings/findings.h"

#include "solver/findings/rules.h"
#include "solver/rest.h"

/* The same site with every pump stopped. Without pumps it is `steady` itself. */
static bool solve_at_rest(const struct site *site, const struct steady *steady,
                          struct steady_solver *solver, struct arena *arena, struct steady *rest,
                          struct failure *failure)
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
    rest_stop_pumps(site, network, stopped);
    return steady_init(rest, network, arena, failure) &&
           steady_solve(solver, network, &site->water, &steady_defaults, rest, failure);
}

/* Back head of every non-return valve when it alone holds. */
static bool find_back_heads(const struct site *site, struct steady_solver *solver,
                            struct arena *arena, double back_head[], struct failure *failure)
{
    if (site->valve_count == 0) {
        return true;
    }
    struct rest *rest = rest_new(site, arena, failure);
    bool is_done = rest != NULL;
    for (int i = 0; is_done && i < site->valve_count; i++) {
        is_done = rest_back_head(rest, solver, site->network, site->valves[i].link, &back_head[i],
                                 failure);
    }
    return is_done;
}

/* What the rules need of the site at rest; one analysis of the network serves it all. A site
 * without pumps and valves needs none. */
static bool look_at_rest(const struct site *site, const struct steady *steady, struct arena *arena,
                         struct steady *rest, double back_head[], struct failure *failure)
{
    const bool is_plain = site->pump_place_count == 0 && site->valve_count == 0;
    struct steady_solver *solver = is_plain ? NULL : steady_solver_new(site->network, failure);
    const bool is_done = (is_plain || solver) &&
                         solve_at_rest(site, steady, solver, arena, rest, failure) &&
                         find_back_heads(site, solver, arena, back_head, failure);
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
    bool is_done = back_head ? look_at_rest(site, steady, arena, &rest, back_head, failure)
                             : fail_memory(failure, "the findings");
    if (is_done) {
        const struct view view = {.site = site,
                                  .network = site->network,
                                  .steady = steady,
                                  .rest = rest.ending == STEADY_CONVERGED ? &rest : NULL,
                                  .back_head = back_head,
                                  .findings = findings};
        const bool is_whole = rules_pumps(&view, arena, failure);
        rules_suction(&view);
        rules_valves(&view);
        rules_pipes(&view);
        rules_points(&view);
        is_done = is_whole && rules_rest(&view, arena, failure) &&
                  rules_summits(&view, arena, failure) && rules_coupled(&view, arena, failure);
    }
    arena_free(arena);
    return is_done && (!findings->is_cut || fail_memory(failure, "the findings"));
}
