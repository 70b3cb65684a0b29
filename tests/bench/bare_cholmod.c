#include "tests/bench/bare_cholmod.h"

#include "tests/bench/measure.h"

#include <cholmod.h>
#include <stdlib.h>

/* The links as rows, and the matrix of them. */
struct bare {
    cholmod_common common;
    cholmod_sparse *matrix;
    int rows;
    int links;
    int *low;            /* [links] the earlier row of the two, or -1: both held */
    int *high;           /* [links] the later row; the same as `low` where one end is held */
    int *slot;           /* [links] of the entry off the diagonal, or -1 */
    double *conductance; /* [links] */
};

static int held_last(int a, int b, bool is_lower)
{
    if (a < 0 || b < 0) {
        return a > b ? a : b;
    }
    return (a < b) == is_lower ? a : b;
}

static bool take_links(struct bare *bare, const struct network *network)
{
    int *row = malloc(((size_t)network->point_count + 1) * sizeof *row);
    const size_t links = (size_t)network->link_count + 1;
    bare->links = network->link_count;
    bare->low = malloc(links * sizeof *bare->low);
    bare->high = malloc(links * sizeof *bare->high);
    bare->slot = malloc(links * sizeof *bare->slot);
    bare->conductance = malloc(links * sizeof *bare->conductance);
    if (!row || !bare->low || !bare->high || !bare->slot || !bare->conductance) {
        free(row);
        return false;
    }
    for (int i = 0; i < network->point_count; i++) {
        row[i] = network->points[i].is_held ? -1 : bare->rows++;
    }
    for (int e = 0; e < bare->links; e++) {
        const int a = row[network->links[e].from];
        const int b = row[network->links[e].to];
        bare->low[e] = held_last(a, b, true);
        bare->high[e] = held_last(a, b, false);
        bare->conductance[e] = network->links[e].area; /* of usual sizes */
    }
    free(row);
    return true;
}

/* The matrix's pattern; the diagonal entry is the last of its column. */
static bool make_matrix(struct bare *bare)
{
    const size_t rows = (size_t)bare->rows;
    cholmod_triplet *triplet = cholmod_allocate_triplet(rows, rows, rows + (size_t)bare->links, 1,
                                                        CHOLMOD_REAL, &bare->common);
    if (!triplet) {
        return false;
    }
    int *from = triplet->i;
    int *to = triplet->j;
    double *value = triplet->x;
    for (size_t i = 0; i < rows; i++) {
        from[i] = to[i] = (int)i;
        value[i] = 1;
    }
    triplet->nnz = rows;
    for (int e = 0; e < bare->links; e++) {
        if (bare->low[e] != bare->high[e]) {
            from[triplet->nnz] = bare->low[e];
            to[triplet->nnz] = bare->high[e];
            value[triplet->nnz++] = -1e-3;
        }
    }
    cholmod_free_sparse(&bare->matrix, &bare->common);
    bare->matrix = cholmod_triplet_to_sparse(triplet, 0, &bare->common);
    cholmod_free_triplet(&triplet, &bare->common);
    return bare->matrix != NULL;
}

static void find_slots(struct bare *bare)
{
    const int *start = bare->matrix->p;
    const int *index = bare->matrix->i;
    for (int e = 0; e < bare->links; e++) {
        int k = bare->low[e] == bare->high[e] ? -1 : start[bare->high[e]];
        while (k >= 0 && index[k] != bare->low[e]) {
            k++;
        }
        bare->slot[e] = k;
    }
}

struct pair {
    int low;
    int high;
};

static int compare_links(const void *one, const void *other)
{
    const struct pair *a = one;
    const struct pair *b = other;
    const int by_high = (a->high > b->high) - (a->high < b->high);
    return by_high != 0 ? by_high : (a->low > b->low) - (a->low < b->low);
}

/* Rows in the order of the factors, links by the later and then the earlier of their rows. */
static bool sort_links(struct bare *bare, const int old_row[])
{
    int *place = malloc(((size_t)bare->rows + 1) * sizeof *place);
    struct pair *pair = malloc(((size_t)bare->links + 1) * sizeof *pair);
    if (place && pair) {
        for (int row = 0; row < bare->rows; row++) {
            place[old_row[row]] = row;
        }
        for (int e = 0; e < bare->links; e++) {
            const int a = bare->low[e] < 0 ? -1 : place[bare->low[e]];
            const int b = bare->high[e] < 0 ? -1 : place[bare->high[e]];
            pair[e].low = a < b ? a : b;
            pair[e].high = a < b ? b : a;
        }
        qsort(pair, (size_t)bare->links, sizeof *pair, compare_links);
        for (int e = 0; e < bare->links; e++) {
            bare->low[e] = pair[e].low;
            bare->high[e] = pair[e].high;
        }
    }
    const bool is_done = place && pair;
    free(place);
    free(pair);
    return is_done;
}

static void assemble(struct bare *bare)
{
    double *value = bare->matrix->x;
    const int *start = bare->matrix->p;
    for (int k = 0; k < start[bare->rows]; k++) {
        value[k] = 0;
    }
    for (int e = 0; e < bare->links; e++) {
        const double conductance = bare->conductance[e];
        if (bare->slot[e] >= 0) {
            value[bare->slot[e]] -= conductance;
            value[start[bare->low[e] + 1] - 1] += conductance;
        }
        if (bare->high[e] >= 0) {
            value[start[bare->high[e] + 1] - 1] += conductance;
        }
    }
}

static void set_up(struct bare *bare, enum bare_factors factors)
{
    cholmod_start(&bare->common);
    bare->common.supernodal = factors == BARE_AUTO         ? CHOLMOD_AUTO
                              : factors == BARE_SIMPLICIAL ? CHOLMOD_SIMPLICIAL
                                                           : CHOLMOD_SUPERNODAL;
    bare->common.nmethods = 1;
    bare->common.method[0].ordering = CHOLMOD_AMD;
}

/* The factors' plan in the new order, for which nothing is counted. */
static cholmod_factor *plan_again(struct bare *bare)
{
    bare->common.method[0].ordering = CHOLMOD_NATURAL;
    bare->common.postorder = 0;
    return cholmod_analyze(bare->matrix, &bare->common);
}

static bool time_system(struct bare *bare, cholmod_factor *factor, struct bare_times *times)
{
    enum { ROUNDS = 2 }; /* the first meets memory that it has to be given */
    cholmod_dense *right = cholmod_ones((size_t)bare->rows, 1, CHOLMOD_REAL, &bare->common);
    bool is_good = right != NULL;
    for (int round = 0; is_good && round < ROUNDS; round++) {
        const double begun = measure_seconds();
        assemble(bare);
        const double assembled = measure_seconds();
        is_good = cholmod_factorize(bare->matrix, factor, &bare->common) != 0;
        const double factorised = measure_seconds();
        cholmod_dense *solution = cholmod_solve(CHOLMOD_A, factor, right, &bare->common);
        times->solve = measure_seconds() - factorised;
        times->factorise = factorised - assembled;
        times->assemble = assembled - begun;
        is_good = is_good && solution != NULL;
        cholmod_free_dense(&solution, &bare->common);
    }
    cholmod_free_dense(&right, &bare->common);
    return is_good;
}

bool bare_cholmod(const struct network *network, enum bare_factors factors,
                  struct bare_times *times)
{
    struct bare bare = {.matrix = NULL};
    *times = (struct bare_times){0};
    set_up(&bare, factors);
    bool is_good = take_links(&bare, network) && make_matrix(&bare);
    cholmod_factor *factor = NULL;
    if (is_good) {
        const double begun = measure_seconds();
        factor = cholmod_analyze(bare.matrix, &bare.common);
        times->analyse = measure_seconds() - begun;
        is_good = factor && sort_links(&bare, factor->Perm) && make_matrix(&bare);
        cholmod_free_factor(&factor, &bare.common);
    }
    if (is_good) {
        find_slots(&bare);
        factor = plan_again(&bare);
        is_good = factor && time_system(&bare, factor, times);
        times->is_super = factor && factor->is_super;
    }
    cholmod_free_factor(&factor, &bare.common);
    cholmod_free_sparse(&bare.matrix, &bare.common);
    cholmod_finish(&bare.common);
    free(bare.low);
    free(bare.high);
    free(bare.slot);
    free(bare.conductance);
    return is_good;
}
