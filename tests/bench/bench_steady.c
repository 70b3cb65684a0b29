/* How long the steady solver takes on large networks and what memory, beside what a bare sparse
 * Cholesky code would need for as many linear systems (bare_cholmod.h), and beside a
 * general-purpose nonlinear solver on the same equations (peer_kinsol.h). bench_steady [--full]
 * [points]...      sizes; else 1e4 and 1e5, with --full 1e6 too */
#include "solver/steady/steady.h"
#include "tests/bench/bare_cholmod.h"
#include "tests/bench/made_network.h"
#include "tests/bench/measure.h"
#include "tests/bench/peer_kinsol.h"

#include <stdlib.h>
#include <string.h>

enum { SEED = 1, SEEDS = 3, SIZES_MOST = 8 };

/* --- what is measured, each in a process of its own --- */

enum { SOLVER_SET_UP, SOLVER_SOLVE, SOLVER_STEPS, SOLVER_SOLVES, SOLVER_MASS, SOLVER_ENERGY };

static bool do_solver(void *what, double value[])
{
    const struct made_network *made = what;
    const struct network *network = &made->network;
    struct failure failure = {0};
    struct steady answer;
    struct arena *arena = arena_new();
    if (!arena || !steady_init(&answer, network, arena, &failure)) {
        return false;
    }
    const double begun = measure_seconds();
    struct steady_solver *solver = steady_solver_new(network, &failure);
    const double ready = measure_seconds();
    if (!solver ||
        !steady_solve(solver, network, &made_water, &steady_defaults, &answer, &failure)) {
        return false;
    }
    value[SOLVER_SOLVE] = measure_seconds() - ready;
    value[SOLVER_SET_UP] = ready - begun;
    value[SOLVER_STEPS] = answer.steps;
    value[SOLVER_SOLVES] = answer.solves;
    value[SOLVER_MASS] = answer.mass_residual;
    value[SOLVER_ENERGY] = answer.energy_residual;
    steady_solver_free(solver);
    arena_free(arena);
    return answer.ending == STEADY_CONVERGED;
}

enum { BARE_ANALYSE, BARE_ASSEMBLE, BARE_FACTORISE, BARE_SOLVE, BARE_IS_SUPER };

struct bare_task {
    const struct network *network;
    enum bare_order order;
};

static bool do_bare(void *what, double value[])
{
    const struct bare_task *task = what;
    struct bare_times times;
    if (!bare_cholmod(task->network, task->order, &times)) {
        return false;
    }
    value[BARE_ANALYSE] = times.analyse;
    value[BARE_ASSEMBLE] = times.assemble;
    value[BARE_FACTORISE] = times.factorise;
    value[BARE_SOLVE] = times.solve;
    value[BARE_IS_SUPER] = times.is_super ? 1.0 : 0.0;
    return true;
}

enum { KINSOL_SECONDS, KINSOL_STEPS, KINSOL_FACTORISATIONS, KINSOL_RESIDUAL };

static bool do_kinsol(void *what, double value[])
{
    const struct made_network *made = what;
    double *head = malloc(((size_t)made->network.point_count + 1) * sizeof *head);
    double *flow = malloc(((size_t)made->network.link_count + 1) * sizeof *flow);
    struct peer_kinsol told = {0};
    const bool is_good =
        head && flow && peer_kinsol(&made->network, &made_water, 1, head, flow, &told);
    value[KINSOL_SECONDS] = told.seconds;
    value[KINSOL_STEPS] = (double)told.steps;
    value[KINSOL_FACTORISATIONS] = (double)told.factorisations;
    value[KINSOL_RESIDUAL] = told.residual;
    free(head);
    free(flow);
    return is_good;
}

/* --- the rows --- */

static double bare_seconds(const double bare[], double steps)
{
    return bare[BARE_ANALYSE] +
           steps * (bare[BARE_ASSEMBLE] + bare[BARE_FACTORISE] + bare[BARE_SOLVE]);
}

static void tell_solver(int points, const char *kind, const double solver[])
{
    printf("steady %d points%s: set up %.3f s, solve %.3f s, %.0f factorisations, %.0f "
           "back-substitutions; mass %.1e m3/s, energy %.1e m\n",
           points, kind, solver[SOLVER_SET_UP], solver[SOLVER_SOLVE], solver[SOLVER_STEPS],
           solver[SOLVER_SOLVES], solver[SOLVER_MASS], solver[SOLVER_ENERGY]);
}

static void tell_bare(const char *order, const double bare[], double memory)
{
    printf("  bare, %s: analyse %.3f s, assemble %.4f s, factorise %.4f s (%s), "
           "back-substitute %.4f s; %.3g MiB\n",
           order, bare[BARE_ANALYSE], bare[BARE_ASSEMBLE], bare[BARE_FACTORISE],
           bare[BARE_IS_SUPER] > 0.0 ? "supernodal" : "simplicial", bare[BARE_SOLVE], memory);
}

/* Seconds of a whole solution, and of bare CHOLMOD for as many systems in the network's own order.
 */
struct both {
    double solver;
    double bare;
};

/* Rows of one solution beside bare CHOLMOD. */
static struct both tell_rows(const char *what, const double solver[], double solver_memory,
                             const double as_it_comes[], const double sorted[], double bare_memory)
{
    const double whole = solver[SOLVER_SET_UP] + solver[SOLVER_SOLVE];
    const double steps = solver[SOLVER_STEPS];
    const double bare = bare_seconds(as_it_comes, steps);
    measure_row(what, whole, "s", "bare CHOLMOD, the network's own order, as many systems",
                whole / bare, WISH_AT_MOST, 1.25);
    measure_row("  the same", whole, "s",
                "bare CHOLMOD, rows and links sorted beforehand (not counted)",
                whole / bare_seconds(sorted, steps), WISH_NONE, 0.0);
    measure_row("  its factorisations", steps, "", "(number)", steps, WISH_AT_MOST, 12);
    measure_row("  its memory", solver_memory, "MiB", "bare CHOLMOD's, own order",
                solver_memory / bare_memory, WISH_AT_MOST, 2.0);
    return (struct both){whole, bare};
}

/* Not a number where something failed. */
static struct both measure_size(int points, double density, const char *kind, uint64_t seed,
                                enum made_options options)
{
    static struct made_network made;
    double solver[MEASURE_VALUES];
    double bare[2][MEASURE_VALUES];
    double solver_memory = 0.0;
    double bare_memory[2] = {0.0};
    struct both seconds = {(double)NAN, (double)NAN};
    char what[96];
    const int times = points <= 10000 ? 7 : points <= 100000 ? 4 : 2;
    made_network_init(&made, points, density, seed, options);
    struct bare_task as_it_comes = {&made.network, BARE_AS_IT_COMES};
    struct bare_task sorted = {&made.network, BARE_SORTED};
    (void)snprintf(what, sizeof what, "steady, %.0e points%s", (double)points, kind);
    if (measure_best(times, do_solver, &made, solver, &solver_memory) &&
        measure_best(times, do_bare, &as_it_comes, bare[0], &bare_memory[0]) &&
        measure_best(times, do_bare, &sorted, bare[1], &bare_memory[1])) {
        tell_solver(points, kind, solver);
        tell_bare("own order", bare[0], bare_memory[0]);
        tell_bare("sorted beforehand", bare[1], bare_memory[1]);
        seconds = tell_rows(what, solver, solver_memory, bare[0], bare[1], bare_memory[0]);
    } else {
        printf("%s: failed\n", what);
    }
    free(made.network.points);
    free(made.network.links);
    free(made.pipes);
    return seconds;
}

/* Networks of the same kind: where fewer systems lead to the answer, what is done but once (laws
 * read, proof) weighs more. Each in a process of its own: free memory that one network leaves would
 * be used by the next, and not be counted. */
static void measure_seeds(int points)
{
    for (int seed = SEED + 1; seed <= SEEDS; seed++) {
        char kind[32];
        (void)snprintf(kind, sizeof kind, ", seed %d", seed);
        (void)fflush(stdout);
        const pid_t child = fork();
        if (child == 0) {
            (void)measure_size(points, 1.2, kind, (uint64_t)seed, MADE_WITH_VALVES);
            (void)fflush(stdout);
            _exit(0);
        }
        if (child > 0) {
            (void)waitpid(child, NULL, 0);
        }
    }
}

/* How the seconds grow with the points; beside it, not judged, how the bare systems' do: what the
 * factors themselves and the caches ask. */
static void tell_growth(const int size[2], const struct both seconds[2])
{
    char what[96];
    const double ratio = log((double)size[1] / (double)size[0]);
    const double solver = log(seconds[1].solver / seconds[0].solver) / ratio;
    const double bare = log(seconds[1].bare / seconds[0].bare) / ratio;
    (void)snprintf(what, sizeof what, "  growth from %.0e to %.0e", (double)size[0],
                   (double)size[1]);
    measure_row(what, solver, "", "(exponent)", solver, WISH_AT_MOST, 1.1);
    measure_row("  the same of bare CHOLMOD, own order, as many systems", bare, "", "(exponent)",
                bare, WISH_NONE, 0.0);
}

/* Pipes only: KINSOL has no way to say that a valve shuts. */
static void measure_kinsol(int points, double limit)
{
    static struct made_network made;
    double solver[MEASURE_VALUES];
    double peer[MEASURE_VALUES];
    double memory;
    char what[96];
    const int times = points <= 10000 ? 3 : 1;
    made_network_init(&made, points, 1.2, SEED, 0);
    if (measure_best(times, do_solver, &made, solver, &memory) &&
        measure_best(times, do_kinsol, &made, peer, &memory)) {
        const double whole = solver[SOLVER_SET_UP] + solver[SOLVER_SOLVE];
        printf("KINSOL with KLU, %d points: %.3f s, %.0f steps, %.0f factorisations, residual "
               "%.1e; here %.3f s, %.0f factorisations\n",
               points, peer[KINSOL_SECONDS], peer[KINSOL_STEPS], peer[KINSOL_FACTORISATIONS],
               peer[KINSOL_RESIDUAL], whole, solver[SOLVER_STEPS]);
        (void)snprintf(what, sizeof what, "KINSOL + KLU, %.0e points", (double)points);
        measure_row(what, peer[KINSOL_SECONDS], "s", "the steady solver",
                    peer[KINSOL_SECONDS] / whole, limit > 0.0 ? WISH_AT_LEAST : WISH_NONE, limit);
    } else {
        printf("KINSOL with KLU, %d points: found no answer\n", points);
    }
    free(made.network.points);
    free(made.network.links);
    free(made.pipes);
}

int main(int count, char *argument[])
{
    int size[SIZES_MOST] = {10000, 100000, 1000000};
    struct both seconds[SIZES_MOST] = {{0.0, 0.0}};
    const bool is_full = count > 1 && strcmp(argument[1], "--full") == 0;
    int sizes = is_full ? 3 : 2;
    const int first = is_full ? 2 : 1;
    for (int i = first; i < count && i - first < SIZES_MOST; i++) {
        size[i - first] = (int)strtol(argument[i], NULL, 10);
        sizes = i - first + 1;
    }
    measure_seeds(size[0]);
    for (int i = 0; i < sizes; i++) {
        seconds[i] = measure_size(size[i], 1.2, "", SEED, MADE_WITH_VALVES);
    }
    for (int i = 1; i < sizes; i++) {
        tell_growth(size + i - 1, seconds + i - 1);
    }
    (void)measure_size(size[sizes - 1], 1.2, ", links shuffled", SEED,
                       MADE_WITH_VALVES | MADE_SHUFFLED);
    (void)measure_size(90000, 2.0, ", full grid", SEED, MADE_WITH_VALVES);
    for (int i = 0; i < sizes; i++) {
        const bool is_small = size[i] <= 10000;
        measure_kinsol(size[i], is_small ? 3.0 : size[i] >= 1000000 ? 8.0 : 0.0);
    }
    return 0;
}
