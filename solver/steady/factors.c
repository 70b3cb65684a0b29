/* The matrix is kept as its upper half by columns, rows sorted, so that the diagonal entry of a
 * column is its last. */
#include "solver/steady/factors.h"

#include <cholmod.h>
#include <stdlib.h>
#include <string.h>

/* Raise of the diagonal when round-off spoils definiteness, first share and growth each try. */
static const double first_raise = 1e-13;
static const double raise_growth = 100.0;

enum { RAISE_TRIES = 6 };

struct factors {
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
    common->supernodal = CHOLMOD_AUTO; /* by flops for each entry of the factors */
    common->final_ll = 1;              /* a pivot that is not positive is then told, not used */
    common->nmethods = 1;
    common->method[0].ordering = CHOLMOD_AMD;
}

/* `source` into `sorted` by rising `a` or `b`, equal ones as they were. `start` [row_count + 2]. */
static void sort_by(const struct factors *factors, bool by_a, const struct fold_pair source[],
                    struct fold_pair sorted[], int start[])
{
    memset(start, 0, ((size_t)factors->row_count + 2) * sizeof *start);
    for (int i = 0; i < factors->pair_count; i++) {
        start[(by_a ? source[i].a : source[i].b) + 1]++;
    }
    for (int row = 0; row < factors->row_count; row++) {
        start[row + 1] += start[row];
    }
    for (int i = 0; i < factors->pair_count; i++) {
        sorted[start[by_a ? source[i].a : source[i].b]++] = source[i];
    }
}

/* The pairs by column, which is the later row, then by the earlier. */
static bool sort_pairs(const struct factors *factors, struct fold_pair pair[])
{
    const size_t count = (size_t)factors->pair_count;
    int *start = malloc(((size_t)factors->row_count + 2) * sizeof *start);
    struct fold_pair *by_row = calloc(count + 1, sizeof *by_row);
    const bool is_done = start && by_row;
    if (is_done) {
        for (int i = 0; i < factors->pair_count; i++) {
            const struct fold_pair old = pair[i];
            pair[i].a = old.a < old.b ? old.a : old.b;
            pair[i].b = old.a < old.b ? old.b : old.a;
        }
        sort_by(factors, true, pair, by_row, start);
        sort_by(factors, false, by_row, pair, start);
    }
    free(start);
    free(by_row);
    return is_done;
}

/* The matrix's pattern from sorted pairs. */
static void fill_pattern(struct factors *factors, const struct fold_pair pair[])
{
    int *start = factors->matrix->p;
    int *row = factors->matrix->i;
    int at = 0;
    int next = 0;
    for (int column = 0; column < factors->row_count; column++) {
        start[column] = at;
        for (; next < factors->pair_count && pair[next].b == column; next++) {
            row[at++] = pair[next].a;
        }
        row[at++] = column;
    }
    start[factors->row_count] = at;
}

static bool take_matrix(struct factors *factors)
{
    const size_t rows = (size_t)factors->row_count;
    factors->matrix = cholmod_allocate_sparse(rows, rows, rows + (size_t)factors->pair_count, 1, 1,
                                              1, CHOLMOD_REAL, &factors->common);
    if (!factors->matrix) {
        return false;
    }
    memset(factors->matrix->x, 0, (rows + (size_t)factors->pair_count) * sizeof(double));
    return true;
}

/* Orders the rows by minimum degree and renumbers the pairs. The plan of the factors is made over
 * to the new numbers, in which they need no permutation. */
static bool reorder(struct factors *factors, struct fold_pair pair[], int order[])
{
    factors->factor = cholmod_analyze(factors->matrix, &factors->common);
    if (!factors->factor) {
        return false;
    }
    int *old_row = factors->factor->Perm;
    for (int row = 0; row < factors->row_count; row++) {
        order[old_row[row]] = row;
        old_row[row] = row;
    }
    factors->factor->ordering = CHOLMOD_NATURAL;
    for (int i = 0; i < factors->pair_count; i++) {
        pair[i].a = order[pair[i].a];
        pair[i].b = order[pair[i].b];
    }
    return true;
}

/* The order of rows and pairs, the matrix in it and the plan of its factors. */
static bool analyse(struct factors *factors, struct fold_pair pair[], int order[])
{
    if (!take_matrix(factors) || !sort_pairs(factors, pair)) {
        return false;
    }
    fill_pattern(factors, pair);
    if (!reorder(factors, pair, order) || !sort_pairs(factors, pair)) {
        return false;
    }
    fill_pattern(factors, pair);
    factors->right = cholmod_zeros((size_t)factors->row_count, 1, CHOLMOD_REAL, &factors->common);
    return factors->right != NULL;
}

struct factors *factors_new(int row_count, int pair_count, struct fold_pair pair[pair_count],
                            int order[row_count], struct failure *failure)
{
    struct factors *factors = calloc(1, sizeof *factors);
    if (factors) {
        set_up(&factors->common);
        factors->row_count = row_count;
        factors->pair_count = pair_count;
        if (analyse(factors, pair, order)) {
            return factors;
        }
    }
    factors_free(factors);
    (void)fail_memory(failure, "the steady solver's matrix");
    return NULL;
}

void factors_free(struct factors *factors)
{
    if (!factors) {
        return;
    }
    cholmod_free_sparse(&factors->matrix, &factors->common);
    cholmod_free_factor(&factors->factor, &factors->common);
    cholmod_free_dense(&factors->right, &factors->common);
    cholmod_free_dense(&factors->solution, &factors->common);
    cholmod_free_dense(&factors->work_y, &factors->common);
    cholmod_free_dense(&factors->work_e, &factors->common);
    cholmod_finish(&factors->common);
    free(factors);
}

static void assemble(struct factors *factors, const int slot[], const double between[],
                     const double held[])
{
    const int *start = factors->matrix->p;
    const int *row = factors->matrix->i;
    double *value = factors->matrix->x;
    for (int column = 0; column < factors->row_count; column++) {
        const int diagonal = start[column + 1] - 1;
        double sum = held[column];
        for (int at = start[column]; at < diagonal; at++) {
            const double g = between[slot[at - column]]; /* so many diagonals came before */
            value[at] = -g;
            value[start[row[at] + 1] - 1] += g; /* an earlier column's, which has its own sum */
            sum += g;
        }
        value[diagonal] = sum;
    }
}

bool factors_make(struct factors *factors, const int slot[], const double between[],
                  const double held[], struct failure *failure)
{
    assemble(factors, slot, between, held);
    const int *start = factors->matrix->p;
    double *value = factors->matrix->x;
    double raise = first_raise;
    for (int try = 0; try < RAISE_TRIES; try++) {
        if (!cholmod_factorize(factors->matrix, factors->factor, &factors->common)) {
            return fail_memory(failure, "the steady solver's factors");
        }
        if (factors->factor->minor >= (size_t)factors->row_count) {
            break;
        }
        for (int row = 0; row < factors->row_count; row++) {
            value[start[row + 1] - 1] *= 1.0 + raise;
        }
        raise *= raise_growth;
    }
    return true;
}

bool factors_solve(struct factors *factors, double y[], struct failure *failure)
{
    const size_t bytes = (size_t)factors->row_count * sizeof *y;
    memcpy(factors->right->x, y, bytes);
    if (!cholmod_solve2(CHOLMOD_A, factors->factor, factors->right, NULL, &factors->solution, NULL,
                        &factors->work_y, &factors->work_e, &factors->common)) {
        return fail_memory(failure, "the steady solver's solution");
    }
    memcpy(y, factors->solution->x, bytes);
    return true;
}
