/* How long the steady solver takes on large networks, and what share of it a bare sparse Cholesky
 * code would need for the same linear systems: one analysis and, as often as the solver factorised,
 * assembly, factors and one back-substitution. Both are timed in the same run.
 *     bench_steady [points] [links a point] [seed]
 * The network: points on a square grid, joined by a random tree of grid neighbours and by further
 * neighbours up to the wanted number of links (1.2 is usual in supply networks, 2 is the full
 * grid); one tank in 2000 points, draws at two thirds of them, one of the further links in
 * 20 a non-return valve. */
#include "models/circle.h"
#include "models/non_return.h"
#include "models/pipe.h"
#include "solver/steady/steady.h"
#include "tests/solver/random_numbers.h"

#include <cholmod.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static const struct water water = {
    .gravity = 9.80665, .density = 1000, .viscosity = 1e-6, .temperature_c = 20};

/* Of the processor. */
static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now); /* the machine may be shared */
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

struct grid {
    struct random random;
    struct network network;
    struct pipe *pipes;
    struct non_return valve;
    int *parent;
    int side;
};

static int find_root(int parent[], int point)
{
    while (parent[point] != point) {
        parent[point] = parent[parent[point]];
        point = parent[point];
    }
    return point;
}

static void join(struct grid *grid, int from, int to, bool may_be_valve)
{
    const double bores[] = {0.1, 0.15, 0.2, 0.3, 0.4};
    const int e = grid->network.link_count++;
    const double bore = bores[random_pick(&grid->random, 5)];
    grid->pipes[e] = (struct pipe){.friction = {.length = random_spread(&grid->random, 10, 300),
                                                .bore = bore,
                                                .roughness = 1e-5}};
    grid->network.links[e] = (struct link){.name = "link",
                                           .from = from,
                                           .to = to,
                                           .run = NETWORK_NONE,
                                           .area = circle_area(bore),
                                           .element = &pipe_element,
                                           .data = &grid->pipes[e]};
    if (may_be_valve && random_pick(&grid->random, 20) == 0) {
        grid->network.links[e].element = &non_return_element;
        grid->network.links[e].data = &grid->valve;
        grid->network.links[e].area = circle_area(grid->valve.bore);
    }
}

/* Neighbours in random order: those that join two trees, then others up to `wanted` links. */
static void join_all(struct grid *grid, int points, int wanted)
{
    const int pairs = 2 * points;
    int *order = malloc((size_t)pairs * sizeof *order);
    for (int i = 0; i < pairs; i++) {
        const int other = random_pick(&grid->random, i + 1);
        order[i] = order[other];
        order[other] = i;
    }
    for (int pass = 0; pass < 2; pass++) {
        for (int i = 0; i < pairs; i++) {
            const int from = order[i] / 2;
            const bool is_right = order[i] % 2 == 0;
            const int to = is_right ? from + 1 : from + grid->side;
            if (order[i] < 0 || to >= points || (is_right && to % grid->side == 0)) {
                continue;
            }
            const int a = find_root(grid->parent, from);
            const int b = find_root(grid->parent, to);
            if (pass == 0 ? a != b : grid->network.link_count < wanted) {
                grid->parent[a] = b;
                join(grid, from, to, pass == 1);
                order[i] = pass == 0 ? -1 : order[i];
            }
        }
    }
    free(order);
}

static void make_grid(struct grid *grid, int points, double density, uint64_t seed)
{
    random_seed(&grid->random, seed);
    const int wanted = (int)(density * points);
    grid->side = (int)sqrt((double)points);
    grid->network.points = calloc((size_t)points, sizeof(struct point));
    grid->network.links = calloc(2 * (size_t)points, sizeof(struct link));
    grid->pipes = calloc(2 * (size_t)points, sizeof *grid->pipes);
    grid->parent = malloc((size_t)points * sizeof *grid->parent);
    grid->network.point_count = points;
    non_return_make(non_return_type_at(0), 0.2, MOUNTING_LEVEL, &water, &grid->valve);
    for (int i = 0; i < points; i++) {
        struct point *point = &grid->network.points[i];
        const bool is_held = i % 2000 == 1000;
        *point = (struct point){.name = "point", .is_held = is_held, .tank = NETWORK_NONE};
        point->held_head = is_held ? random_even(&grid->random, 50, 60) : 0;
        point->draw = is_held || i % 3 == 0 ? 0 : random_even(&grid->random, 0, 4e-5);
        grid->parent[i] = i;
    }
    join_all(grid, points, wanted);
}

/* --- the bare code --- */

struct bare {
    cholmod_common common;
    cholmod_sparse *matrix;
    int *row;  /* [points] or -1: held */
    int *slot; /* [links] of the entry off the diagonal, or -1 */
};

static void make_bare(struct bare *bare, const struct network *network)
{
    cholmod_start(&bare->common);
    bare->row = malloc((size_t)network->point_count * sizeof *bare->row);
    bare->slot = malloc((size_t)network->link_count * sizeof *bare->slot);
    size_t rows = 0;
    for (int i = 0; i < network->point_count; i++) {
        bare->row[i] = network->points[i].is_held ? -1 : (int)rows++;
    }
    cholmod_triplet *triplet = cholmod_allocate_triplet(
        rows, rows, rows + (size_t)network->link_count, 1, CHOLMOD_REAL, &bare->common);
    int *from = triplet->i;
    int *to = triplet->j;
    double *value = triplet->x;
    for (size_t i = 0; i < rows; i++) {
        from[triplet->nnz] = to[triplet->nnz] = (int)i;
        value[triplet->nnz++] = 1;
    }
    for (int e = 0; e < network->link_count; e++) {
        const int a = bare->row[network->links[e].from];
        const int b = bare->row[network->links[e].to];
        if (a >= 0 && b >= 0) {
            from[triplet->nnz] = a < b ? a : b;
            to[triplet->nnz] = a < b ? b : a;
            value[triplet->nnz++] = -1e-3;
        }
    }
    bare->matrix = cholmod_triplet_to_sparse(triplet, 0, &bare->common);
    cholmod_free_triplet(&triplet, &bare->common);
    const int *start = bare->matrix->p;
    const int *index = bare->matrix->i;
    for (int e = 0; e < network->link_count; e++) {
        const int a = bare->row[network->links[e].from];
        const int b = bare->row[network->links[e].to];
        bare->slot[e] = -1;
        for (int k = a < 0 || b < 0 ? 0 : start[a < b ? b : a]; a >= 0 && b >= 0; k++) {
            if (index[k] == (a < b ? a : b)) {
                bare->slot[e] = k;
                break;
            }
        }
    }
}

/* Conductances of usual sizes; the diagonal entry is the last of its column. */
static void assemble_bare(struct bare *bare, const struct network *network)
{
    double *value = bare->matrix->x;
    const int *start = bare->matrix->p;
    for (int k = 0; k < start[bare->matrix->ncol]; k++) {
        value[k] = 0;
    }
    for (int e = 0; e < network->link_count; e++) {
        const double conductance = network->links[e].area;
        const int a = bare->row[network->links[e].from];
        const int b = bare->row[network->links[e].to];
        if (a >= 0) {
            value[start[a + 1] - 1] += conductance;
        }
        if (b >= 0) {
            value[start[b + 1] - 1] += conductance;
        }
        if (bare->slot[e] >= 0) {
            value[bare->slot[e]] -= conductance;
        }
    }
}

static double time_bare(const struct network *network, int steps)
{
    struct bare bare = {.matrix = NULL};
    make_bare(&bare, network);
    const double begun = seconds();
    cholmod_factor *factor = cholmod_analyze(bare.matrix, &bare.common);
    const double analysed = seconds();
    assemble_bare(&bare, network);
    const double assembled = seconds();
    cholmod_factorize(bare.matrix, factor, &bare.common);
    assemble_bare(&bare, network);
    const double warm = seconds();
    cholmod_factorize(bare.matrix, factor, &bare.common);
    const double factorised = seconds();
    cholmod_dense *right = cholmod_ones(bare.matrix->nrow, 1, CHOLMOD_REAL, &bare.common);
    const double ready = seconds();
    cholmod_dense *solution = cholmod_solve(CHOLMOD_A, factor, right, &bare.common);
    const double solved = seconds();
    const double analyse = analysed - begun;
    const double assemble = assembled - analysed;
    const double factorise = factorised - warm;
    const double solve = solved - ready;
    printf("bare: analyse %.3f s, assemble %.4f s, factorise %.4f s (%s), back-substitute %.4f s; "
           "flops per entry %.1f\n",
           analyse, assemble, factorise, factor->is_super ? "supernodal" : "simplicial", solve,
           bare.common.fl / bare.common.lnz);
    cholmod_free_dense(&right, &bare.common);
    cholmod_free_dense(&solution, &bare.common);
    cholmod_free_factor(&factor, &bare.common);
    cholmod_free_sparse(&bare.matrix, &bare.common);
    cholmod_finish(&bare.common);
    free(bare.row);
    free(bare.slot);
    return analyse + steps * (assemble + factorise + solve);
}

int main(int count, char *argument[])
{
    const int points = count > 1 ? atoi(argument[1]) : 100000;
    const double density = count > 2 ? atof(argument[2]) : 1.2;
    const uint64_t seed = count > 3 ? strtoull(argument[3], NULL, 10) : 1;
    static struct grid grid;
    struct failure failure = {0};
    struct steady answer;
    struct arena *arena = arena_new();
    make_grid(&grid, points, density, seed);
    if (!arena || !steady_init(&answer, &grid.network, arena, &failure)) {
        return 2;
    }
    const double begun = seconds();
    struct steady_solver *solver = steady_solver_new(&grid.network, &failure);
    const double made = seconds();
    if (!solver ||
        !steady_solve(solver, &grid.network, &water, &steady_defaults, &answer, &failure)) {
        return 2;
    }
    const double solved = seconds();
    printf("%d points, %d links: %s in %d factorisations, %d back-substitutions; mass %.1e m3/s, "
           "energy %.1e m\n",
           points, grid.network.link_count, steady_ending_text(answer.ending), answer.steps,
           answer.solves, answer.mass_residual, answer.energy_residual);
    printf("solver: set up %.3f s, solve %.3f s\n", made - begun, solved - made);
    const double bare = time_bare(&grid.network, answer.steps);
    printf("whole %.3f s, bare %.3f s: ratio %.2f\n", solved - begun, bare,
           (solved - begun) / bare);
    steady_solver_free(solver);
    arena_free(arena);
    free(grid.network.points);
    free(grid.network.links);
    free(grid.pipes);
    free(grid.parent);
    return answer.ending != STEADY_CONVERGED;
}
