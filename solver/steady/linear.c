/* The matrix is kept as its upper half by columns, rows sorted, so that the diagonal entry of a
 * column is its last. One slot behind the last entry takes what belongs to held points. */
#include "solver/steady/linear.h"

#include <cholmod.h>
#include <stdint.h>
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

/* Two ends packed into one number that sorts by column, then row. */
static uint64_t pair_key(int row_a, int row_b)
{
    const uint64_t low = (uint64_t)(row_a < row_b ? row_a : row_b);
    const uint64_t high = (uint64_t)(row_a < row_b ? row_b : row_a);
    return (high << 32) | low;
}

static int compare_keys(const void *left, const void *right)
{
    const uint64_t a = *(const uint64_t *)left;
    const uint64_t b = *(const uint64_t *)right;
    return (a > b) - (a < b);
}

/* Sorted, distinct keys of all entries of the upper half; the number of them. */
static int gather_keys(const struct linear *linear, uint64_t *key)
{
    const int held = linear->row_count;
    int count = 0;
    for (int row = 0; row < linear->row_count; row++) {
        key[count++] = pair_key(row, row);
    }
    for (int e = 0; e < linear->link_count; e++) {
        const int from = linear->from[e];
        const int to = linear->to[e];
        if (from != held && to != held && from != to) {
            key[count++] = pair_key(from, to);
        }
    }
    qsort(key, (size_t)count, sizeof *key, compare_keys);
    int kept = 0;
    for (int i = 0; i < count; i++) {
        if (kept == 0 || key[kept - 1] != key[i]) {
            key[kept++] = key[i];
        }
    }
    return kept;
}

static int find_slot(const uint64_t *key, int count, uint64_t wanted)
{
    int low = 0;
    int high = count;
    while (high - low > 1) {
        const int middle = low + (high - low) / 2;
        if (key[middle] <= wanted) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low;
}

/* Makes the matrix's pattern for the present numbering, and where each link goes in it. */
static bool make_pattern(struct linear *linear)
{
    const int held = linear->row_count;
    const size_t room = (size_t)linear->row_count + (size_t)linear->link_count;
    uint64_t *key = malloc((room ? room : 1) * sizeof *key);
    if (!key) {
        return false;
    }
    const int count = gather_keys(linear, key);
    cholmod_free_sparse(&linear->matrix, &linear->common);
    linear->matrix =
        cholmod_allocate_sparse((size_t)linear->row_count, (size_t)linear->row_count,
                                (size_t)count + 1, 1, 1, 1, CHOLMOD_REAL, &linear->common);
    if (!linear->matrix) {
        free(key);
        return false;
    }
    int *start = linear->matrix->p;
    int *row = linear->matrix->i;
    linear->value = linear->matrix->x;
    memset(linear->value, 0, ((size_t)count + 1) * sizeof *linear->value);
    int column = 0;
    start[0] = 0;
    for (int slot = 0; slot < count; slot++) {
        row[slot] = (int)(key[slot] & UINT32_MAX);
        if (row[slot] == column) { /* the diagonal ends a column */
            linear->diagonal[column++] = slot;
            start[column] = slot + 1;
        }
    }
    linear->diagonal[linear->row_count] = count;
    for (int e = 0; e < linear->link_count; e++) {
        const int from = linear->from[e];
        const int to = linear->to[e];
        const bool is_inside = from != held && to != held && from != to;
        linear->entry[e] = is_inside ? find_slot(key, count, pair_key(from, to)) : count;
    }
    free(key);
    return true;
}

static void set_up(cholmod_common *common)
{
    cholmod_start(common);
    common->print = 0;
    common->error_handler = NULL;
    common->supernodal = CHOLMOD_SIMPLICIAL;
    common->final_ll = 1; /* a pivot that is not positive is then told, not used */
    common->nmethods = 1;
}

/* Orders the rows by minimum degree and renumbers the links' ends. */
static bool reorder(struct linear *linear, int order[])
{
    linear->common.method[0].ordering = CHOLMOD_AMD;
    linear->common.postorder = 1;
    cholmod_factor *plan = cholmod_analyze(linear->matrix, &linear->common);
    if (!plan) {
        return false;
    }
    const int *old_row = plan->Perm;
    for (int row = 0; row < linear->row_count; row++) {
        order[old_row[row]] = row;
    }
    cholmod_free_factor(&plan, &linear->common);
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

/* Analysis in the new order, and one factorisation and solution so that all workspace exists. */
static bool warm_up(struct linear *linear, struct failure *failure)
{
    linear->common.method[0].ordering = CHOLMOD_NATURAL;
    linear->common.postorder = 0;
    linear->common.supernodal = CHOLMOD_AUTO; /* by flops for each entry of the factors */
    linear->factor = cholmod_analyze(linear->matrix, &linear->common);
    linear->right = cholmod_zeros((size_t)linear->row_count, 1, CHOLMOD_REAL, &linear->common);
    if (!linear->factor || !linear->right) {
        return false;
    }
    double *unit = malloc(((size_t)linear->link_count + 1) * sizeof *unit);
    double *solution = malloc(((size_t)linear->row_count + 1) * sizeof *solution);
    int *pin = malloc(((size_t)linear->row_count + 1) * sizeof *pin);
    bool is_done = unit && solution && pin;
    if (is_done) {
        for (int e = 0; e < linear->link_count; e++) {
            unit[e] = 1.0;
        }
        for (int row = 0; row < linear->row_count; row++) {
            pin[row] = row;
            solution[row] = 0.0;
        }
        is_done = linear_factor(linear, unit, linear->row_count, pin, failure) &&
                  linear_solve(linear, solution, solution, failure);
    }
    free(unit);
    free(solution);
    free(pin);
    return is_done;
}

struct linear *linear_new(int row_count, int link_count, const int from[link_count],
                          const int to[link_count], int order[row_count], struct failure *failure)
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
        is_done = row_count == 0 || (make_pattern(linear) && reorder(linear, order) &&
                                     make_pattern(linear) && warm_up(linear, failure));
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
