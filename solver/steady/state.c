#include "solver/steady/state.h"

#include <string.h>

/* Arrays of each kind. */
enum { ROW_DOUBLES = 6, ROW_NUMBERS = 2, ZONE_NUMBERS = 6, LINK_DOUBLES = 9, LINK_NUMBERS = 3 };

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
    double **const doubles[LINK_DOUBLES] = {&state->flow,  &state->last_flow,  &state->drop,
                                            &state->slope, &state->excess,     &state->target,
                                            &state->trial, &state->usual_flow, &state->conductance};
    int **const numbers[LINK_NUMBERS] = {&state->link, &state->from, &state->to};
    if (!take_doubles(arena, LINK_DOUBLES, doubles, links)) {
        return false;
    }
    state->digest = arena_take(arena, links, sizeof *state->digest);
    if (!state->digest || !take_numbers(arena, LINK_NUMBERS, numbers, links)) {
        return false;
    }
    state->is_open = arena_take(arena, links, sizeof *state->is_open);
    return state->is_open != NULL;
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

/* Rows in the network's order, held ones last, and its links in its order. `kept` [link_count] gets
 * the number in the network of each. */
static void number_rows(struct state *state, const struct network *network,
                        const struct forest *forest, int kept[])
{
    int free_row = 0;
    int held_row = state->row_count;
    int count = 0;
    for (int i = 0; forest && i < forest->count; i++) {
        state->row[forest->branch[i].tip] = NETWORK_NONE;
        state->place[forest->branch[i].link] = NETWORK_NONE;
    }
    for (int i = 0; i < network->point_count; i++) {
        if (state->row[i] != NETWORK_NONE) {
            state->row[i] = network->points[i].is_held ? held_row++ : free_row++;
        }
    }
    for (int e = 0; e < network->link_count; e++) {
        if (state->place[e] != NETWORK_NONE) {
            state->from[count] = state->row[network->links[e].from];
            state->to[count] = state->row[network->links[e].to];
            kept[count++] = e;
        }
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

/* Takes over the numbering that suits the factors; that of the links stands in `link`. */
static void renumber_rows(struct state *state, const struct network *network, const int order[],
                          const int kept[], const int ends[])
{
    const int links = state->link_count;
    for (int i = 0; i < network->point_count; i++) {
        if (state->row[i] != NETWORK_NONE && state->row[i] < state->row_count) {
            state->row[i] = order[state->row[i]];
        }
    }
    for (int e = 0; e < links; e++) {
        state->link[e] = kept[state->link[e]];
        state->place[state->link[e]] = e;
    }
    for (int k = 0; k < links; k++) { /* writing to and fro is quicker than reading */
        const int e = state->place[kept[k]];
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
    const size_t filled = arena_need((size_t)network->point_count, sizeof *state->row) +
                          arena_need((size_t)network->link_count, sizeof *state->place) +
                          ROW_DOUBLES * arena_need(rows, sizeof *state->head) +
                          ROW_NUMBERS * arena_need(rows + 1, sizeof *state->part) +
                          LINK_DOUBLES * arena_need(links, sizeof *state->flow) +
                          LINK_NUMBERS * arena_need(links, sizeof *state->link) +
                          arena_need(links, sizeof *state->digest) +
                          arena_need(links, sizeof *state->is_open) +
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
    return state->row && state->place && take_rows(state, arena) && take_links(state, arena);
}

/* What the laws and the steps fill before they read it: not needed while the plan is made. */
static void lend_links(const struct state *state, struct planning *planning)
{
    const size_t links = (size_t)state->link_count;
    double *const lent[] = {state->flow,  state->last_flow,  state->drop,
                            state->slope, state->excess,     state->target,
                            state->trial, state->usual_flow, state->conductance};
    for (size_t i = 0; i < sizeof lent / sizeof *lent; i++) {
        planning_lend(planning, lent[i], links, sizeof **lent);
    }
    planning_lend(planning, state->digest, links, sizeof *state->digest);
}

/* The linear systems, and the numbers of rows and links that suit them, in the room that `planning`
 * has. */
static bool plan_linear(struct state *state, struct planning *planning,
                        const struct network *network, const struct forest *forest,
                        struct failure *failure)
{
    int *order = planning_take(planning, (size_t)state->row_count, sizeof *order);
    int *kept = planning_take(planning, (size_t)state->link_count, sizeof *kept);
    if (!order || !kept) {
        return fail_memory(failure, "the steady solver");
    }
    number_rows(state, network, forest, kept);
    state->linear = linear_new(planning, state->row_count, state->link_count, state->from,
                               state->to, order, state->link, failure);
    if (!state->linear) {
        return false;
    }
    const int *ends = copy_ends(state, planning);
    if (!ends) {
        return fail_memory(failure, "the steady solver");
    }
    renumber_rows(state, network, order, kept, ends);
    return true;
}

static bool plan_all(struct state *state, const struct network *network,
                     const struct forest *forest, struct failure *failure)
{
    struct planning planning;
    planning_init(&planning, state->arena);
    lend_links(state, &planning);
    const struct planning_mark mark = planning_mark(&planning);
    const bool is_done = plan_linear(state, &planning, network, forest, failure);
    planning_give(&planning, mark);
    return is_done &&
           (take_sparse(state, state->arena) || fail_memory(failure, "the steady solver"));
}

struct state *state_new(const struct network *network, const struct forest *forest,
                        struct failure *failure)
{
    struct arena *arena = arena_new();
    struct state *state = arena ? arena_take(arena, 1, sizeof *state) : NULL;
    if (!state) {
        arena_free(arena);
        (void)fail_memory(failure, "the steady solver");
        return NULL;
    }
    const int out = forest ? forest->count : 0; /* each branch is a point and a link */
    state->arena = arena;
    state->point_count = network->point_count - out;
    state->link_count = network->link_count - out;
    state->row_count = -out; /* no point of the forest is held */
    for (int i = 0; i < network->point_count; i++) {
        state->row_count += network->points[i].is_held ? 0 : 1;
    }
    if (!take_filled(state, network)) {
        (void)fail_memory(failure, "the steady solver");
        state_free(state);
        return NULL;
    }
    if (!plan_all(state, network, forest, failure)) {
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
