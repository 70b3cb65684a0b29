#include "solver/steady/state.h"

#include <assert.h>
#include <string.h>

/* Arrays of each kind. */
enum { ROW_DOUBLES = 6, ROW_NUMBERS = 2, ZONE_NUMBERS = 6, LINK_DOUBLES = 8, LINK_NUMBERS = 2 };

static int member_count(const struct state *state)
{
    return state->link_count + state->extra_count;
}

static bool take_doubles(struct arena *arena, int arrays, double **const array[arrays],
                         size_t count)
{
    for (int i = 0; i < arrays; i++) {
        *array[i] = arena_take(arena, count, sizeof **array[i]);
        if (!*array[i]) {
            return false;
        }
    }
    return true;
}

static bool take_numbers(struct arena *arena, int arrays, int **const array[arrays], size_t count)
{
    for (int i = 0; i < arrays; i++) {
        *array[i] = arena_take(arena, count, sizeof **array[i]);
        if (!*array[i]) {
            return false;
        }
    }
    return true;
}

/* What is used of every point. */
static bool take_rows(struct state *state, struct arena *arena)
{
    const size_t rows = (size_t)state->point_count + 1;
    double **const doubles[ROW_DOUBLES] = {&state->head,      &state->shift, &state->direction,
                                           &state->imbalance, &state->noise, &state->draw};
    int **const numbers[ROW_NUMBERS] = {&state->parent, &state->part};
    return take_doubles(arena, ROW_DOUBLES, doubles, rows) &&
           take_numbers(arena, ROW_NUMBERS, numbers, rows + 1);
}

/* What is used of every link. */
static bool take_links(struct state *state, struct arena *arena)
{
    const size_t links = (size_t)state->link_count;
    const size_t members = (size_t)member_count(state);
    double **const doubles[LINK_DOUBLES] = {&state->flow,  &state->last_flow,  &state->drop,
                                            &state->slope, &state->excess,     &state->target,
                                            &state->trial, &state->conductance};
    int **const numbers[LINK_NUMBERS] = {&state->from, &state->to};
    if (!take_doubles(arena, LINK_DOUBLES, doubles, links)) {
        return false;
    }
    state->usual_flow = arena_take(arena, members, sizeof *state->usual_flow);
    state->digest = arena_take(arena, members, sizeof *state->digest);
    if (!state->usual_flow || !state->digest ||
        !take_numbers(arena, LINK_NUMBERS, numbers, links)) {
        return false;
    }
    state->is_open = arena_take(arena, links, sizeof *state->is_open);
    return state->is_open != NULL;
}

/* What the pipes of runs need. */
static bool take_members(struct state *state, struct arena *arena)
{
    const size_t extras = (size_t)state->extra_count;
    state->link = arena_take(arena, (size_t)member_count(state), sizeof *state->link);
    state->of = arena_take(arena, extras, sizeof *state->of);
    state->before = arena_take(arena, extras, sizeof *state->before);
    state->offset = arena_take(arena, extras, sizeof *state->offset);
    return state->link && state->of && state->before && state->offset;
}

/* What only zones and links with an end to their span need, of which there are mostly few. */
static bool take_sparse(struct state *state, struct arena *arena)
{
    const size_t rows = (size_t)state->point_count + 1;
    const size_t links = (size_t)state->link_count;
    int **const numbers[ZONE_NUMBERS] = {&state->part_start, &state->part_row, &state->edge_start,
                                         &state->ring,       &state->root,     &state->pin};
    if (!take_numbers(arena, ZONE_NUMBERS, numbers, rows + 1)) {
        return false;
    }
    state->edge = arena_take(arena, 2 * links, sizeof *state->edge);
    state->limited = arena_take(arena, links, sizeof *state->limited);
    state->other = arena_take(arena, links, sizeof *state->other);
    state->law = arena_take(arena, links, sizeof *state->law);
    state->span = arena_take(arena, links, sizeof *state->span);
    state->free_flow = arena_take(arena, links, sizeof *state->free_flow);
    state->ray_flow = arena_take(arena, links, sizeof *state->ray_flow);
    state->ray_rate = arena_take(arena, links, sizeof *state->ray_rate);
    state->ray_drop = arena_take(arena, links, sizeof *state->ray_drop);
    state->ray_span = arena_take(arena, links, sizeof *state->ray_span);
    return state->edge && state->limited && state->other && state->law && state->span &&
           state->free_flow && state->ray_flow && state->ray_rate && state->ray_drop &&
           state->ray_span;
}

/* Points and links that are not numbered: of the forest, and inside runs, of which the first pipe
 * stands for all. */
static void leave_out(struct state *state, const struct forest *forest, const struct series *series)
{
    for (int i = 0; forest && i < forest->count; i++) {
        state->row[forest->branch[i].tip] = NETWORK_NONE;
        state->place[forest->branch[i].link] = NETWORK_NONE;
    }
    for (int run = 0; series && run < series->count; run++) {
        for (int i = series->start[run]; i < series->start[run + 1] - 1; i++) {
            state->row[series->pipe[i].ahead] = NETWORK_NONE;
            state->place[series_link(series, i + 1)] = NETWORK_NONE;
        }
    }
}

/* Rows in the network's order, held ones last, and its links in its order. `kept` [link_count] gets
 * the number in the network of each, or ~number of the run that it is. */
static void number_rows(struct state *state, const struct network *network,
                        const struct forest *forest, const struct series *series, int kept[])
{
    int free_row = 0;
    int held_row = state->row_count;
    int count = 0;
    leave_out(state, forest, series);
    for (int i = 0; i < network->point_count; i++) {
        if (state->row[i] != NETWORK_NONE) {
            state->row[i] = network->points[i].is_held ? held_row++ : free_row++;
        }
    }
    /* What is written of a link that is not kept the next one writes over: a choice would be one
     * that nobody could foresee. */
    for (int e = 0; count < state->link_count; e++) {
        const bool is_kept = state->place[e] != NETWORK_NONE;
        state->from[count] = state->row[network->links[e].from];
        state->to[count] = state->row[network->links[e].to];
        kept[count] = e;
        state->place[e] = is_kept ? count : NETWORK_NONE;
        count += is_kept ? 1 : 0;
    }
    for (int run = 0; series && run < series->count; run++) {
        const struct series_pipe *first = &series->pipe[series->start[run]];
        const int k = state->place[series_link(series, series->start[run])];
        kept[k] = ~run;
        if (first->link < 0) { /* it points against the run, which begins where it ends */
            state->from[k] = state->to[k];
        }
        state->to[k] = state->row[series->pipe[series->start[run + 1] - 1].ahead];
    }
}

/* The ends of the links by the rows' old numbers; NULL when memory ended. */
static int *copy_ends(const struct state *state, struct planning *planning)
{
    const size_t links = (size_t)state->link_count;
    int *ends = planning_take(planning, 2 * links, sizeof *ends);
    if (ends) {
        memcpy(ends, state->from, links * sizeof *ends);
        memcpy(ends + links, state->to, links * sizeof *ends);
    }
    return ends;
}

/* The link of the network that is the k-th kept one, or its first pipe; ~link where that points
 * against its run. */
static int first_link(const struct series *series, int kept)
{
    assert(kept >= 0 || series);
    return kept >= 0 ? kept : series->pipe[series->start[~kept]].link;
}

static int without_way(int link)
{
    return link >= 0 ? link : ~link;
}

/* The other pipes of a run that has become the link `e`; the first becomes the given extra one.
 * Returns what the next one would become. */
static int list_extras(struct state *state, const struct series *series, int run, int e, int extra)
{
    for (int i = series->start[run] + 1; i < series->start[run + 1]; i++) {
        const int place = state->link_count + extra;
        state->of[extra] = e;
        state->before[extra++] = series->pipe[i - 1].ahead;
        state->link[place] = series->pipe[i].link;
        state->place[without_way(state->link[place])] = place;
    }
    return extra;
}

/* The links in their new order, of which `old` [link_count] tells the old numbers, and the other
 * pipes of the runs behind them. */
static void list_members(struct state *state, const struct series *series, const int kept[],
                         const int old[])
{
    int extra = 0;
    for (int e = 0; e < state->link_count; e++) {
        const int k = kept[old[e]];
        state->link[e] = first_link(series, k);
        state->place[without_way(state->link[e])] = e;
        if (k < 0) {
            extra = list_extras(state, series, ~k, e, extra);
        }
    }
}

/* Takes over the numbering of rows that suits the factors; that of the links is known. */
static void renumber_rows(struct state *state, const struct network *network,
                          const struct series *series, const int order[], const int kept[],
                          const int ends[])
{
    const int links = state->link_count;
    for (int i = 0; i < network->point_count; i++) {
        if (state->row[i] != NETWORK_NONE && state->row[i] < state->row_count) {
            state->row[i] = order[state->row[i]];
        }
    }
    for (int k = 0; k < links; k++) { /* writing to and fro is quicker than reading */
        const int e = state->place[without_way(first_link(series, kept[k]))];
        const int from = ends[k];
        const int to = ends[links + k];
        state->from[e] = from < state->row_count ? order[from] : from;
        state->to[e] = to < state->row_count ? order[to] : to;
    }
}

/* Makes all arrays lie together, first what is used of every point and link. */
static void expect_all(const struct state *state, const struct network *network)
{
    const size_t rows = (size_t)state->point_count + 1;
    const size_t links = (size_t)state->link_count;
    const size_t extras = (size_t)state->extra_count;
    const size_t members = links + extras;
    const size_t filled =
        arena_need((size_t)network->point_count, sizeof *state->row) +
        arena_need((size_t)network->link_count, sizeof *state->place) +
        ROW_DOUBLES * arena_need(rows, sizeof *state->head) +
        ROW_NUMBERS * arena_need(rows + 1, sizeof *state->part) +
        LINK_DOUBLES * arena_need(links, sizeof *state->flow) +
        LINK_NUMBERS * arena_need(links, sizeof *state->from) +
        arena_need(members, sizeof *state->link) + arena_need(members, sizeof *state->digest) +
        arena_need(members, sizeof *state->usual_flow) + arena_need(links, sizeof *state->is_open) +
        2 * arena_need(extras, sizeof *state->of) + arena_need(extras, sizeof *state->offset) +
        linear_need(state->row_count, state->link_count);
    const size_t sparse =
        ZONE_NUMBERS * arena_need(rows + 1, sizeof *state->root) +
        arena_need(2 * links, sizeof *state->edge) + 2 * arena_need(links, sizeof *state->limited) +
        arena_need(links, sizeof *state->law) + 4 * arena_need(links, sizeof *state->ray_flow) +
        2 * arena_need(links, sizeof *state->ray_span);
    arena_expect(state->arena, filled, sparse);
    arena_fill(state->arena, filled);
}

static bool take_filled(struct state *state, const struct network *network)
{
    struct arena *arena = state->arena;
    expect_all(state, network);
    state->row = arena_take(arena, (size_t)network->point_count, sizeof *state->row);
    state->place = arena_take(arena, (size_t)network->link_count, sizeof *state->place);
    return state->row && state->place && take_rows(state, arena) && take_links(state, arena) &&
           take_members(state, arena);
}

/* What the laws and the steps fill before they read it: not needed while the plan is made. */
static void lend_links(const struct state *state, struct planning *planning)
{
    const size_t links = (size_t)state->link_count;
    const size_t members = (size_t)member_count(state);
    double *const lent[] = {state->flow,   state->last_flow, state->drop,  state->slope,
                            state->excess, state->target,    state->trial, state->conductance};
    for (size_t i = 0; i < sizeof lent / sizeof *lent; i++) {
        planning_lend(planning, lent[i], links, sizeof **lent);
    }
    planning_lend(planning, state->usual_flow, members, sizeof *state->usual_flow);
    planning_lend(planning, state->digest, members, sizeof *state->digest);
}

/* The linear systems, and the numbers of rows and links that suit them, in the room that `planning`
 * has. */
static bool plan_linear(struct state *state, struct planning *planning,
                        const struct network *network, const struct forest *forest,
                        const struct series *series, struct failure *failure)
{
    int *order = planning_take(planning, (size_t)state->row_count, sizeof *order);
    int *kept = planning_take(planning, (size_t)state->link_count, sizeof *kept);
    int *old = planning_take(planning, (size_t)state->link_count, sizeof *old);
    if (!order || !kept || !old) {
        return fail_memory(failure, "the steady solver");
    }
    number_rows(state, network, forest, series, kept);
    state->linear = linear_new(planning, state->row_count, state->link_count, state->from,
                               state->to, order, old, failure);
    if (!state->linear) {
        return false;
    }
    const int *ends = copy_ends(state, planning);
    if (!ends) {
        return fail_memory(failure, "the steady solver");
    }
    list_members(state, series, kept, old);
    renumber_rows(state, network, series, order, kept, ends);
    return true;
}

static bool plan_all(struct state *state, const struct network *network,
                     const struct forest *forest, const struct series *series,
                     struct failure *failure)
{
    struct planning planning;
    planning_init(&planning, state->arena);
    lend_links(state, &planning);
    const struct planning_mark mark = planning_mark(&planning);
    const bool is_done = plan_linear(state, &planning, network, forest, series, failure);
    planning_give(&planning, mark);
    return is_done &&
           (take_sparse(state, state->arena) || fail_memory(failure, "the steady solver"));
}

struct state *state_new(const struct network *network, const struct forest *forest,
                        const struct series *series, struct failure *failure)
{
    struct arena *arena = arena_new();
    struct state *state = arena ? arena_take(arena, 1, sizeof *state) : NULL;
    if (!state) {
        arena_free(arena);
        (void)fail_memory(failure, "the steady solver");
        return NULL;
    }
    /* each branch is a point and a link, and so is each pipe of a run but the first */
    const int branches = forest ? forest->count : 0;
    const int extras =
        series && series->count > 0 ? series->start[series->count] - series->count : 0;
    const int out = branches + extras;
    state->arena = arena;
    state->point_count = network->point_count - out;
    state->link_count = network->link_count - out;
    state->extra_count = extras;
    state->row_count = -out; /* none of these points is held */
    for (int i = 0; i < network->point_count; i++) {
        state->row_count += network->points[i].is_held ? 0 : 1;
    }
    if (!take_filled(state, network)) {
        (void)fail_memory(failure, "the steady solver");
        state_free(state);
        return NULL;
    }
    if (!plan_all(state, network, forest, series, failure)) {
        state_free(state);
        return NULL;
    }
    return state;
}

void state_free(struct state *state)
{
    if (!state) {
        return;
    }
    linear_free(state->linear);
    arena_free(state->arena); /* the state itself lives there */
}
