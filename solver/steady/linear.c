#include "solver/steady/linear.h"

#include "solver/steady/factors.h"

#include <stdlib.h>
#include <string.h>

/* A link whose conductance does not stand alone in its slot. */
struct extra {
    int link;
    int to; /* row, of a link to a held head; slot, of a link beside another one */
};

struct linear {
    int row_count;
    int link_count;
    int fold_count;
    struct fold_row *fold;   /* [fold_count] */
    struct factors *factors; /* of the rows from fold_count on; NULL: there are none */
    int *slot;               /* of the pairs they are made of */
    int held_count;
    struct extra *held; /* [held_count] */
    int twin_count;
    struct extra *twin; /* [twin_count] */
    double *between;    /* [link_count + 1] m2/s by slot, which is the link's number */
    double *to_held;    /* [row_count + 1] m2/s */
    double *y;          /* [row_count + 1] */
};

/* Numbers the rows in the order of elimination. */
static bool number_rows(struct linear *linear, struct fold *fold, int order[],
                        struct failure *failure)
{
    const int rows = linear->row_count;
    const int rest = rows - fold->count;
    int *rest_order = malloc(((size_t)rest + 1) * sizeof *rest_order);
    if (!rest_order) {
        return fail_memory(failure, "the steady solver's matrix");
    }
    for (int row = 0; row < rows; row++) {
        order[row] = -1;
    }
    for (int k = 0; k < fold->count; k++) {
        order[fold->folded[k]] = k;
    }
    int count = 0;
    for (int row = 0; row < rows; row++) {
        order[row] = order[row] < 0 ? fold->count + count++ : order[row];
    }
    for (int i = 0; i < fold->pair_count; i++) {
        fold->pair[i].a = order[fold->pair[i].a] - fold->count;
        fold->pair[i].b = order[fold->pair[i].b] - fold->count;
    }
    if (rest > 0) {
        linear->factors = factors_new(rest, fold->pair_count, fold->pair, rest_order, failure);
        for (int row = 0; row < rows && linear->factors; row++) {
            if (order[row] >= fold->count) {
                order[row] = fold->count + rest_order[order[row] - fold->count];
            }
        }
    }
    free(rest_order);
    return rest == 0 || linear->factors;
}

/* Where a link is sorted in: at the first of its ends that is eliminated while rows are folded,
 * at the second afterwards, as the matrices hold it. */
static int key_of(int from, int to, int fold_count, int row_count)
{
    const int low = from < to ? from : to;
    const int high = from < to ? to : from;
    if (low >= row_count) {
        return row_count; /* both held */
    }
    return low < fold_count || high >= row_count ? low : high;
}

/* `link_order`: the links sorted. `start` [row_count + 2] is filled. */
static void sort_links(const struct linear *linear, const int from[], const int to[],
                       const int order[], int link_order[], int start[])
{
    const int rows = linear->row_count;
    memset(start, 0, ((size_t)rows + 2) * sizeof *start);
    for (int pass = 0; pass < 2; pass++) {
        for (int e = 0; e < linear->link_count; e++) {
            const int a = from[e] < rows ? order[from[e]] : rows;
            const int b = to[e] < rows ? order[to[e]] : rows;
            const int key = key_of(a, b, linear->fold_count, rows);
            if (pass == 0) {
                start[key + 1]++;
            } else {
                link_order[start[key]++] = e;
            }
        }
        for (int row = 0; row < rows && pass == 0; row++) {
            start[row + 1] += start[row];
        }
    }
}

/* Links to held heads, and links beside another one; counted only, while there is no room. */
static void list_extras(struct linear *linear, const struct fold *fold, const int from[],
                        const int to[], const int order[], const int place[])
{
    const int rows = linear->row_count;
    linear->held_count = 0;
    linear->twin_count = 0;
    for (int e = 0; e < linear->link_count; e++) {
        struct extra *extra = NULL;
        if ((from[e] < rows) != (to[e] < rows)) {
            extra = linear->held ? &linear->held[linear->held_count] : NULL;
            linear->held_count++;
        } else if (fold->slot[e] != e) {
            extra = linear->twin ? &linear->twin[linear->twin_count] : NULL;
            linear->twin_count++;
        }
        if (extra) {
            const int row = from[e] < rows ? from[e] : to[e];
            *extra =
                (struct extra){place[e], fold->slot[e] != e ? place[fold->slot[e]] : order[row]};
        }
    }
}

static bool make_extras(struct linear *linear, const struct fold *fold, const int from[],
                        const int to[], const int order[], const int place[])
{
    list_extras(linear, fold, from, to, order, place);
    linear->held = malloc(((size_t)linear->held_count + 1) * sizeof *linear->held);
    linear->twin = malloc(((size_t)linear->twin_count + 1) * sizeof *linear->twin);
    if (!linear->held || !linear->twin) {
        return false;
    }
    list_extras(linear, fold, from, to, order, place);
    return true;
}

/* Brings the plan of folding and the pairs' slots to the new numbers. */
static bool renumber(struct linear *linear, struct fold *fold, const int order[], int place[])
{
    const int rows = linear->row_count;
    place[linear->link_count] = linear->link_count; /* the spare slot */
    for (int k = 0; k < fold->count; k++) {
        struct fold_row *row = &fold->row[k];
        row->a = row->a < rows ? order[row->a] : rows;
        row->b = row->b < rows ? order[row->b] : rows;
        row->to_a = place[row->to_a];
        row->to_b = place[row->to_b];
        row->between = place[row->between];
    }
    linear->slot = malloc(((size_t)fold->pair_count + 1) * sizeof *linear->slot);
    if (!linear->slot) {
        return false;
    }
    for (int i = 0; i < fold->pair_count; i++) {
        linear->slot[i] = place[fold->pair[i].slot];
    }
    linear->fold = fold->row;
    fold->row = NULL;
    return true;
}

/* The order of links, and all that was planned brought to it. */
static bool number_links(struct linear *linear, struct fold *fold, const int from[], const int to[],
                         const int order[], int link_order[])
{
    int *start = malloc(((size_t)linear->row_count + 2) * sizeof *start);
    int *place = calloc((size_t)linear->link_count + 1, sizeof *place);
    bool is_done = start && place;
    if (is_done) {
        sort_links(linear, from, to, order, link_order, start);
        for (int k = 0; k < linear->link_count; k++) {
            place[link_order[k]] = k;
        }
        is_done = make_extras(linear, fold, from, to, order, place) &&
                  renumber(linear, fold, order, place);
    }
    free(start);
    free(place);
    return is_done;
}

/* False: failure tells. */
static bool analyse(struct linear *linear, const int from[], const int to[], int order[],
                    int link_order[], struct failure *failure)
{
    struct fold fold;
    if (!fold_plan(&fold, linear->row_count, linear->link_count, from, to)) {
        return fail_memory(failure, "the steady solver's matrix");
    }
    linear->fold_count = fold.count;
    bool is_done = number_rows(linear, &fold, order, failure);
    if (is_done && !number_links(linear, &fold, from, to, order, link_order)) {
        is_done = fail_memory(failure, "the steady solver's matrix");
    }
    fold_free(&fold);
    return is_done;
}

struct linear *linear_new(int row_count, int link_count, const int from[link_count],
                          const int to[link_count], int order[row_count],
                          int link_order[link_count], struct failure *failure)
{
    struct linear *linear = calloc(1, sizeof *linear);
    if (!linear) {
        (void)fail_memory(failure, "the steady solver");
        return NULL;
    }
    linear->row_count = row_count;
    linear->link_count = link_count;
    linear->between = calloc((size_t)link_count + 1, sizeof *linear->between);
    linear->to_held = calloc((size_t)row_count + 1, sizeof *linear->to_held);
    linear->y = calloc((size_t)row_count + 1, sizeof *linear->y);
    bool is_done = linear->between && linear->to_held && linear->y;
    if (!is_done) {
        (void)fail_memory(failure, "the steady solver's matrix");
    }
    if (!is_done || !analyse(linear, from, to, order, link_order, failure)) {
        linear_free(linear);
        return NULL;
    }
    return linear;
}

void linear_free(struct linear *linear)
{
    if (!linear) {
        return;
    }
    factors_free(linear->factors);
    free(linear->fold);
    free(linear->slot);
    free(linear->held);
    free(linear->twin);
    free(linear->between);
    free(linear->to_held);
    free(linear->y);
    free(linear);
}

/* Pinned rows are joined to a held head as firmly as any link joins two. */
static void pin_rows(struct linear *linear, int pin_count, const int pin[])
{
    const double *conductance = linear->between;
    double firm = 0.0;
    for (int e = 0; e < linear->link_count && pin_count > 0; e++) {
        firm = conductance[e] > firm ? conductance[e] : firm;
    }
    for (int i = 0; i < pin_count; i++) {
        linear->to_held[pin[i]] += firm > 0.0 ? firm : 1.0;
    }
}

double *linear_conductances(struct linear *linear)
{
    return linear->between;
}

bool linear_factor(struct linear *linear, int pin_count, const int pin[], struct failure *failure)
{
    double *between = linear->between;
    between[linear->link_count] = 0.0; /* the spare slot */
    memset(linear->to_held, 0, ((size_t)linear->row_count + 1) * sizeof *linear->to_held);
    for (int i = 0; i < linear->held_count; i++) {
        linear->to_held[linear->held[i].to] += between[linear->held[i].link];
    }
    pin_rows(linear, pin_count, pin);
    for (int i = 0; i < linear->twin_count; i++) {
        between[linear->twin[i].to] += between[linear->twin[i].link];
    }
    fold_factor(linear->fold_count, linear->fold, between, linear->to_held);
    return !linear->factors || factors_make(linear->factors, linear->slot, between,
                                            linear->to_held + linear->fold_count, failure);
}

bool linear_solve(struct linear *linear, const double right[], double solution[],
                  struct failure *failure)
{
    const size_t bytes = (size_t)linear->row_count * sizeof *right;
    memcpy(linear->y, right, bytes);
    linear->y[linear->row_count] = 0.0;
    fold_forward(linear->fold_count, linear->fold, linear->y);
    if (linear->factors &&
        !factors_solve(linear->factors, linear->y + linear->fold_count, failure)) {
        return false;
    }
    fold_backward(linear->fold_count, linear->fold, linear->y);
    memcpy(solution, linear->y, bytes);
    return true;
}
