/* How long the steady solver takes on large networks and what memory, beside what a bare sparse
 * Cholesky code would need for as many linear systems (bare_cholmod.h), and beside a
 * general-purpose nonlinear solver on the same equations (peer_kinsol.h).
 * bench_steady [--full] [points]...      sizes; else 1e3, 1e4 and 1e5, with --full 1e6 too */
#include "solver/steady/steady.h"
#include "tests/bench/bare_cholmod.h"
#include "tests/bench/made_network.h"
#include "tests/bench/measure.h"
#include "tests/bench/peer_kinsol.h"

#include <stdlib.h>
#include <string.h>

enum { SEED = 1, SEEDS = 3, SIZES_MOST = MEASURE_VALUES / 2 };

/* --- what is measured, each in a process of its own --- */

enum {
    SOLVER_WHOLE,
    SOLVER_SET_UP,
    SOLVER_SOLVE,
    SOLVER_STEPS,
    SOLVER_SOLVES,
    SOLVER_MASS,
    SOLVER_ENERGY
};

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
    const double solved = measure_seconds();
    value[SOLVER_WHOLE] = solved - begun;
    value[SOLVER_SOLVE] = solved - ready;
    value[SOLVER_SET_UP] = ready - begun;
    value[SOLVER_STEPS] = answer.steps;
    value[SOLVER_SOLVES] = answer.solves;
    value[SOLVER_MASS] = answer.mass_residual;
    value[SOLVER_ENERGY] = answer.energy_residual;
    steady_solver_free(solver);
    arena_free(arena);
    return answer.ending == STEADY_CONVERGED;
}

enum { BARE_WHOLE, BARE_ANALYSE, BARE_ASSEMBLE, BARE_FACTORISE, BARE_SOLVE, BARE_IS_SUPER };

struct bare_task {
    const struct network *network;
    enum bare_order order;
    int systems;
};

static bool do_bare(void *what, double value[])
{
    const struct bare_task *task = what;
    struct bare_times times;
    if (!bare_cholmod(task->network, task->order, task->systems, &times)) {
        return false;
    }
    value[BARE_WHOLE] = times.whole;
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

static void tell_solver(int points, const char *kind, const double solver[])
{
    printf("steady %d points%s: set up %.3g s, solve %.3g s, %.0f factorisations, %.0f "
           "back-substitutions; mass %.1e m3/s, energy %.1e m\n",
           points, kind, solver[SOLVER_SET_UP], solver[SOLVER_SOLVE], solver[SOLVER_STEPS],
           solver[SOLVER_SOLVES], solver[SOLVER_MASS], solver[SOLVER_ENERGY]);
}

static void tell_bare(const char *order, const double bare[], double memory)
{
    printf("  bare, %s: analyse %.3g s, assemble %.3g s, factorise %.3g s (%s), "
           "back-substitute %.3g s; %.3g MiB\n",
           order, bare[BARE_ANALYSE], bare[BARE_ASSEMBLE], bare[BARE_FACTORISE],
           bare[BARE_IS_SUPER] > 0.0 ? "supernodal" : "simplicial", bare[BARE_SOLVE], memory);
}

/* A solution and bare CHOLMOD in both orders for as many systems, all by turns. */
struct trial {
    double solver[MEASURE_VALUES];
    double bare[2][MEASURE_VALUES];
    double solver_memory;
    double bare_memory[2];
};

static bool try_all(struct made_network *made, struct trial *trial)
{
    const int points = made->network.point_count;
    const int times = points <= 1000 ? 100 : points <= 10000 ? 25 : points <= 100000 ? 7 : 3;
    /* once before: how many systems it needs */
    if (!measure_best(1, do_solver, made, trial->solver, &trial->solver_memory)) {
        return false;
    }
    const int systems = (int)trial->solver[SOLVER_STEPS];
    struct bare_task as_it_comes = {&made->network, BARE_AS_IT_COMES, systems};
    struct bare_task sorted = {&made->network, BARE_SORTED, systems};
    struct measure_turn turn[] = {{do_solver, made, trial->solver, 0.0},
                                  {do_bare, &as_it_comes, trial->bare[0], 0.0},
                                  {do_bare, &sorted, trial->bare[1], 0.0}};
    const bool is_good = measure_turns(times, 3, turn);
    trial->solver_memory = turn[0].memory;
    trial->bare_memory[0] = turn[1].memory;
    trial->bare_memory[1] = turn[2].memory;
    return is_good;
}

/* Rows of one solution beside bare CHOLMOD. */
static void tell_rows(const char *what, const struct trial *trial)
{
    const double whole = trial->solver[SOLVER_WHOLE];
    const double steps = trial->solver[SOLVER_STEPS];
    const double bare = trial->bare[0][BARE_WHOLE];
    measure_row(what, whole, "s", "bare CHOLMOD, the network's own order, as many systems",
                whole / bare, WISH_AT_MOST, 1.25);
    measure_row("  the same", whole, "s",
                "bare CHOLMOD, rows and links sorted beforehand (not counted)",
                whole / trial->bare[1][BARE_WHOLE], WISH_NONE, 0.0);
    measure_row("  its factorisations", steps, "", "(number)", steps, WISH_AT_MOST, 12);
    measure_row("  its memory", trial->solver_memory, "MiB", "bare CHOLMOD's, own order",
                trial->solver_memory / trial->bare_memory[0], WISH_AT_MOST, 2.0);
}

/* A network to be measured. */
struct size_task {
    int points;
    double density;
    const char *kind;
    uint64_t seed;
    enum made_options options;
};

static bool do_size(void *what, double value[])
{
    static struct made_network made;
    const struct size_task *task = what;
    struct trial trial;
    char name[96];
    made_network_init(&made, task->points, task->density, task->seed, task->options);
    (void)snprintf(name, sizeof name, "steady, %.0e points%s", (double)task->points, task->kind);
    const bool is_good = try_all(&made, &trial);
    if (is_good) {
        tell_solver(task->points, task->kind, trial.solver);
        tell_bare("own order", trial.bare[0], trial.bare_memory[0]);
        tell_bare("sorted beforehand", trial.bare[1], trial.bare_memory[1]);
        tell_rows(name, &trial);
        value[SOLVER_WHOLE] = trial.solver[SOLVER_WHOLE];
    } else {
        printf("%s: failed\n", name);
    }
    free(made.network.points);
    free(made.network.links);
    free(made.pipes);
    (void)fflush(stdout);
    return is_good;
}

/* Each network in a process of its own: free memory that one leaves would be used by the next, and
 * not be counted. */
static void measure_size(struct size_task task)
{
    double value[MEASURE_VALUES];
    double memory;
    (void)measure_apart(do_size, &task, value, &memory);
}

/* Networks of the same kind: where fewer systems lead to the answer, what is done but once (laws
 * read, proof) weighs more. */
static void measure_seeds(int points)
{
    for (int seed = SEED + 1; seed <= SEEDS; seed++) {
        char kind[32];
        (void)snprintf(kind, sizeof kind, ", seed %d", seed);
        measure_size((struct size_task){points, 1.2, kind, (uint64_t)seed, MADE_WITH_VALVES});
    }
}

/* The exponent of size by which seconds grow: least squares through their logarithms. */
static double exponent(int sizes, const int size[], const double seconds[])
{
    double size_mean = 0.0;
    double mean = 0.0;
    for (int i = 0; i < sizes; i++) {
        size_mean += log((double)size[i]) / sizes;
        mean += log(seconds[i]) / sizes;
    }
    double square = 0.0;
    double product = 0.0;
    for (int i = 0; i < sizes; i++) {
        const double from_mean = log((double)size[i]) - size_mean;
        square += from_mean * from_mean;
        product += from_mean * (log(seconds[i]) - mean);
    }
    return product / square;
}

/* How the seconds grow with the points over some sizes; beside it, not judged, how the bare
 * systems' do: what the factors themselves and the caches ask. */
static void tell_growth(int sizes, const int size[], const double of_solver[],
                        const double of_bare[])
{
    char what[96];
    const double solver = exponent(sizes, size, of_solver);
    const double bare = exponent(sizes, size, of_bare);
    (void)snprintf(what, sizeof what, "  growth from %.0e to %.0e%s", (double)size[0],
                   (double)size[sizes - 1], sizes > 2 ? ", least squares" : "");
    measure_row(what, solver, "", "(exponent)", solver, WISH_AT_MOST, 1.1);
    measure_row("  the same of bare CHOLMOD, own order, as many systems", bare, "", "(exponent)",
                bare, WISH_NONE, 0.0);
}

struct growth_task {
    int sizes;
    const int *size;
};

/* Small networks, which a moment disturbs, several times a turn. */
enum { TIMES_MOST = 8 };

static int times_a_turn(int points)
{
    return points <= 1000 ? TIMES_MOST : points <= 10000 ? 3 : 1;
}

/* Seconds of the solver for each size, then of bare CHOLMOD for as many systems. All sizes go by
 * turns: the machine has fast and slow minutes, a third apart, and two sizes that meet different
 * ones would seem to grow by an exponent a tenth larger or smaller. */
static bool do_growth(void *what, double value[])
{
    enum { TURNS = 9 };
    static struct made_network made[SIZES_MOST];
    const struct growth_task *task = what;
    double found[2][SIZES_MOST][MEASURE_VALUES];
    struct bare_task bare[SIZES_MOST];
    struct measure_turn turn[2 * SIZES_MOST * TIMES_MOST];
    int count = 0;
    for (int i = 0; i < task->sizes; i++) {
        double memory;
        made_network_init(&made[i], task->size[i], 1.2, SEED, MADE_WITH_VALVES);
        if (!measure_best(1, do_solver, &made[i], found[0][i], &memory)) {
            return false;
        }
        const int systems = (int)found[0][i][SOLVER_STEPS];
        bare[i] = (struct bare_task){&made[i].network, BARE_AS_IT_COMES, systems};
        for (int k = times_a_turn(task->size[i]); k > 0; k--) {
            turn[count++] = (struct measure_turn){do_solver, &made[i], found[0][i], 0.0};
            turn[count++] = (struct measure_turn){do_bare, &bare[i], found[1][i], 0.0};
        }
    }
    const bool is_good = measure_turns(TURNS, count, turn);
    for (int i = 0; i < task->sizes; i++) {
        value[i] = found[0][i][SOLVER_WHOLE];
        value[task->sizes + i] = found[1][i][BARE_WHOLE];
    }
    return is_good;
}

static void measure_growth(int sizes, const int size[])
{
    struct growth_task task = {sizes, size};
    double seconds[MEASURE_VALUES];
    double memory;
    if (!measure_apart(do_growth, &task, seconds, &memory)) {
        printf("growth: failed\n");
        return;
    }
    for (int i = 1; i < sizes; i++) {
        tell_growth(2, size + i - 1, seconds + i - 1, seconds + sizes + i - 1);
    }
    if (sizes > 2) {
        tell_growth(sizes, size, seconds, seconds + sizes);
    }
}

/* Pipes only: KINSOL has no way to say that a valve shuts. */
static void measure_kinsol(int points, double limit)
{
    static struct made_network made;
    double solver[MEASURE_VALUES];
    double peer[MEASURE_VALUES];
    struct measure_turn turn[] = {{do_solver, &made, solver, 0.0}, {do_kinsol, &made, peer, 0.0}};
    char what[96];
    const int times = points <= 10000 ? 3 : 1;
    made_network_init(&made, points, 1.2, SEED, 0);
    if (measure_turns(times, 2, turn)) {
        const double whole = solver[SOLVER_WHOLE];
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
    int size[SIZES_MOST] = {1000, 10000, 100000, 1000000};
    const bool is_full = count > 1 && strcmp(argument[1], "--full") == 0;
    int sizes = is_full ? 4 : 3;
    const int first = is_full ? 2 : 1;
    for (int i = first; i < count && i - first < SIZES_MOST; i++) {
        size[i - first] = (int)strtol(argument[i], NULL, 10);
        sizes = i - first + 1;
    }
    measure_seeds(10000);
    for (int i = 0; i < sizes; i++) {
        measure_size((struct size_task){size[i], 1.2, "", SEED, MADE_WITH_VALVES});
    }
    measure_growth(sizes, size);
    measure_size((struct size_task){size[sizes - 1], 1.2, ", links shuffled", SEED,
                                    MADE_WITH_VALVES | MADE_SHUFFLED});
    measure_size((struct size_task){90000, 2.0, ", full grid", SEED, MADE_WITH_VALVES});
    for (int i = 0; i < sizes; i++) {
        const bool is_small = size[i] == 10000;
        measure_kinsol(size[i], is_small ? 3.0 : size[i] >= 1000000 ? 8.0 : 0.0);
    }
    return 0;
}
