#include "solver/surge/strands.h"

#include "models/each_width.h"
#include "solver/surge/lean.h"
#include "solver/surge/limits.h"
#include "solver/workers.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* Strands, and most nodes of one: so long that its margins cost little, and no multiple of a page,
 * since then all strands would want the same places of a cache; nor is the room of an array. */
enum { STRANDS = WIDEST, LENGTH = 1464, ROOM = STRANDS * (LENGTH + 2 * STRANDS_STEPS + 21) };

/* Pipes of fewer nodes have shorter strands, whose margins pay for half as many steps only. */
enum { MIDDLING = 6144 };

/* Tiles that lie staged: one at work, the next one, and the last one of a thread's share. */
enum { TILES = 3 };

bool strands_init(struct strands **strands, int workers, int nodes, struct arena *arena,
                  struct failure *failure)
{
    enum { ARRAYS = 2 * TILES + 2 };
    *strands = NULL;
    if (nodes < STRANDS_LEAST) {
        return true;
    }
    struct strands *made = arena_take(arena, (size_t)workers, sizeof *made);
    double *room = arena_take(arena, (size_t)workers * ARRAYS * ROOM, sizeof *room);
    if (made == NULL || room == NULL) {
        return fail_memory(failure, "surge grid");
    }
    for (int worker = 0; worker < workers; worker++) {
        for (int i = 0; i < TILES; i++, room += (size_t)2 * ROOM) {
            made[worker].right[i] = room;
            made[worker].left[i] = room + ROOM;
        }
        made[worker].highest = room;
        made[worker].lowest = room + ROOM;
        room += (size_t)2 * ROOM;
    }
    *strands = made;
    return true;
}

/* A tile of one pipe. */
struct tile {
    int first;   /* its first node, without the margin */
    int length;  /* nodes of a strand, without its margins */
    int strands; /* STRANDS, or 1: left in one row */
    int depth;   /* steps, and nodes of a margin */
    const struct strands *room;
    double *right;
    double *left;
    struct sweep all; /* what holds of all its nodes */
    struct sweep_each each;
};

/* Four places of four lines, turned: place j of line v becomes place v of line j. Lines are `step`
 * apart in `from`, `stride` in `to`. */
static EACH_BODY void turn(ptrdiff_t step, const double *restrict from, ptrdiff_t stride,
                           double *restrict to)
{
    typedef double four __attribute__((vector_size(4 * sizeof(double))));
    four a;
    four b;
    four c;
    four d;
    memcpy(&a, from, sizeof a);
    memcpy(&b, from + step, sizeof b);
    memcpy(&c, from + 2 * step, sizeof c);
    memcpy(&d, from + 3 * step, sizeof d);
    const four even_ab = __builtin_shufflevector(a, b, 0, 4, 2, 6);
    const four odd_ab = __builtin_shufflevector(a, b, 1, 5, 3, 7);
    const four even_cd = __builtin_shufflevector(c, d, 0, 4, 2, 6);
    const four odd_cd = __builtin_shufflevector(c, d, 1, 5, 3, 7);
    a = __builtin_shufflevector(even_ab, even_cd, 0, 1, 4, 5);
    b = __builtin_shufflevector(odd_ab, odd_cd, 0, 1, 4, 5);
    c = __builtin_shufflevector(even_ab, even_cd, 2, 3, 6, 7);
    d = __builtin_shufflevector(odd_ab, odd_cd, 2, 3, 6, 7);
    memcpy(to, &a, sizeof a);
    memcpy(to + stride, &b, sizeof b);
    memcpy(to + 2 * stride, &c, sizeof c);
    memcpy(to + 3 * stride, &d, sizeof d);
}

/* Number v of strand j, of those that lie `length` apart in `from`, to place j of line v. */
EACH_WIDTH
static void lay(int count, ptrdiff_t length, const double *restrict from, double *restrict to)
{
    int v = 0;
    for (; v + 4 <= count; v += 4) {
        for (int j = 0; j < STRANDS; j += 4) {
            turn(length, from + v + j * length, STRANDS, to + (ptrdiff_t)v * STRANDS + j);
        }
    }
    for (; v < count; v++) {
        for (int j = 0; j < STRANDS; j++) {
            to[v * STRANDS + j] = from[v + j * length];
        }
    }
}

/* Back again. */
EACH_WIDTH
static void unlay(int count, ptrdiff_t length, const double *restrict from, double *restrict to)
{
    int v = 0;
    for (; v + 4 <= count; v += 4) {
        for (int j = 0; j < STRANDS; j += 4) {
            turn(STRANDS, from + (ptrdiff_t)v * STRANDS + j, length, to + v + j * length);
        }
    }
    for (; v < count; v++) {
        for (int j = 0; j < STRANDS; j++) {
            to[v + j * length] = from[v * STRANDS + j];
        }
    }
}

static void put(const struct tile *tile, int count, const double *from, double *to)
{
    if (tile->strands == 1) {
        memcpy(to, from, (size_t)(count + (STRANDS - 1) * tile->length) * sizeof *to);
    } else {
        lay(count, tile->length, from, to);
    }
}

static void take_back(const struct tile *tile, const double *from, double *to)
{
    if (tile->strands == 1) {
        memcpy(to, from, (size_t)(STRANDS * tile->length) * sizeof *to);
    } else {
        unlay(tile->length, tile->length, from, to);
    }
}

/* The first numbers of a tile: its row, and so on. */
struct look {
    const double *right; /* of its margin */
    const double *left;  /* of its margin */
    const double *highest;
    const double *lowest;
};

/* Whether the whole tile is quiet. Looking at all extremes costs a pass, and most tiles that are
 * not quiet show it at once. */
static bool is_quiet(const struct kernel_pipe *pipe, const struct tile *tile,
                     const struct look *look)
{
    enum { FEW = 32 };
    int whole = tile->length + 2 * tile->depth;
    struct bounds there = sweep_bounds(FEW, look->right + tile->depth);
    struct bounds here = sweep_bounds(FEW, look->left + tile->depth);
    bool is_quiet = 0.5 * (there.most + here.most) <= sweep_bounds(FEW, look->highest).least &&
                    0.5 * (there.least + here.least) >= sweep_bounds(FEW, look->lowest).most;
    for (int j = 0; j < STRANDS && is_quiet; j++) {
        ptrdiff_t at = (ptrdiff_t)j * tile->length;
        is_quiet = lean_foresee(pipe, tile->depth, sweep_bounds(whole, look->right + at),
                                sweep_bounds(whole, look->left + at),
                                sweep_bounds(tile->length, look->highest + at),
                                sweep_bounds(tile->length, look->lowest + at))
                       .is_quiet;
    }
    return is_quiet;
}

/* Whether each strand lies in one interval of the table, and which. */
static bool find_intervals(const struct kernel_pipe *pipe, struct tile *tile,
                           const struct look *look)
{
    static const struct bounds none = {INFINITY, -INFINITY};
    int whole = tile->length + 2 * tile->depth;
    for (int j = 0; j < STRANDS; j++) {
        struct loss_interval interval[2];
        ptrdiff_t at = (ptrdiff_t)j * tile->length;
        struct sweep sweep = lean_foresee(pipe, tile->depth, sweep_bounds(whole, look->right + at),
                                          sweep_bounds(whole, look->left + at), none, none);
        if (loss_intervals(&pipe->loss, sweep.least, sweep.most, interval) != 1) {
            return false;
        }
        tile->each.start[j] = interval[0].start;
        for (int i = 0; i < 4; i++) {
            tile->each.cubic[i][j] = interval[0].cubic[i];
        }
    }
    return true;
}

/* Looks at a tile and lays out its p and m, before its neighbours change theirs. */
static void stage(const struct kernel *kernel, const struct kernel_pipe *pipe, struct tile *tile)
{
    int64_t first = pipe->first + tile->first;
    const struct look look = {row_right(kernel) + first - tile->depth,
                              row_left(kernel) + first - tile->depth, kernel->highest + first,
                              kernel->lowest + first};
    struct bounds between = limits_differences(pipe);
    tile->all = (struct sweep){
        .least = between.least, .most = between.most, .is_quiet = is_quiet(pipe, tile, &look)};
    tile->strands = STRANDS;
    if (pipe->loss.kind == LOSS_TABLE) {
        tile->all.each = &tile->each;
        tile->strands = find_intervals(pipe, tile, &look) ? STRANDS : 1;
    } else if (pipe->loss.kind == LOSS_QUADRATIC && !sweep_is_series(&tile->all, &pipe->loss)) {
        tile->strands = 1;
    }
    put(tile, tile->length + 2 * tile->depth, look.right, tile->right);
    put(tile, tile->length + 2 * tile->depth, look.left, tile->left);
}

/* Margins note nothing. */
static void clear_margins(const struct tile *tile, double *highest, double *lowest)
{
    int margin = tile->depth * tile->strands;
    int behind = tile->strands == 1 ? tile->depth + STRANDS * tile->length
                                    : (tile->depth + tile->length) * STRANDS;
    for (int i = 0; i < margin; i++) {
        highest[i] = INFINITY;
        highest[behind + i] = INFINITY;
        lowest[i] = -INFINITY;
        lowest[behind + i] = -INFINITY;
    }
}

/* They are then left where they are, not laid out. */
static bool needs_no_extremes(const struct tile *tile)
{
    return tile->strands == STRANDS && tile->all.is_quiet;
}

static void compute(const struct kernel *kernel, const struct kernel_pipe *pipe,
                    const struct tile *tile)
{
    const struct strands *room = tile->room;
    int margin = tile->depth * tile->strands;
    int nodes = (tile->strands == 1 ? STRANDS : 1) * tile->length + 2 * tile->depth;
    struct lean lean = {nodes, tile->strands, tile->right, tile->left, room->highest, room->lowest};
    if (needs_no_extremes(tile)) {
        lean_go_known(&lean, pipe, tile->depth, &tile->all);
        return;
    }
    put(tile, tile->length, kernel->highest + pipe->first + tile->first, room->highest + margin);
    put(tile, tile->length, kernel->lowest + pipe->first + tile->first, room->lowest + margin);
    clear_margins(tile, room->highest, room->lowest);
    if (tile->strands == 1) {
        lean_go(&lean, pipe, tile->depth);
    } else {
        lean_go_known(&lean, pipe, tile->depth, &tile->all);
    }
}

/* After all steps p stands so many nodes further back, m further on. */
static void write_back(const struct kernel *kernel, const struct kernel_pipe *pipe,
                       const struct tile *tile)
{
    int depth = tile->depth;
    int64_t first = pipe->first + tile->first;
    int margin = depth * tile->strands;
    take_back(tile, tile->right, row_right(kernel) + first - depth);
    take_back(tile, tile->left + (ptrdiff_t)2 * margin, row_left(kernel) + first + depth);
    if (needs_no_extremes(tile)) {
        return;
    }
    take_back(tile, tile->room->highest + margin, kernel->highest + first);
    take_back(tile, tile->room->lowest + margin, kernel->lowest + first);
}

/* The nodes near an end, in place: what no tile reaches. */
static void go_end(const struct kernel *kernel, const struct kernel_pipe *pipe, int from, int nodes,
                   int depth)
{
    int64_t node = pipe->first + from;
    const struct lean lean = {
        nodes,
        1,
        row_right(kernel) + node,
        row_left(kernel) + node,
        kernel->highest + node,
        kernel->lowest + node,
    };
    lean_go(&lean, pipe, depth);
}

/* Steps in the middle of `nodes` nodes of a pipe from `from` on, in so many tiles. */
struct part {
    const struct kernel *kernel;
    const struct kernel_pipe *pipe;
    int from;
    int nodes;
    int depth;
    int tiles;
    int length; /* of a strand */
    int first;  /* node of the first tile, counted from `from` */
};

static struct part cut(const struct kernel *kernel, const struct kernel_pipe *pipe, int from,
                       int depth, int workers)
{
    int nodes = pipe->reaches + 1 - 2 * from;
    int middle = nodes - 2 * depth;
    int tiles = (middle + STRANDS * LENGTH - 1) / (STRANDS * LENGTH);
    tiles = (tiles + workers - 1) / workers * workers;
    int length = middle / (STRANDS * tiles);
    return (struct part){kernel, pipe,  from,   nodes,
                         depth,  tiles, length, nodes - depth - tiles * STRANDS * length};
}

static void stage_tile(const struct part *part, int number, const struct strands *room, int place,
                       struct tile *tile)
{
    *tile = (struct tile){.first = part->from + part->first + number * STRANDS * part->length,
                          .length = part->length,
                          .depth = part->depth,
                          .room = room,
                          .right = room->right[place],
                          .left = room->left[place]};
    stage(part->kernel, part->pipe, tile);
}

/* A thread's share of the tiles, from `first` to before `end`. Neighbours change nodes of each
 * other's tiles on both sides of the border, so both lay out theirs before either begins. It stays
 * where it is: a tile's sweep points into the tile. */
struct share {
    int first;
    int end;
    struct tile tile[TILES];
};

static void begin_share(const struct part *part, int number, int count, const struct strands *room,
                        struct share *share)
{
    share->first = part->tiles * number / count;
    share->end = part->tiles * (number + 1) / count;
    if (share->first < share->end) {
        stage_tile(part, share->first, room, 0, &share->tile[0]);
    }
    if (share->first + 1 < share->end && share->end < part->tiles) {
        stage_tile(part, share->end - 1, room, TILES - 1, &share->tile[TILES - 1]);
    }
}

static void go_share(const struct part *part, struct share *share, const struct strands *room)
{
    int here = 0;
    if (share->first == 0 && share->first < share->end) {
        go_end(part->kernel, part->pipe, part->from, part->first + part->depth, part->depth);
    }
    for (int i = share->first; i < share->end; i++) {
        int next = 1 - (here & 1);
        compute(part->kernel, part->pipe, &share->tile[here]);
        if (i + 1 == part->tiles) {
            go_end(part->kernel, part->pipe, part->from + part->nodes - 2 * part->depth,
                   2 * part->depth, part->depth);
        } else if (i + 2 == share->end && share->end < part->tiles) {
            next = TILES - 1;
        } else if (i + 1 < share->end) {
            stage_tile(part, i + 1, room, next, &share->tile[next]);
        }
        write_back(part->kernel, part->pipe, &share->tile[here]);
        here = next;
    }
}

/* How many of `left` steps pay at a time. */
static int steps_at_once(const struct kernel_pipe *pipe, int left)
{
    int most = pipe->reaches + 1 < MIDDLING ? STRANDS_STEPS / 2 : STRANDS_STEPS;
    return left < most ? left : most;
}

void strands_go(const struct kernel *kernel, const struct kernel_pipe *pipe, int depth, int worker)
{
    struct kernel later = *kernel;
    const struct strands *room = &kernel->strands[worker];
    for (int done = 0; done < depth;) {
        const int steps = steps_at_once(pipe, depth - done);
        const struct part part = cut(&later, pipe, done, steps, 1);
        struct share share;
        begin_share(&part, 0, 1, room, &share);
        go_share(&part, &share, room);
        later.shift += steps;
        done += steps;
    }
}

void strands_go_shared(const struct kernel *kernel, const struct kernel_pipe *pipe, int depth)
{
    struct kernel later = *kernel;
    for (int done = 0; done < depth;) {
        const int steps = steps_at_once(pipe, depth - done);
        const struct part part = cut(&later, pipe, done, steps, kernel->workers);
#pragma omp parallel num_threads(kernel->workers)
        {
            const struct strands *room = &kernel->strands[workers_mine()];
            struct share share;
            begin_share(&part, workers_mine(), workers_here(), room, &share);
#pragma omp barrier
            go_share(&part, &share, room);
        }
        later.shift += steps;
        done += steps;
    }
}
