/* The matrix is kept as its lower half by columns, rows sorted, so that the diagonal entry of a
 * column is its first: CHOLMOD then moves nothing about before it factorises. */
#include "solver/steady/supernodes.h"

#include <cholmod.h>
#include <stdlib.h>
#include <string.h>

/* Raise of the diagonal when round-off spoils definiteness, first share and growth each try. */
static const double first_raise = 1e-13;
static const double raise_growth = 100.0;

enum { RAISE_TRIES = 6 };

struct supernodes {
    cholmod_common common;
    cholmod_sparse *matrix;
    cholmod_factor *factor;
    cholmod_dense *right;
    cholmod_dense *solution;
    cholmod_dense *work_y;
    cholmod_dense *work_e;
    int row_count;
    int pair_count;
};

static void set_up(cholmod_common *common)
{
    cholmod_start(common);
    common->print = 0;
    common->error_handler = NULL;
    common->supernodal = CHOLMOD_SUPERNODAL;
    common->nmethods = 1;
    common->method[0].ordering = CHOLMOD_NATURAL;
}

/* The matrix's pattern from sorted pairs. */
static void fill_pattern(struct supernodes *supernodes, const struct fold_pair pair[])
{
    int *start = supernodes->matrix->p;
    int *row = supernodes->matrix->i;
    int at = 0;
    int next = 0;
    for (int column = 0; column < supernodes->row_count; column++) {
        start[column] = at;
        row[at++] = column;
        for (; next < supernodes->pair_count && pair[next].a == column; next++) {
            row[at++] = pair[next].b;
        }
    }
    start[supernodes->row_count] = at;
}

static bool take_matrix(struct supernodes *supernodes)
{
    const size_t rows = (size_t)supernodes->row_count;
    const size_t entries = rows + (size_t)supernodes->pair_count;
    supernodes->matrix =
        cholmod_allocate_sparse(rows, rows, entries, 1, 1, -1, CHOLMOD_REAL, &supernodes->common);
    if (!supernodes->matrix) {
        return false;
    }
    memset(supernodes->matrix->x, 0, entries * sizeof(double));
    return true;
}

/* CHOLMOD's own order among rows, by the tree of elimination. The plan of the factors is made over
 * to the new numbers, in which they need no permutation. */
static bool reorder(struct supernodes *supernodes, struct planning *planning,
                    struct fold_pair pair[], int order[])
{
    supernodes->factor = cholmod_analyze(supernodes->matrix, &supernodes->common);
    if (!supernodes->factor) {
        return false;
    }
    int *old_row = supernodes->factor->Perm;
    for (int row = 0; row < supernodes->row_count; row++) {
        order[old_row[row]] = row;
        old_row[row] = row;
    }
    supernodes->factor->ordering = CHOLMOD_NATURAL;
    for (int i = 0; i < supernodes->pair_count; i++) {
        pair[i].a = order[pair[i].a];
        pair[i].b = order[pair[i].b];
    }
    return fold_sort_pairs(planning, supernodes->row_count, supernodes->pair_count, pair);
}

static bool analyse(struct supernodes *supernodes, struct planning *planning,
                    struct fold_pair pair[], int order[])
{
    if (!take_matrix(supernodes)) {
        return false;
    }
    fill_pattern(supernodes, pair);
    if (!reorder(supernodes, planning, pair, order)) {
        return false;
    }
    fill_pattern(supernodes, pair);
    supernodes->right =
        cholmod_zeros((size_t)supernodes->row_count, 1, CHOLMOD_REAL, &supernodes->common);
    return supernodes->right != NULL;
}

struct supernodes *supernodes_new(struct planning *planning, int row_count, int pair_count,
                                  struct fold_pair pair[pair_count], int order[row_count],
                                  struct failure *failure)
{
    struct supernodes *supernodes = calloc(1, sizeof *supernodes);
    if (supernodes) {
        set_up(&supernodes->common);
        supernodes->row_count = row_count;
        supernodes->pair_count = pair_count;
        if (analyse(supernodes, planning, pair, order)) {
            return supernodes;
        }
    }
    supernodes_free(supernodes);
    (void)fail_memory(failure, "the steady solver's matrix");
    return NULL;
}

void supernodes_free(struct supernodes *supernodes)
{
    if (!supernodes) {
        return;
    }
    cholmod_free_sparse(&supernodes->matrix, &supernodes->common);
    cholmod_free_factor(&supernodes->factor, &supernodes->common);
    cholmod_free_dense(&supernodes->right, &supernodes->common);
    cholmod_free_dense(&supernodes->solution, &supernodes->common);
    cholmod_free_dense(&supernodes->work_y, &supernodes->common);
    cholmod_free_dense(&supernodes->work_e, &supernodes->common);
    cholmod_finish(&supernodes->common);
    free(supernodes);
}

static void assemble(struct supernodes *supernodes, const int slot[], const double between[],
                     const double held[])
{
    const int *start = supernodes->matrix->p;
    const int *row = supernodes->matrix->i;
    double *value = supernodes->matrix->x;
    for (int column = 0; column < supernodes->row_count; column++) {
        value[start[column]] = held[column];
    }
    for (int column = 0; column < supernodes->row_count; column++) {
        const int diagonal = start[column];
        double sum = value[diagonal];
        for (int at = diagonal + 1; at < start[column + 1]; at++) {
            const double g = between[slot[at - column - 1]]; /* so many diagonals came before */
            value[at] = -g;
            value[start[row[at]]] += g;
            sum += g;
        }
        value[diagonal] = sum > 0.0 ? sum : 1.0; /* joined to nothing: any head is as good */
    }
}

bool supernodes_make(struct supernodes *supernodes, const int slot[], const double between[],
                     const double held[], struct failure *failure)
{
    assemble(supernodes, slot, between, held);
    const int *start = supernodes->matrix->p;
    double *value = supernodes->matrix->x;
    double raise = first_raise;
    for (int try = 0; try < RAISE_TRIES; try++) {
        if (!cholmod_factorize(supernodes->matrix, supernodes->factor, &supernodes->common)) {
            return fail_memory(failure, "the steady solver's factors");
        }
        if (supernodes->factor->minor >= (size_t)supernodes->row_count) {
            break;
        }
        for (int row = 0; row < supernodes->row_count; row++) {
            value[start[row]] *= 1.0 + raise;
        }
        raise *= raise_growth;
    }
    return true;
}

bool supernodes_solve(struct supernodes *supernodes, double y[], struct failure *failure)
{
    const size_t bytes = (size_t)supernodes->row_count * sizeof *y;
    memcpy(supernodes->right->x, y, bytes);
    if (!cholmod_solve2(CHOLMOD_A, supernodes->factor, supernodes->right, NULL,
                        &supernodes->solution, NULL, &supernodes->work_y, &supernodes->work_e,
                        &supernodes->common)) {
        return fail_memory(failure, "the steady solver's solution");
    }
    memcpy(y, supernodes->solution->x, bytes);
    return true;
}
