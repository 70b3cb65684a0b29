#include "solver/steady/state.h"

#include <stdlib.h>

static bool take_rows(struct state *state, struct arena *arena)
{
    const size_t rows = (size_t)state->point_count + 1;
    double **const by_row[] = {&state->head,      &state->shift, &state->direction,
                               &state->imbalance, &state->noise, &state->draw};
    for (size_t i = 0; i < sizeof by_row / sizeof *by_row; i++) {
        *by_row[i] = arena_take(arena, rows, sizeof(double));
        if (!*by_row[i]) {
            return false;
        }
    }
    int **const numbers[] = {&state->parent,     &state->part, &state->part_start, &state->part_row,
                             &state->edge_start, &state->ring, &state->root,       &state->pin};
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        *numbers[i] = arena_take(arena, rows + 1, sizeof **numbers[i]);
        if (!*numbers[i]) {
            return false;
        }
    }
    return true;
}

static bool take_links(struct state *state, struct arena *arena)
{
    const size_t links = (size_t)state->link_count;
    double **const by_link[] = {&state->flow,      &state->last_flow,   &state->drop,
                                &state->slope,     &state->conductance, &state->excess,
                                &state->free_flow, &state->target,      &state->active,
                                &state->trial,     &state->ray_flow,    &state->ray_rate,
                                &state->ray_drop,  &state->usual_flow};
    for (size_t i = 0; i < sizeof by_link / sizeof *by_link; i++) {
        *by_link[i] = arena_take(arena, links, sizeof(double));
        if (!*by_link[i]) {
            return false;
        }
    }
    state->link = arena_take(arena, links, sizeof *state->link);
    state->place = arena_take(arena, links, sizeof *state->place);
    state->law = arena_take(arena, links, sizeof *state->law);
    state->digest = arena_take(arena, links, sizeof *state->digest);
    state->other = arena_take(arena, links, sizeof *state->other);
    state->from = arena_take(arena, links, sizeof *state->from);
    state->to = arena_take(arena, links, sizeof *state->to);
    state->span = arena_take(arena, links, sizeof *state->span);
    state->ray_span = arena_take(arena, links, sizeof *state->ray_span);
    state->edge = arena_take(arena, 2 * links, sizeof *state->edge);
    state->limited = arena_take(arena, links, sizeof *state->limited);
    state->was_open = arena_take(arena, links, sizeof *state->was_open);
    return state->link && state->place && state->law && state->edge && state->digest &&
           state->other && state->from && state->to && state->span && state->ray_span &&
           state->limited && state->was_open;
}

static void number_rows(struct state *state, const struct network *network)
{
    int free_row = 0;
    int held_row = state->row_count;
    for (int i = 0; i < network->point_count; i++) {
        state->row[i] = network->points[i].is_held ? held_row++ : free_row++;
    }
    for (int e = 0; e < network->link_count; e++) {
        state->from[e] = state->row[network->links[e].from];
        state->to[e] = state->row[network->links[e].to];
    }
}

/* Takes over the numbering that suits the factors; that of the links stands in `link`. */
static void renumber_rows(struct state *state, const struct network *network, const int order[])
{
    for (int i = 0; i < state->point_count; i++) {
        if (state->row[i] < state->row_count) {
            state->row[i] = order[state->row[i]];
        }
    }
    for (int e = 0; e < state->link_count; e++) {
        state->place[state->link[e]] = e;
    }
    for (int i = 0; i < state->link_count; i++) { /* writing to and fro is quicker than reading */
        const struct link *link = &network->links[i];
        state->from[state->place[i]] = state->row[link->from];
        state->to[state->place[i]] = state->row[link->to];
    }
}

struct state *state_new(const struct network *network, struct failure *failure)
{
    struct arena *arena = arena_new();
    struct state *state = arena ? arena_take(arena, 1, sizeof *state) : NULL;
    if (!state) {
        arena_free(arena);
        (void)fail_memory(failure, "the steady solver");
        return NULL;
    }
    state->arena = arena;
    state->point_count = network->point_count;
    state->link_count = network->link_count;
    for (int i = 0; i < network->point_count; i++) {
        state->row_count += network->points[i].is_held ? 0 : 1;
    }
    state->row = arena_take(arena, (size_t)state->point_count, sizeof *state->row);
    if (!state->row || !take_rows(state, arena) || !take_links(state, arena)) {
        (void)fail_memory(failure, "the steady solver");
        state_free(state);
        return NULL;
    }
    number_rows(state, network);
    int *order = state->pin; /* not needed before the first step */
    state->linear = linear_new(state->row_count, state->link_count, state->from, state->to, order,
                               state->link, failure);
    if (!state->linear) {
        state_free(state);
        return NULL;
    }
    renumber_rows(state, network, order);
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
