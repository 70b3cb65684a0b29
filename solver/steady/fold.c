#include "solver/steady/fold.h"

#include <float.h>
#include <string.h>

struct neighbour {
    int row;
    int slot;
    int mate; /* place in the list at which `row` has this row for a neighbour */
};

/* What is known of the rows while the plan is made. */
struct shape {
    int *start;             /* [row_count + 1 of row_count + 2] of each row in `list` */
    int *degree;            /* [row_count] neighbours it has now; less than none: taken out */
    struct neighbour *list; /* [2 link_count] */
    int *first;             /* [link_count] where a slot stands first in `list` */
    int *waiting;           /* rows to look at next, a stack */
    int waiting_count;
};

static bool take_shape(struct shape *shape, struct planning *planning, const struct fold *fold)
{
    const size_t rows = (size_t)fold->row_count;
    const size_t links = (size_t)fold->link_count;
    shape->start = planning_take(planning, rows + 2, sizeof *shape->start);
    shape->degree = planning_take(planning, rows + 1, sizeof *shape->degree);
    shape->list = planning_take(planning, 2 * links + 1, sizeof *shape->list);
    /* each row loses two links */
    shape->waiting = planning_take(planning, 2 * rows + 1, sizeof *shape->waiting);
    shape->first = planning_take(planning, links + 1, sizeof *shape->first);
    return shape->start && shape->degree && shape->list && shape->waiting && shape->first;
}

/* The neighbours of each row, one entry for each link between two rows that are not held. */
static void list_neighbours(struct shape *shape, const struct fold *fold, const int from[],
                            const int to[])
{
    const int rows = fold->row_count;
    int *start = shape->start;
    memset(start, 0, ((size_t)rows + 2) * sizeof *start);
    for (int e = 0; e < fold->link_count; e++) {
        if (from[e] < rows && to[e] < rows) {
            start[from[e] + 2]++;
            start[to[e] + 2]++;
        }
    }
    for (int row = 0; row < rows; row++) {
        start[row + 2] += start[row + 1];
    }
    for (int e = 0; e < fold->link_count; e++) {
        if (from[e] < rows && to[e] < rows) {
            shape->list[start[from[e] + 1]++] = (struct neighbour){to[e], e, 0};
            shape->list[start[to[e] + 1]++] = (struct neighbour){from[e], e, 0};
        }
    }
}

/* Links that join the same two rows share the slot of the first. `seen` [row_count] is filled. */
static void merge_twins(struct shape *shape, struct fold *fold, int seen[])
{
    for (int row = 0; row < fold->row_count; row++) {
        seen[row] = -1;
    }
    for (int row = 0; row < fold->row_count; row++) {
        const int first = shape->start[row];
        int end = first;
        for (int i = first; i < shape->start[row + 1]; i++) {
            const struct neighbour next = shape->list[i];
            if (seen[next.row] >= first) { /* a place in this row's list */
                fold->slot[next.slot] = shape->list[seen[next.row]].slot;
                continue;
            }
            seen[next.row] = end;
            shape->list[end++] = next;
        }
        shape->degree[row] = end - first;
    }
}

/* Tells each neighbour where its mate is, so that a row of very many is not searched for each of
 * them. */
static void find_mates(struct shape *shape, const struct fold *fold)
{
    int *first = shape->first;
    for (int e = 0; e < fold->link_count; e++) {
        first[e] = -1;
    }
    for (int row = 0; row < fold->row_count; row++) {
        for (int i = shape->start[row]; i < shape->start[row] + shape->degree[row]; i++) {
            struct neighbour *here = &shape->list[i];
            here->mate = first[here->slot];
            if (here->mate >= 0) {
                shape->list[here->mate].mate = i;
            }
            first[here->slot] = i;
        }
    }
}

/* What joins two rows, or NULL; looked for where there are fewer neighbours. */
static const struct neighbour *find(const struct shape *shape, int row, int other)
{
    const bool is_other = shape->degree[other] < shape->degree[row];
    const int here = is_other ? other : row;
    const int there = is_other ? row : other;
    const struct neighbour *list = shape->list + shape->start[here];
    for (int i = 0; i < shape->degree[here]; i++) {
        if (list[i].row == there) {
            return &list[i];
        }
    }
    return NULL;
}

/* Takes the mate of a neighbour that goes from the neighbours of that one's row. */
static void forget(struct shape *shape, const struct neighbour *of)
{
    const int row = of->row;
    struct neighbour *gone = &shape->list[of->mate];
    *gone = shape->list[shape->start[row] + --shape->degree[row]];
    shape->list[gone->mate].mate = of->mate;
    if (shape->degree[row] <= 2) {
        shape->waiting[shape->waiting_count++] = row;
    }
}

/* Takes out a row of at most two neighbours; these become neighbours of each other. */
static void take_out(struct shape *shape, struct fold *fold, int row)
{
    const struct neighbour none = {fold->row_count, fold->link_count, -1};
    const struct neighbour *list = shape->list + shape->start[row];
    const struct neighbour a = shape->degree[row] > 0 ? list[0] : none;
    const struct neighbour b = shape->degree[row] > 1 ? list[1] : none;
    struct fold_out *out = &fold->out[fold->count++];
    *out = (struct fold_out){row, a.row, b.row, {a.slot, b.slot, fold->link_count}};
    const int degree = shape->degree[row];
    shape->degree[row] = -1;
    if (degree == 1) {
        forget(shape, &a);
    } else if (degree == 2) {
        const struct neighbour *known = find(shape, a.row, b.row);
        out->slots.between = known ? known->slot : a.slot;
        if (known) {
            forget(shape, &a);
            forget(shape, &b);
        } else {
            shape->list[a.mate] = (struct neighbour){b.row, a.slot, b.mate};
            shape->list[b.mate] = (struct neighbour){a.row, a.slot, a.mate};
        }
    }
}

static void take_out_all(struct shape *shape, struct fold *fold)
{
    for (int row = 0; row < fold->row_count; row++) {
        int next = row;
        for (;;) {
            if (shape->degree[next] >= 0 && shape->degree[next] <= 2) {
                take_out(shape, fold, next);
            }
            if (shape->waiting_count == 0) {
                break;
            }
            next = shape->waiting[--shape->waiting_count];
        }
    }
}

/* The pairs that stay: no more than there are links. */
static void list_pairs(const struct shape *shape, struct fold *fold)
{
    for (int row = 0; row < fold->row_count; row++) {
        const struct neighbour *list = shape->list + shape->start[row];
        for (int i = 0; i < shape->degree[row]; i++) {
            if (list[i].row > row) {
                fold->pair[fold->pair_count++] = (struct fold_pair){row, list[i].row, list[i].slot};
            }
        }
    }
}

bool fold_plan(struct fold *fold, struct planning *planning, int row_count, int link_count,
               const int from[link_count], const int to[link_count])
{
    const size_t links = (size_t)link_count;
    *fold = (struct fold){.row_count = row_count, .link_count = link_count};
    fold->out = planning_take(planning, (size_t)row_count, sizeof *fold->out);
    fold->slot = planning_take(planning, links, sizeof *fold->slot);
    fold->pair = planning_take(planning, links, sizeof *fold->pair);
    const struct planning_mark mark = planning_mark(planning);
    struct shape shape = {.waiting_count = 0};
    const bool is_done =
        fold->out && fold->slot && fold->pair && take_shape(&shape, planning, fold);
    if (is_done) {
        for (int e = 0; e < link_count; e++) {
            fold->slot[e] = e;
        }
        list_neighbours(&shape, fold, from, to);
        merge_twins(&shape, fold, shape.waiting); /* nothing waits yet */
        find_mates(&shape, fold);
        take_out_all(&shape, fold);
        list_pairs(&shape, fold);
    }
    planning_give(planning, mark);
    return is_done;
}

/* `source` into `sorted` by rising `a` or `b`, equal ones as they were. `start` [rows + 2]. */
static void sort_by(bool by_a, int rows, int count, const struct fold_pair source[],
                    struct fold_pair sorted[], int start[])
{
    memset(start, 0, ((size_t)rows + 2) * sizeof *start);
    for (int i = 0; i < count; i++) {
        start[(by_a ? source[i].a : source[i].b) + 1]++;
    }
    for (int row = 0; row < rows; row++) {
        start[row + 1] += start[row];
    }
    for (int i = 0; i < count; i++) {
        sorted[start[by_a ? source[i].a : source[i].b]++] = source[i];
    }
}

bool fold_sort_pairs(struct planning *planning, int row_count, int pair_count,
                     struct fold_pair pair[pair_count])
{
    const struct planning_mark mark = planning_mark(planning);
    int *start = planning_take(planning, (size_t)row_count + 2, sizeof *start);
    struct fold_pair *by_later = planning_take(planning, (size_t)pair_count, sizeof *by_later);
    const bool is_done = start && by_later;
    if (is_done) {
        for (int i = 0; i < pair_count; i++) {
            const struct fold_pair old = pair[i];
            pair[i].a = old.a < old.b ? old.a : old.b;
            pair[i].b = old.a < old.b ? old.b : old.a;
        }
        sort_by(false, row_count, pair_count, pair, by_later, start);
        sort_by(true, row_count, pair_count, by_later, pair, start);
    }
    planning_give(planning, mark);
    return is_done;
}

void fold_factor(int count, const struct fold_slots slots[count], struct fold_row row[count],
                 double slot[], double held[])
{
    for (int k = 0; k < count; k++) {
        const struct fold_slots at = slots[k];
        struct fold_row *out = &row[k];
        const double a = slot[at.to_a];
        const double b = slot[at.to_b];
        const double to_held = held[k];
        const double sum = a + b + to_held;
        /* joined to nothing that is open (or by so little that 1/d has no number): what flows to it
         * has nowhere to go, its head is as good as any */
        const double inverse = sum >= DBL_MIN ? 1.0 / sum : 0.0;
        out->inverse = inverse;
        out->share_a = a * inverse;
        out->share_b = b * inverse;
        held[out->a] += out->share_a * to_held;
        held[out->b] += out->share_b * to_held;
        /* where both were strangers the slot of `a` becomes that between them */
        const double known = at.between == at.to_a ? 0.0 : slot[at.between];
        slot[at.between] = known + out->share_a * b;
    }
}

void fold_forward(int count, const struct fold_row row[count], double y[])
{
    for (int k = 0; k < count; k++) {
        const double right = y[k];
        y[row[k].a] += row[k].share_a * right;
        y[row[k].b] += row[k].share_b * right;
    }
}

void fold_backward(int count, const struct fold_row row[count], double y[])
{
    for (int k = count - 1; k >= 0; k--) {
        y[k] = y[k] * row[k].inverse + row[k].share_a * y[row[k].a] + row[k].share_b * y[row[k].b];
    }
}
