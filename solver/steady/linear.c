/* The matrix is kept as its upper half by columns, rows sorted, so that the diagonal entry of a
 * column is its last. One slot behind the last entry takes what belongs to held points. */
#include "solver/steady/linear.h"

#include <cholmod.h>
#include <stdlib.h>
#include <string.h>

/* Raise of the diagonal when round-off spoils definiteness, first share and growth each try. */
static const double first_raise = 1e-13;
static const double raise_growth = 100.0;

enum { RAISE_TRIES = 6 };

struct linear {
    cholmod_common common;
    cholmod_sparse *matrix;
    cholmod_factor *factor;
    cholmod_dense *right;
    cholmod_dense *solution;
    cholmod_dense *work_y;
    cholmod_dense *work_e;
    int row_count;
    int link_count;
    int *from;     /* [link_count] renumbered rows; row_count: held */
    int *to;       /* [link_count] */
    int *entry;    /* [link_count] slot of the entry off the diagonal */
    int *diagonal; /* [row_count + 1] slot of the diagonal; last: the spare slot */
    double *value; /* [slots + 1] the matrix, with the spare slot */
};

/* The column of a link's entry: its later row; that of its free end where one is held. */
static int column_of(const struct linear *linear, int e)
{
    const int from = linear->from[e];
    const int to = linear->to[e];
    const int held = linear->row_count;
    if (from == held || to == held) {
        return from < to ? from : to;
    }
    return from > to ? from : to;
}

/* Its row in that column; the column itself where it has no entry off the diagonal. */
static int row_of(const struct linear *linear, int e)
{
    const int from = linear->from[e];
    const int to = linear->to[e];
    return from < to ? from : to;
}

/* Links `source` (NULL: in their own order) into `sorted` by rising key, equal ones as they were.
 */
static void sort_by(const struct linear *linear, int (*key)(const struct linear *, int),
                    const int *source, int sorted[], int start[])
{
    memset(start, 0, ((size_t)linear->row_count + 2) * sizeof *start);
    for (int e = 0; e < linear->link_count; e++) {
        start[key(linear, e) + 1]++;
    }
    for (int row = 0; row < linear->row_count; row++) {
        start[row + 1] += start[row];
    }
    for (int i = 0; i < linear->link_count; i++) {
        const int e = source ? source[i] : i;
        sorted[start[key(linear, e)]++] = e;
    }
}

/* `sorted`: the links by column, then row. */
static bool sort_links(const struct linear *linear, int sorted[])
{
    int *start = malloc(((size_t)linear->row_count + 2) * sizeof *start);
    int *by_row = calloc((size_t)linear->link_count + 1, sizeof *by_row);
    const bool is_done = start && by_row;
    if (is_done) {
        sort_by(linear, row_of, NULL, by_row, start);
        sort_by(linear, column_of, by_row, sorted, start);
    }
    free(start);
    free(by_row);
    return is_done;
}

/* Entries of the upper half from the sorted links, and where each link goes. Gives their number. */
static int fill_pattern(struct linear *linear, const int sorted[])
{
    int *start = linear->matrix->p;
    int *row = linear->matrix->i;
    int slot = 0;
    int next = 0;
    for (int column = 0; column < linear->row_count; column++) {
        start[column] = slot;
        for (; next < linear->link_count && column_of(linear, sorted[next]) == column; next++) {
            const int e = sorted[next];
            const int at = row_of(linear, e);
            if (at == column) {
                linear->entry[e] = -1; /* the spare slot, not known yet */
                continue;
            }
            if (slot == start[column] || row[slot - 1] != at) {
                row[slot++] = at;
            }
            linear->entry[e] = slot - 1;
        }
        linear->diagonal[column] = slot;
        row[slot++] = column;
    }
    start[linear->row_count] = slot;
    linear->diagonal[linear->row_count] = slot;
    for (; next < linear->link_count; next++) {
        linear->entry[sorted[next]] = -1;
    }
    for (int e = 0; e < linear->link_count; e++) {
        linear->entry[e] = linear->entry[e] < 0 ? slot : linear->entry[e];
    }
    return slot;
}

/* Makes the matrix's pattern for the present numbering, and where each link goes in it. */
static bool make_pattern(struct linear *linear, const int sorted[])
{
    const size_t rows = (size_t)linear->row_count;
    cholmod_free_sparse(&linear->matrix, &linear->common);
    linear->matrix = cholmod_allocate_sparse(rows, rows, rows + (size_t)linear->link_count + 1, 1,
                                             1, 1, CHOLMOD_REAL, &linear->common);
    if (!linear->matrix) {
        return false;
    }
    const int count = fill_pattern(linear, sorted);
    linear->value = linear->matrix->x;
    memset(linear->value, 0, ((size_t)count + 1) * sizeof *linear->value);
    return true;
}

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

/* Orders the rows by minimum degree and renumbers the links' ends. The plan of the factors is
 * made over to the new numbers, in which they need no permutation. */
static bool reorder(struct linear *linear, int order[])
{
    linear->factor = cholmod_analyze(linear->matrix, &linear->common);
    linear->right = cholmod_zeros((size_t)linear->row_count, 1, CHOLMOD_REAL, &linear->common);
    if (!linear->factor || !linear->right) {
        return false;
    }
    int *old_row = linear->factor->Perm;
    for (int row = 0; row < linear->row_count; row++) {
        order[old_row[row]] = row;
        old_row[row] = row;
    }
    linear->factor->ordering = CHOLMOD_NATURAL;
    for (int e = 0; e < linear->link_count; e++) {
        if (linear->from[e] != linear->row_count) {
            linear->from[e] = order[linear->from[e]];
        }
        if (linear->to[e] != linear->row_count) {
            linear->to[e] = order[linear->to[e]];
        }
    }
    return true;
}

/* Gives the links the numbers of their places in `sorted`. */
static void renumber_links(struct linear *linear, int sorted[], int link_order[])
{
    int *ends[] = {linear->from, linear->to};
    for (int side = 0; side < 2; side++) {
        for (int k = 0; k < linear->link_count; k++) {
            link_order[k] = ends[side][sorted[k]];
        }
        memcpy(ends[side], link_order, (size_t)linear->link_count * sizeof *link_order);
    }
    for (int k = 0; k < linear->link_count; k++) {
        link_order[k] = sorted[k];
        sorted[k] = k;
    }
}

/* The order of rows and links, the matrix in it and the plan of its factors. */
static bool analyse(struct linear *linear, int order[], int link_order[])
{
    int *sorted = calloc((size_t)linear->link_count + 1, sizeof *sorted);
    bool is_done = sorted && sort_links(linear, sorted);
    if (is_done && linear->row_count > 0) {
        is_done =
            make_pattern(linear, sorted) && reorder(linear, order) && sort_links(linear, sorted);
    }
    if (is_done) {
        renumber_links(linear, sorted, link_order);
        is_done = linear->row_count == 0 || make_pattern(linear, sorted);
    }
    free(sorted);
    return is_done;
}

struct linear *linear_new(int row_count, int link_count, const int from[link_count],
                          const int to[link_count], int order[row_count],
                          int link_order[link_count], struct failure *failure)
{
    const size_t links = (size_t)link_count + 1;
    struct linear *linear = calloc(1, sizeof *linear);
    if (!linear) {
        (void)fail_memory(failure, "the steady solver");
        return NULL;
    }
    set_up(&linear->common);
    linear->row_count = row_count;
    linear->link_count = link_count;
    linear->from = malloc(links * sizeof *linear->from);
    linear->to = malloc(links * sizeof *linear->to);
    linear->entry = malloc(links * sizeof *linear->entry);
    linear->diagonal = malloc(((size_t)row_count + 1) * sizeof *linear->diagonal);
    bool is_done = linear->from && linear->to && linear->entry && linear->diagonal;
    if (is_done) {
        for (int e = 0; e < link_count; e++) {
            linear->from[e] = from[e] < row_count ? from[e] : row_count;
            linear->to[e] = to[e] < row_count ? to[e] : row_count;
        }
        is_done = analyse(linear, order, link_order);
    }
    if (!is_done) {
        linear_free(linear);
        (void)fail_memory(failure, "the steady solver's matrix");
        return NULL;
    }
    return linear;
}

void linear_free(struct linear *linear)
{
    if (!linear) {
        return;
    }
    cholmod_free_sparse(&linear->matrix, &linear->common);
    cholmod_free_factor(&linear->factor, &linear->common);
    cholmod_free_dense(&linear->right, &linear->common);
    cholmod_free_dense(&linear->solution, &linear->common);
    cholmod_free_dense(&linear->work_y, &linear->common);
    cholmod_free_dense(&linear->work_e, &linear->common);
    cholmod_finish(&linear->common);
    free(linear->from);
    free(linear->to);
    free(linear->entry);
    free(linear->diagonal);
    free(linear);
}

static void assemble(struct linear *linear, const double conductance[], int pin_count,
                     const int pin[])
{
    double *value = linear->value;
    const int *diagonal = linear->diagonal;
    memset(value, 0, ((size_t)diagonal[linear->row_count] + 1) * sizeof *value);
    for (int e = 0; e < linear->link_count; e++) {
        const double g = conductance[e];
        value[diagonal[linear->from[e]]] += g;
        value[diagonal[linear->to[e]]] += g;
        value[linear->entry[e]] -= g;
    }
    for (int i = 0; i < pin_count; i++) {
        double *entry = &value[diagonal[pin[i]]];
        *entry = *entry > 0.0 ? 2.0 * *entry : 1.0;
    }
}

bool linear_factor(struct linear *linear, const double conductance[], int pin_count,
                   const int pin[], struct failure *failure)
{
    if (linear->row_count == 0) {
        return true;
    }
    assemble(linear, conductance, pin_count, pin);
    double raise = first_raise;
    for (int try = 0; try < RAISE_TRIES; try++) {
        if (!cholmod_factorize(linear->matrix, linear->factor, &linear->common)) {
            return fail_memory(failure, "the steady solver's factors");
        }
        if (linear->factor->minor >= (size_t)linear->row_count) {
            break;
        }
        for (int row = 0; row < linear->row_count; row++) {
            double *entry = &linear->value[linear->diagonal[row]];
            *entry += raise * *entry;
        }
        raise *= raise_growth;
    }
    return true;
}

bool linear_solve(struct linear *linear, const double right[], double solution[],
                  struct failure *failure)
{
    if (linear->row_count == 0) {
        return true;
    }
    const size_t bytes = (size_t)linear->row_count * sizeof *right;
    memcpy(linear->right->x, right, bytes);
    if (!cholmod_solve2(CHOLMOD_A, linear->factor, linear->right, NULL, &linear->solution, NULL,
                        &linear->work_y, &linear->work_e, &linear->common)) {
        return fail_memory(failure, "the steady solver's solution");
    }
    memcpy(solution, linear->solution->x, bytes);
    return true;
}
