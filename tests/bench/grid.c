/* Times what a large case costs: reading, analysis, steady solution, and beside it what CHOLMOD
 * alone needs for the same matrix once (analyse, factorise, solve). Processor seconds; one line of
 * key and value each.
 * usage: bench_grid CASE   (cases: scripts/make-grid) */
#include "io/door/door.h"
#include "solver/findings/findings.h"
#include "solver/steady/steady.h"

#include <cholmod.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <time.h>

static double now(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static double peak_memory(void)
{
    struct rusage usage;
    (void)getrusage(RUSAGE_SELF, &usage);
    return (double)usage.ru_maxrss / 1024.0;
}

/* The matrix A diag(g) A^T with g = 1 over the free points, upper half. */
static cholmod_sparse *make_matrix(const struct network *network, cholmod_common *common)
{
    int *row = malloc(((size_t)network->point_count + 1) * sizeof *row);
    int count = 0;
    for (int i = 0; row && i < network->point_count; i++) {
        row[i] = network->points[i].is_held ? -1 : count++;
    }
    cholmod_triplet *triplet = cholmod_allocate_triplet(
        (size_t)count, (size_t)count, 3 * (size_t)network->link_count, 1, CHOLMOD_REAL, common);
    if (!row || !triplet) {
        exit(1);
    }
    int *is = triplet->i;
    int *js = triplet->j;
    double *xs = triplet->x;
    for (int e = 0; e < network->link_count; e++) {
        const int a = row[network->links[e].from];
        const int b = row[network->links[e].to];
        const int pairs[3][2] = {{a, a}, {b, b}, {a < b ? a : b, a < b ? b : a}};
        for (int k = 0; k < 3; k++) {
            if (pairs[k][0] >= 0 && pairs[k][1] >= 0) {
                is[triplet->nnz] = pairs[k][0];
                js[triplet->nnz] = pairs[k][1];
                xs[triplet->nnz++] = k < 2 ? 1.0 : -1.0;
            }
        }
    }
    cholmod_sparse *matrix = cholmod_triplet_to_sparse(triplet, triplet->nnz, common);
    cholmod_free_triplet(&triplet, common);
    free(row);
    return matrix;
}

static void time_bare(const struct network *network)
{
    cholmod_common common;
    cholmod_start(&common);
    common.supernodal = CHOLMOD_SIMPLICIAL;
    common.nmethods = 1;
    common.method[0].ordering = CHOLMOD_AMD;
    cholmod_sparse *matrix = make_matrix(network, &common);
    double start = now();
    cholmod_factor *factor = cholmod_analyze(matrix, &common);
    printf("bare analyse s      %.3f\n", now() - start);
    start = now();
    (void)cholmod_factorize(matrix, factor, &common);
    printf("bare factorise s    %.3f\n", now() - start);
    cholmod_dense *right = cholmod_ones(matrix->nrow, 1, CHOLMOD_REAL, &common);
    start = now();
    cholmod_dense *solution = cholmod_solve(CHOLMOD_A, factor, right, &common);
    printf("bare solve s        %.3f\n", now() - start);
    cholmod_free_dense(&solution, &common);
    cholmod_free_dense(&right, &common);
    cholmod_free_factor(&factor, &common);
    cholmod_free_sparse(&matrix, &common);
    cholmod_finish(&common);
}

static bool time_steady(const struct site *site, struct arena *arena, struct failure *failure)
{
    struct steady steady;
    struct findings findings;
    if (!steady_init(&steady, site->network, arena, failure)) {
        return false;
    }
    double start = now();
    struct steady_solver *solver = steady_solver_new(site->network, failure);
    printf("analysis s          %.3f\n", now() - start);
    start = now();
    if (!solver ||
        !steady_solve(solver, site->network, &site->water, &steady_defaults, &steady, failure)) {
        return false;
    }
    printf("steady s            %.3f\n", now() - start);
    printf("linear systems      %d\nending              %s\n", steady.steps,
           steady_ending_text(steady.ending));
    printf("mass residual m3/s  %.2g\nenergy residual m   %.2g\n", steady.mass_residual,
           steady.energy_residual);
    printf("peak memory MiB     %.0f\n", peak_memory());
    steady_solver_free(solver);
    findings_init(&findings, arena);
    start = now();
    if (!findings_steady(site, &steady, &findings, failure)) {
        return false;
    }
    printf("findings s          %.3f\n", now() - start);
    return true;
}

int main(int count, char **words)
{
    struct arena *arena = arena_new();
    struct site *site;
    struct faults faults;
    struct failure failure = {0};
    if (count != 2 || !arena) {
        (void)fputs("usage: bench_grid CASE\n", stderr);
        return 2;
    }
    faults_init(&faults, arena);
    const double start = now();
    if (!read_site(words[1], arena, &site, &faults)) {
        faults_write(&faults, FAULT_ERROR, stderr);
        return 2;
    }
    const double reading = now() - start;
    printf("pipes               %d\nreading s           %.3f\n", site->network->link_count,
           reading);
    printf("reading us a pipe   %.3f\n", 1e6 * reading / site->network->link_count);
    printf("case memory MiB     %.0f\n", peak_memory());
    const bool is_good = time_steady(site, arena, &failure);
    if (is_good) {
        time_bare(site->network);
    } else {
        (void)fprintf(stderr, "%s\n", failure.message);
    }
    arena_free(arena);
    return is_good ? 0 : 3;
}
