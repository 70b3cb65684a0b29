#include "solver/steady/linear.h"

#include "solver/steady/factors.h"

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
    struct fold_slots *at;   /* [fold_count] where their conductances stand */
    struct factors *factors; /* of the rows from fold_count on; NULL: there are none */
    int *slot;               /* of the pairs they are made of */
    int held_count;
    struct extra *held; /* [held_count] */
    int twin_count;
    struct extra *twin; /* [twin_count] */
    double *between;    /* [link_count + 1] m2/s by slot, which is the link's number */
    double *to_held;    /* [row_count + 1] m2/s */
};

/* Brings the folded rows into the order of the rows that stay: each before the first of them that
 * it leads to, and those of one in their old order, which is as good an elimination as theirs. So
 * what is joined lies together in memory. `order` is that of all rows until now. */
static bool follow_factors(const struct linear *linear, struct planning *planning,
                           const struct fold *fold, int order[])
{
    const int count = fold->count;
    const int rest = linear->row_count - count;
    const struct planning_mark mark = planning_mark(planning);
    int *leads_to = planning_take(planning, (size_t)count, sizeof *leads_to);
    int *start = planning_take(planning, (size_t)rest + 2, sizeof *start);
    const bool is_done = leads_to && start;
    for (int i = 0; i < rest + 2 && is_done; i++) {
        start[i] = 0;
    }
    for (int k = count - 1; k >= 0 && is_done; k--) {
        const struct fold_out out = fold->out[k];
        const int a = out.a < linear->row_count ? order[out.a] : linear->row_count;
        const int b = out.b < linear->row_count ? order[out.b] : linear->row_count;
        const int next = a < b ? a : b; /* eliminated first */
        leads_to[k] = next < count ? leads_to[next] : next - count;
        start[leads_to[k] + 1]++;
    }
    for (int i = 0; i <= rest && is_done; i++) {
        start[i + 1] += start[i];
    }
    for (int k = 0; k < count && is_done; k++) {
        order[fold->out[k].row] = start[leads_to[k]]++;
    }
    planning_give(planning, mark);
    return is_done;
}

/* Numbers the rows in the order of elimination. */
static bool number_rows(struct linear *linear, struct planning *planning, struct fold *fold,
                        int order[], struct failure *failure)
{
    const int rows = linear->row_count;
    const int rest = rows - fold->count;
    int *rest_order = planning_take(planning, (size_t)rest, sizeof *rest_order);
    if (!rest_order) {
        return fail_memory(failure, "the steady solver's matrix");
    }
    for (int row = 0; row < rows; row++) {
        order[row] = -1;
    }
    for (int k = 0; k < fold->count; k++) {
        order[fold->out[k].row] = k;
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
        linear->factors =
            factors_new(planning, rest, fold->pair_count, fold->pair, rest_order, failure);
        for (int row = 0; row < rows && linear->factors; row++) {
            if (order[row] >= fold->count) {
                order[row] = fold->count + rest_order[order[row] - fold->count];
            }
        }
    }
    if (rest > 0 && !linear->factors) {
        return false;
    }
    return follow_factors(linear, planning, fold, order) ||
           fail_memory(failure, "the steady solver's matrix");
}

/* `link_order`: the links sorted by the end that is eliminated first. `start` [row_count + 2] is
 * filled. */
static void sort_links(const struct linear *linear, const int from[], const int to[],
                       const int order[], int link_order[], int start[])
{
    const int rows = linear->row_count;
    memset(start, 0, ((size_t)rows + 2) * sizeof *start);
    for (int pass = 0; pass < 2; pass++) {
        for (int e = 0; e < linear->link_count; e++) {
            const int a = from[e] < rows ? order[from[e]] : rows;
            const int b = to[e] < rows ? order[to[e]] : rows;
            const int key = a < b ? a : b; /* rows: both held */
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

/* Room for all that is kept; `held_count` and `twin_count` are known. */
static bool take_all(struct linear *linear, struct arena *arena, const struct fold *fold)
{
    const size_t links = (size_t)linear->link_count + 1;
    const size_t rows = (size_t)linear->row_count + 1;
    const size_t folded = (size_t)fold->count;
    const size_t pairs = (size_t)fold->pair_count;
    const size_t extras = (size_t)linear->held_count + (size_t)linear->twin_count;
    arena_expect(
        arena,
        arena_need(links, sizeof *linear->between) + arena_need(rows, sizeof *linear->to_held) +
            arena_need(folded, sizeof *linear->fold) + arena_need(folded, sizeof *linear->at) +
            arena_need(pairs, sizeof *linear->slot) + arena_need(extras, sizeof *linear->held),
        0);
    linear->between = arena_take(arena, links, sizeof *linear->between);
    linear->to_held = arena_take(arena, rows, sizeof *linear->to_held);
    linear->fold = arena_take(arena, folded, sizeof *linear->fold);
    linear->at = arena_take(arena, folded, sizeof *linear->at);
    linear->slot = arena_take(arena, pairs, sizeof *linear->slot);
    linear->held = arena_take(arena, extras, sizeof *linear->held);
    linear->twin = linear->held ? linear->held + linear->held_count : NULL;
    return linear->between && linear->to_held && linear->fold && linear->at && linear->slot &&
           linear->held;
}

/* Brings the plan of folding and the pairs' slots to the new numbers. */
static void renumber(struct linear *linear, const struct fold *fold, const int order[], int place[])
{
    const int rows = linear->row_count;
    place[linear->link_count] = linear->link_count; /* the spare slot */
    for (int k = 0; k < fold->count; k++) {
        const struct fold_out *out = &fold->out[k];
        const int row = order[out->row];
        linear->fold[row].a = out->a < rows ? order[out->a] : rows;
        linear->fold[row].b = out->b < rows ? order[out->b] : rows;
        linear->at[row] = (struct fold_slots){place[out->slots.to_a], place[out->slots.to_b],
                                              place[out->slots.between]};
    }
    for (int i = 0; i < fold->pair_count; i++) {
        linear->slot[i] = place[fold->pair[i].slot];
    }
}

/* The order of links, and all that was planned brought to it. */
static bool number_links(struct linear *linear, struct planning *planning, const struct fold *fold,
                         const int from[], const int to[], const int order[], int link_order[])
{
    int *start = planning_take(planning, (size_t)linear->row_count + 2, sizeof *start);
    int *place = planning_take(planning, (size_t)linear->link_count + 1, sizeof *place);
    bool is_done = start && place;
    if (is_done) {
        sort_links(linear, from, to, order, link_order, start);
        for (int k = 0; k < linear->link_count; k++) {
            place[link_order[k]] = k;
        }
        list_extras(linear, fold, from, to, order, place);
        is_done = take_all(linear, planning->kept, fold);
    }
    if (is_done) {
        list_extras(linear, fold, from, to, order, place);
        renumber(linear, fold, order, place);
    }
    return is_done;
}

/* False: failure tells. */
static bool analyse(struct linear *linear, struct planning *planning, const int from[],
                    const int to[], int order[], int link_order[], struct failure *failure)
{
    struct fold fold;
    if (!fold_plan(&fold, planning, linear->row_count, linear->link_count, from, to)) {
        return fail_memory(failure, "the steady solver's matrix");
    }
    linear->fold_count = fold.count;
    return number_rows(linear, planning, &fold, order, failure) &&
           (number_links(linear, planning, &fold, from, to, order, link_order) ||
            fail_memory(failure, "the steady solver's matrix"));
}

struct linear *linear_new(struct planning *planning, int row_count, int link_count,
                          const int from[link_count], const int to[link_count],
                          int order[row_count], int link_order[link_count], struct failure *failure)
{
    struct linear *linear = arena_take(planning->kept, 1, sizeof *linear);
    if (!linear) {
        (void)fail_memory(failure, "the steady solver");
        return NULL;
    }
    linear->row_count = row_count;
    linear->link_count = link_count;
    const struct planning_mark mark = planning_mark(planning);
    const bool is_done = analyse(linear, planning, from, to, order, link_order, failure);
    planning_give(planning, mark);
    if (!is_done) {
        linear_free(linear);
        return NULL;
    }
    return linear;
}

void linear_free(struct linear *linear)
{
    if (linear) {
        factors_free(linear->factors); /* all else lives in an arena */
    }
}

size_t linear_need(int row_count, int link_count)
{
    const size_t rows = (size_t)row_count + 1;
    const size_t links = (size_t)link_count + 1;
    /* each row as if it were folded, and what columns of the rows that are not add to that */
    enum { COLUMNS_MORE = 80 };
    return links * (sizeof(double) + sizeof(int)) +
           rows * (sizeof(double) + sizeof(struct fold_row) + sizeof(struct fold_slots) +
                   COLUMNS_MORE);
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
    fold_factor(linear->fold_count, linear->at, linear->fold, between, linear->to_held);
    return !linear->factors || factors_make(linear->factors, linear->slot, between,
                                            linear->to_held + linear->fold_count, failure);
}

double linear_operations(const struct linear *linear)
{
    return linear->factors ? factors_operations(linear->factors) : 0.0;
}

bool linear_solve(struct linear *linear, double y[], struct failure *failure)
{
    y[linear->row_count] = 0.0; /* not what a right side that was not finite has left there */
    fold_forward(linear->fold_count, linear->fold, y);
    if (linear->factors && !factors_solve(linear->factors, y + linear->fold_count, failure)) {
        return false;
    }
    fold_backward(linear->fold_count, linear->fold, y);
    return true;
}
