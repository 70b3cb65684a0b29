#include "solver/steady/unsymmetric.h"

#include <stdlib.h>
#include <string.h>
#include <umfpack.h>

struct unsymmetric {
    int size;
    int entry_count;
    int *start;     /* [size + 1] first entry of each column */
    int *row;       /* [entry_count] at most that many are used */
    int *map;       /* [entry_count] where each given entry goes */
    double *value;  /* [entry_count] */
    void *symbolic; /* UMFPACK's own */
    void *numeric;
    double control[UMFPACK_CONTROL];
};

static bool analyse(struct unsymmetric *matrix, const int row[], const int column[])
{
    int status =
        umfpack_di_triplet_to_col(matrix->size, matrix->size, matrix->entry_count, row, column,
                                  NULL, matrix->start, matrix->row, NULL, matrix->map);
    if (status != UMFPACK_OK) {
        return false;
    }
    umfpack_di_defaults(matrix->control);
    status = umfpack_di_symbolic(matrix->size, matrix->size, matrix->start, matrix->row, NULL,
                                 &matrix->symbolic, matrix->control, NULL);
    return status == UMFPACK_OK;
}

struct unsymmetric *unsymmetric_new(int size, int entry_count, const int row[entry_count],
                                    const int column[entry_count], struct failure *failure)
{
    const size_t entries = (size_t)entry_count + 1;
    struct unsymmetric *matrix = calloc(1, sizeof *matrix);
    if (matrix) {
        matrix->size = size;
        matrix->entry_count = entry_count;
        matrix->start = calloc((size_t)size + 1, sizeof *matrix->start);
        matrix->row = malloc(entries * sizeof *matrix->row);
        matrix->map = malloc(entries * sizeof *matrix->map);
        matrix->value = malloc(entries * sizeof *matrix->value);
    }
    if (!matrix || !matrix->start || !matrix->row || !matrix->map || !matrix->value ||
        (size > 0 && !analyse(matrix, row, column))) {
        unsymmetric_free(matrix);
        (void)fail_memory(failure, "the unsymmetric matrix");
        return NULL;
    }
    return matrix;
}

void unsymmetric_free(struct unsymmetric *matrix)
{
    if (!matrix) {
        return;
    }
    if (matrix->symbolic) {
        umfpack_di_free_symbolic(&matrix->symbolic);
    }
    if (matrix->numeric) {
        umfpack_di_free_numeric(&matrix->numeric);
    }
    free(matrix->start);
    free(matrix->row);
    free(matrix->map);
    free(matrix->value);
    free(matrix);
}

bool unsymmetric_factor(struct unsymmetric *matrix, const double value[], bool *is_singular,
                        struct failure *failure)
{
    *is_singular = false;
    if (matrix->size == 0) {
        return true;
    }
    memset(matrix->value, 0, (size_t)matrix->entry_count * sizeof *matrix->value);
    for (int i = 0; i < matrix->entry_count; i++) {
        matrix->value[matrix->map[i]] += value[i];
    }
    if (matrix->numeric) {
        umfpack_di_free_numeric(&matrix->numeric);
    }
    const int status =
        umfpack_di_numeric(matrix->start, matrix->row, matrix->value, matrix->symbolic,
                           &matrix->numeric, matrix->control, NULL);
    *is_singular = status == UMFPACK_WARNING_singular_matrix;
    if (status < 0) {
        return fail_memory(failure, "the unsymmetric factors");
    }
    return true;
}

bool unsymmetric_solve(struct unsymmetric *matrix, const double right[], double solution[],
                       struct failure *failure)
{
    if (matrix->size == 0) {
        return true;
    }
    const int status = umfpack_di_solve(UMFPACK_A, matrix->start, matrix->row, matrix->value,
                                        solution, right, matrix->numeric, matrix->control, NULL);
    return status >= 0 || fail_memory(failure, "the unsymmetric solution");
}
