#include "solver/steady/factors.h"

#include "solver/steady/columns.h"
#include "solver/steady/ordering.h"
#include "solver/steady/supernodes.h"

#include <math.h>
#include <stdlib.h>

/* Operations on each entry of the factors from which dense blocks are taken. Measured on full grids
 * (tests/bench/trials.md): at 206 and 273 columns take a quarter of the time that blocks take with
 * the plain BLAS; with a quick one, reckoned from its times beside the plain one, both are level
 * near 300. */
static const double dense_operations = 300.0;

struct factors {
    struct columns *columns;       /* NULL: in blocks */
    struct supernodes *supernodes; /* NULL: by columns */
};

static bool make_blocks(struct factors *factors, struct planning *planning, int rows, int pairs,
                        struct fold_pair pair[], int order[], struct failure *failure)
{
    const struct planning_mark mark = planning_mark(planning);
    int *again = planning_take(planning, (size_t)rows, sizeof *again);
    if (!again) {
        return fail_memory(failure, "the steady solver's matrix");
    }
    factors->supernodes = supernodes_new(planning, rows, pairs, pair, again, failure);
    for (int row = 0; row < rows && factors->supernodes; row++) {
        order[row] = again[order[row]];
    }
    planning_give(planning, mark);
    return factors->supernodes != NULL;
}

static bool analyse(struct factors *factors, struct planning *planning, int rows, int pairs,
                    struct fold_pair pair[], int order[], struct failure *failure)
{
    if (!ordering_find(planning, rows, pairs, pair, order)) {
        return fail_memory(failure, "the steady solver's matrix");
    }
    for (int i = 0; i < pairs; i++) {
        pair[i].a = order[pair[i].a];
        pair[i].b = order[pair[i].b];
    }
    if (!fold_sort_pairs(planning, rows, pairs, pair) ||
        !columns_new(planning, rows, pairs, pair, dense_operations, &factors->columns)) {
        return fail_memory(failure, "the steady solver's matrix");
    }
    return factors->columns || make_blocks(factors, planning, rows, pairs, pair, order, failure);
}

struct factors *factors_new(struct planning *planning, int row_count, int pair_count,
                            struct fold_pair pair[pair_count], int order[row_count],
                            struct failure *failure)
{
    struct factors *factors = calloc(1, sizeof *factors);
    if (!factors) {
        (void)fail_memory(failure, "the steady solver's matrix");
        return NULL;
    }
    if (!analyse(factors, planning, row_count, pair_count, pair, order, failure)) {
        factors_free(factors);
        return NULL;
    }
    return factors;
}

void factors_free(struct factors *factors)
{
    if (!factors) {
        return;
    }
    supernodes_free(factors->supernodes);
    free(factors);
}

bool factors_make(struct factors *factors, const int slot[], const double between[],
                  const double held[], struct failure *failure)
{
    if (!factors->columns) {
        return supernodes_make(factors->supernodes, slot, between, held, failure);
    }
    columns_make(factors->columns, slot, between, held);
    return true;
}

double factors_operations(const struct factors *factors)
{
    return factors->columns ? columns_operations(factors->columns) : (double)INFINITY;
}

bool factors_solve(struct factors *factors, double y[], struct failure *failure)
{
    if (!factors->columns) {
        return supernodes_solve(factors->supernodes, y, failure);
    }
    columns_solve(factors->columns, y);
    return true;
}
