#include "solver/steady/factors.h"

#include "solver/steady/columns.h"
#include "solver/steady/supernodes.h"

#include <amd.h>
#include <limits.h>
#include <stdlib.h>

/* Operations on each entry of the factors from which dense blocks are taken. Measured on full grids
 * (DEVELOPERS.md): at 206 and 273 columns take a quarter of the time that blocks take with the
 * plain BLAS; with a quick one, reckoned from its times beside the plain one, both are level near
 * 300. */
static const double dense_operations = 300.0;

struct factors {
    struct columns *columns;       /* NULL: in blocks */
    struct supernodes *supernodes; /* NULL: by columns */
};

/* Room that AMD asks for: eight arrays of a row's number each, and the lists of neighbours with
 * some room to move in (amd_2.c: at least a number for each row; a fifth more is quicker). */
enum { AMD_ARRAYS = 9 };

struct amd_room {
    int *array[AMD_ARRAYS]; /* [row_count] each */
    int *list;              /* [list_size] */
    int list_size;
};

static bool take_amd_room(struct amd_room *room, struct planning *planning, int rows, int pairs)
{
    const size_t size = (size_t)rows + 2 * (size_t)pairs + (size_t)pairs / 2;
    if (size > INT_MAX) {
        return false;
    }
    room->list_size = (int)size;
    room->list = planning_take(planning, size, sizeof *room->list);
    bool is_done = room->list != NULL;
    for (int i = 0; i < AMD_ARRAYS && is_done; i++) {
        room->array[i] = planning_take(planning, (size_t)rows, sizeof *room->array[i]);
        is_done = room->array[i] != NULL;
    }
    return is_done;
}

/* The neighbours of each row, from `start`, `degree` many. */
static void list_neighbours(int rows, int pairs, const struct fold_pair pair[], int start[],
                            int degree[], int list[])
{
    for (int row = 0; row < rows; row++) {
        degree[row] = 0;
    }
    for (int i = 0; i < pairs; i++) {
        degree[pair[i].a]++;
        degree[pair[i].b]++;
    }
    int at = 0;
    for (int row = 0; row < rows; row++) {
        start[row] = at;
        at += degree[row];
        degree[row] = 0;
    }
    for (int i = 0; i < pairs; i++) {
        const int a = pair[i].a;
        const int b = pair[i].b;
        list[start[a] + degree[a]++] = b;
        list[start[b] + degree[b]++] = a;
    }
}

/* The number of each row in the order of least degree. */
static bool order_rows(struct planning *planning, int rows, int pairs,
                       const struct fold_pair pair[], int order[])
{
    const struct planning_mark mark = planning_mark(planning);
    struct amd_room room;
    const bool is_done = take_amd_room(&room, planning, rows, pairs);
    if (is_done) {
        int **array = room.array;
        int *start = array[0];
        int *degree = array[1];
        int *old_row = array[2];
        list_neighbours(rows, pairs, pair, start, degree, room.list);
        amd_2(rows, start, room.list, degree, room.list_size, 2 * pairs, array[3], array[4],
              old_row, array[5], array[6], array[7], array[8], NULL, NULL);
        for (int k = 0; k < rows; k++) {
            order[old_row[k]] = k;
        }
    }
    planning_give(planning, mark);
    return is_done;
}

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
    if (!order_rows(planning, rows, pairs, pair, order)) {
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

bool factors_solve(struct factors *factors, double y[], struct failure *failure)
{
    if (!factors->columns) {
        return supernodes_solve(factors->supernodes, y, failure);
    }
    columns_solve(factors->columns, y);
    return true;
}
