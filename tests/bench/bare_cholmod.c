#include "tests/bench/bare_cholmod.h"

#include "tests/bench/measure.h"

#include <cholmod.h>
#include <stdlib.h>

/* Entries of the matrix that a link adds to: the one it shares, and each end's own. */
struct slots {
    int shared; /* -1: one end is held, or both */
    int from;   /* -1: held */
    int to;
};

/* The links as rows, and the matrix of them: its upper half where the rows stand in the order of
 * the factors, which CHOLMOD then factorises without moving it about; else the lower, of which it
 * makes one copy with permuted rows, not two. */
struct bare {
    cholmod_common common;
    cholmod_sparse *matrix;
    int rows;
    int links;
    int *low;            /* [links] the earlier row of the two, or -1: both held */
    int *high;           /* [links] the later row; the same as `low` where one end is held */
    struct slots *slots; /* [links] */
    double *conductance; /* [links] */
    bool is_sorted;
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
    bare->slots = malloc(links * sizeof *bare->slots);
    bare->conductance = malloc(links * sizeof *bare->conductance);
    if (!row || !bare->low || !bare->high || !bare->slots || !bare->conductance) {
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

/* The matrix's pattern, by triplets. */
static bool make_matrix(struct bare *bare)
{
    const size_t rows = (size_t)bare->rows;
    cholmod_triplet *triplet =
        cholmod_allocate_triplet(rows, rows, rows + (size_t)bare->links, bare->is_sorted ? 1 : -1,
                                 CHOLMOD_REAL, &bare->common);
    if (!triplet) {
        return false;
    }
    int *from = bare->is_sorted ? triplet->i : triplet->j;
    int *to = bare->is_sorted ? triplet->j : triplet->i;
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

/* A column's own entry is its last in the upper half, its first in the lower. */
static int own_slot(const struct bare *bare, int row)
{
    const int *start = bare->matrix->p;
    return bare->is_sorted ? start[row + 1] - 1 : start[row];
}

static void find_slots(struct bare *bare)
{
    const int *start = bare->matrix->p;
    const int *index = bare->matrix->i;
    for (int e = 0; e < bare->links; e++) {
        struct slots *slots = &bare->slots[e];
        const int low = bare->low[e];
        const int high = bare->high[e];
        *slots = (struct slots){-1, -1, -1};
        if (low != high) {
            const int row = bare->is_sorted ? low : high;
            slots->shared = start[bare->is_sorted ? high : low];
            while (index[slots->shared] != row) {
                slots->shared++;
            }
            slots->from = own_slot(bare, low);
        }
        if (high >= 0) {
            slots->to = own_slot(bare, high);
        }
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
        const struct slots slots = bare->slots[e];
        if (slots.shared >= 0) {
            value[slots.shared] -= conductance;
            value[slots.from] += conductance;
        }
        if (slots.to >= 0) {
            value[slots.to] += conductance;
        }
    }
}

static void set_up(struct bare *bare)
{
    cholmod_start(&bare->common);
    bare->common.nmethods = 1;
    bare->common.method[0].ordering = CHOLMOD_AMD;
}

/* Rows and links sorted by the order of the first plan, and the plan again, as of rows that need no
 * permutation. Nothing of it is counted. */
static bool sort_all(struct bare *bare, cholmod_factor **factor)
{
    const bool is_done = sort_links(bare, (*factor)->Perm);
    cholmod_free_factor(factor, &bare->common);
    bare->is_sorted = true;
    bare->common.method[0].ordering = CHOLMOD_NATURAL;
    bare->common.postorder = 0;
    if (!is_done || !make_matrix(bare)) {
        return false;
    }
    *factor = cholmod_analyze(bare->matrix, &bare->common);
    return *factor != NULL;
}

static bool time_systems(struct bare *bare, cholmod_factor *factor, int systems,
                         struct bare_times *times)
{
    cholmod_dense *right = cholmod_ones((size_t)bare->rows, 1, CHOLMOD_REAL, &bare->common);
    bool is_good = right != NULL;
    times->whole = times->analyse;
    for (int i = 0; is_good && i < systems; i++) {
        const double begun = measure_seconds();
        assemble(bare);
        const double assembled = measure_seconds();
        is_good = cholmod_factorize(bare->matrix, factor, &bare->common) != 0;
        const double factorised = measure_seconds();
        cholmod_dense *solution = cholmod_solve(CHOLMOD_A, factor, right, &bare->common);
        const double solved = measure_seconds();
        times->solve = solved - factorised;
        times->factorise = factorised - assembled;
        times->assemble = assembled - begun;
        times->whole += solved - begun;
        is_good = is_good && solution != NULL;
        cholmod_free_dense(&solution, &bare->common);
    }
    cholmod_free_dense(&right, &bare->common);
    return is_good;
}

bool bare_cholmod(const struct network *network, enum bare_order order, int systems,
                  struct bare_times *times)
{
    struct bare bare = {.matrix = NULL};
    *times = (struct bare_times){0};
    set_up(&bare);
    bool is_good = take_links(&bare, network) && make_matrix(&bare);
    cholmod_factor *factor = NULL;
    if (is_good) {
        const double begun = measure_seconds();
        factor = cholmod_analyze(bare.matrix, &bare.common);
        times->analyse = measure_seconds() - begun;
        is_good = factor && (order == BARE_AS_IT_COMES || sort_all(&bare, &factor));
    }
    if (is_good) {
        find_slots(&bare);
        is_good = time_systems(&bare, factor, systems, times);
        times->is_super = factor->is_super;
    }
    cholmod_free_factor(&factor, &bare.common);
    cholmod_free_sparse(&bare.matrix, &bare.common);
    cholmod_finish(&bare.common);
    free(bare.low);
    free(bare.high);
    free(bare.slots);
    free(bare.conductance);
    return is_good;
}
