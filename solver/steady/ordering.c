#include "solver/steady/ordering.h"

#include <amd.h>
#include <limits.h>

enum {
    FEW = 3,     /* neighbours of a row that is taken at once */
    ROOM = 3,    /* neighbours that a row may get beyond those it has; one more each time */
    MANY = 1000, /* neighbours of a row that is not looked through for each of them again and again:
                    what stands beside it is left to AMD, which knows such rows */
    NONE = -1
};

/* The rows and their neighbours while some are taken out. */
struct graph {
    int *start;   /* [row_count + 1] of each row in `list` */
    int *degree;  /* [row_count] neighbours it has now */
    int *list;    /* [2 pair_count + ROOM row_count] */
    int *waiting; /* rows to look at next, a stack: each row taken out leaves three */
    int waiting_count;
    int *out; /* [out_count of row_count] rows taken out, in turn; their lists stay as they were */
    int out_count;
    int *place; /* [row_count] of those in `out`; NONE: of the others, later in their order */
    int *rest;  /* [row_count] */
};

static bool take_graph(struct graph *graph, struct planning *planning, int row_count,
                       int pair_count)
{
    const size_t rows = (size_t)row_count;
    const size_t size = 2 * (size_t)pair_count + ROOM * rows;
    if (size > INT_MAX) {
        return false;
    }
    graph->start = planning_take(planning, rows + 1, sizeof *graph->start);
    graph->degree = planning_take(planning, rows, sizeof *graph->degree);
    graph->list = planning_take(planning, size, sizeof *graph->list);
    graph->waiting = planning_take(planning, FEW * rows, sizeof *graph->waiting);
    graph->out = planning_take(planning, rows, sizeof *graph->out);
    graph->place = planning_take(planning, rows, sizeof *graph->place);
    graph->rest = planning_take(planning, rows, sizeof *graph->rest);
    return graph->start && graph->degree && graph->list && graph->waiting && graph->out &&
           graph->place && graph->rest;
}

static void list_neighbours(struct graph *graph, int rows, int pairs, const struct fold_pair pair[])
{
    int *degree = graph->degree;
    for (int row = 0; row < rows; row++) {
        degree[row] = 0;
        graph->place[row] = NONE;
    }
    for (int i = 0; i < pairs; i++) {
        degree[pair[i].a]++;
        degree[pair[i].b]++;
    }
    int at = 0;
    for (int row = 0; row < rows; row++) {
        graph->start[row] = at;
        at += degree[row] + ROOM;
        degree[row] = 0;
    }
    graph->start[rows] = at;
    for (int i = 0; i < pairs; i++) {
        const int a = pair[i].a;
        const int b = pair[i].b;
        graph->list[graph->start[a] + degree[a]++] = b;
        graph->list[graph->start[b] + degree[b]++] = a;
    }
}

static int find(const struct graph *graph, int row, int other)
{
    const int *list = graph->list + graph->start[row];
    int at = 0;
    while (at < graph->degree[row] && list[at] != other) {
        at++;
    }
    return at;
}

static bool has_room(const struct graph *graph, int row)
{
    return graph->degree[row] <= MANY &&
           graph->start[row] + graph->degree[row] < graph->start[row + 1];
}

/* `row` forgets `gone` and gets to know two others of its neighbours (NONE: there is none). */
static void join(struct graph *graph, int row, int gone, int one, int other)
{
    int *list = graph->list + graph->start[row];
    list[find(graph, row, gone)] = list[--graph->degree[row]];
    if (one != NONE && find(graph, row, one) == graph->degree[row]) {
        list[graph->degree[row]++] = one;
    }
    if (other != NONE && find(graph, row, other) == graph->degree[row]) {
        list[graph->degree[row]++] = other;
    }
    if (graph->degree[row] <= FEW) {
        graph->waiting[graph->waiting_count++] = row;
    }
}

static void take_out(struct graph *graph, int row)
{
    int next[FEW] = {NONE, NONE, NONE};
    for (int i = 0; i < graph->degree[row]; i++) {
        next[i] = graph->list[graph->start[row] + i];
        if (!has_room(graph, next[i])) {
            return;
        }
    }
    graph->place[row] = graph->out_count;
    graph->out[graph->out_count++] = row;
    for (int i = 0; i < FEW; i++) {
        if (next[i] != NONE) {
            join(graph, next[i], row, next[(i + 1) % FEW], next[(i + 2) % FEW]);
        }
    }
}

/* All with at most `most` neighbours, and those that come down to it. */
static void take_out_all(struct graph *graph, int rows, int most)
{
    for (int row = 0; row < rows; row++) {
        int next = row;
        for (;;) {
            if (graph->place[next] == NONE && graph->degree[next] <= most) {
                take_out(graph, next);
            }
            if (graph->waiting_count == 0) {
                break;
            }
            next = graph->waiting[--graph->waiting_count];
        }
    }
}

/* What AMD asks for: arrays of a number for each row, and the lists of neighbours with some room to
 * move in (amd_2.c: at least a number for each row; a fifth more is quicker). */
enum { AMD_ARRAYS = 9 };

struct amd_room {
    int *array[AMD_ARRAYS]; /* [count] each: the first three of the lists' starts, of degrees, of
                               old rows in their new order */
    int *list;              /* [list_size] */
    int list_size;
};

/* Of `count` rows with `size` neighbours. */
static bool take_amd_room(struct amd_room *room, struct planning *planning, int count, int size)
{
    const size_t list_size = (size_t)count + (size_t)size + (size_t)size / 4;
    if (list_size > INT_MAX) {
        return false;
    }
    room->list_size = (int)list_size;
    room->list = planning_take(planning, list_size, sizeof *room->list);
    bool is_done = room->list != NULL;
    for (int i = 0; i < AMD_ARRAYS && is_done; i++) {
        room->array[i] = planning_take(planning, (size_t)count, sizeof *room->array[i]);
        is_done = room->array[i] != NULL;
    }
    return is_done;
}

/* The rest, numbered in `rest`, by least degree. */
static void run_amd(struct graph *graph, struct amd_room *room, int rows, int count, int size)
{
    int **array = room->array;
    int at = 0;
    for (int row = 0; row < rows; row++) {
        if (graph->place[row] == NONE) {
            const int *list = graph->list + graph->start[row];
            array[0][graph->rest[row]] = at;
            array[1][graph->rest[row]] = graph->degree[row];
            for (int i = 0; i < graph->degree[row]; i++) {
                room->list[at++] = graph->rest[list[i]];
            }
        }
    }
    amd_2(count, array[0], room->list, array[1], room->list_size, size, array[3], array[4],
          array[2], array[5], array[6], array[7], array[8], NULL, NULL);
    for (int k = 0; k < count; k++) {
        array[0][array[2][k]] = k;
    }
    for (int row = 0; row < rows; row++) {
        if (graph->place[row] == NONE) {
            graph->rest[row] = array[0][graph->rest[row]];
        }
    }
}

static bool order_rest(struct graph *graph, struct planning *planning, int rows)
{
    int count = 0;
    int size = 0;
    for (int row = 0; row < rows; row++) {
        if (graph->place[row] == NONE) {
            graph->rest[row] = count++;
            size += graph->degree[row];
        }
    }
    if (count == 0) {
        return true;
    }
    const struct planning_mark mark = planning_mark(planning);
    struct amd_room room;
    const bool is_done = take_amd_room(&room, planning, count, size);
    if (is_done) {
        run_amd(graph, &room, rows, count, size);
    }
    planning_give(planning, mark);
    return is_done;
}

/* Of the neighbours that a row had when it was taken out, the one to be eliminated first. */
static int first_neighbour(const struct graph *graph, int row)
{
    const int *list = graph->list + graph->start[row];
    int first = NONE;
    for (int i = 0; i < graph->degree[row]; i++) {
        const bool is_out = graph->place[list[i]] != NONE;
        if (first == NONE || is_out > (graph->place[first] != NONE) ||
            (is_out && graph->place[list[i]] < graph->place[first]) ||
            (graph->place[first] == NONE && graph->rest[list[i]] < graph->rest[first])) {
            first = list[i];
        }
    }
    return first;
}

/* Puts each row taken out before the first of the rest that it leads to; if to none, at the end. */
static bool follow_rest(struct graph *graph, struct planning *planning, int rows, int order[])
{
    const int rest = rows - graph->out_count;
    const struct planning_mark mark = planning_mark(planning);
    int *start = planning_take(planning, (size_t)rest + 2, sizeof *start);
    int *leads_to = graph->waiting; /* by rows; nothing waits any more */
    for (int k = 0; k < rest + 2 && start; k++) {
        start[k] = 0;
    }
    for (int k = graph->out_count - 1; k >= 0 && start; k--) {
        const int row = graph->out[k];
        const int next = first_neighbour(graph, row);
        leads_to[row] = rest;
        if (next != NONE) {
            leads_to[row] = graph->place[next] != NONE ? leads_to[next] : graph->rest[next];
        }
        start[leads_to[row] + 1]++;
    }
    for (int k = 0; k <= rest && start; k++) {
        start[k + 1] += start[k] + 1; /* that one itself stands behind them */
    }
    for (int row = 0; row < rows && start; row++) {
        if (graph->place[row] == NONE) {
            order[row] = start[graph->rest[row] + 1] - 1;
        }
    }
    for (int k = 0; k < graph->out_count && start; k++) {
        order[graph->out[k]] = start[leads_to[graph->out[k]]]++;
    }
    planning_give(planning, mark);
    return start != NULL;
}

bool ordering_find(struct planning *planning, int row_count, int pair_count,
                   const struct fold_pair pair[pair_count], int order[row_count])
{
    const struct planning_mark mark = planning_mark(planning);
    struct graph graph = {.waiting_count = 0};
    bool is_done = take_graph(&graph, planning, row_count, pair_count);
    if (is_done) {
        list_neighbours(&graph, row_count, pair_count, pair);
        for (int most = 1; most <= FEW; most++) {
            take_out_all(&graph, row_count, most);
        }
        is_done = order_rest(&graph, planning, row_count) &&
                  follow_rest(&graph, planning, row_count, order);
    }
    planning_give(planning, mark);
    return is_done;
}
