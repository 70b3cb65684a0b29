#include "solver/surge/memory_ahead.h"

#include "solver/surge/memory.h"
#include "solver/surge/memory_pass.h"
#include "solver/surge/memory_slopes.h"

#include <stddef.h>
#include <string.h>

/* Nodes of a stretch, and by how many it leans back a step: whole lines of the caches, so that what
 * nodes remember is read and written where vectors begin. */
enum { STRETCH = MEMORY_PASS_NODES, LEAN = 8 };

/* Places of waves before a stretch's first node: of all nodes that it leans back on, and of a line
 * that holds the one beyond. */
enum { BEFORE = LEAN * AHEAD_FAR };

/* Numbers of some stretches, one after another, and of all nodes that the first leans back on: node
 * at + j has place BEFORE + j of the stretch in all steps, so that these too are read and written
 * where vectors begin. Waves are those that leave the nodes, and are read from the waves of the
 * step before: p that comes to a node where that of the node before it was left, m where that of
 * the next one was. Behind the last stretch all begins anew with what it leans back on. */
enum { STRETCHES = 4, PLACES = BEFORE + STRETCHES * STRETCH + LEAN };

/* Where they begin in the room, counted in lines. Processors take a read for one of what has just
 * been written as far off from where a page begins; so what is read in a loop and what is written
 * there are some lines apart in their pages, all from one another and from the terms, of which one
 * array is whole lines by the eight from the next (solver/surge/memory.c) and the first FIRST lines
 * before `right` of the first waves; and no place of the nearest cache has more than others. */
enum {
    LINE = 8,
    PAGE = 64 * LINE,
    FIRST = 7 * LINE,
    RIGHT = 0,
    RIGHT_TOO = 272 * LINE,
    LEFT = 544 * LINE,
    LEFT_TOO = 816 * LINE,
    DRIVEN = 1105 * LINE,
    TAKEN = 1401 * LINE,
    ROOM = TAKEN + PLACES + PAGE
};

struct waves {
    double *right; /* [PLACES] */
    double *left;  /* [PLACES] */
};

/* Stretches from whose nodes waves reach a stretch in all its steps, and its nodes before they came
 * into it: it and those before. */
enum { PIECES = 1 + (BEFORE + AHEAD_FAR + STRETCH - 1) / STRETCH };

/* A stretch takes node at - LEAN k + j at step k, for all j below STRETCH. What it needs of the
 * nodes before it the stretch before has left in the same waves and not touched since: after its
 * step k - 1 it wrote there again at step k + 1 only, and LEAN nodes or more before those which
 * this one reads. */
struct work {
    const struct kernel *kernel;
    const struct kernel_pipe *pipe;
    int nodes;
    int depth;
    struct waves waves[2]; /* before and after a step, by turns */
    double *driven;        /* [PLACES] */
    double *taken;         /* [PLACES] */
    int moved;             /* by so many stretches from where their room begins */
    struct memory_slopes_law law;
    int seen;                            /* of these: */
    struct memory_slopes slopes[PIECES]; /* of the stretch at work, and of those before */
    unsigned ways;                       /* of all its heads (memory_slopes_ways) */
};

/* Waves as they are in the row before the first step, as if they had left the neighbours. */
static void fetch(const struct work *work, int at)
{
    const int left = work->nodes - at;
    const size_t bytes = (size_t)(left < STRETCH ? left : STRETCH) * sizeof(double);
    if (left > 0) {
        const int64_t node = work->pipe->first + at;
        /* Not memcpy, for which compilers put instructions that are slow where nothing is aligned.
         */
        memmove(work->waves[0].right + BEFORE - 1, row_right(work->kernel) + node, bytes);
        memmove(work->waves[0].left + BEFORE + 1, row_left(work->kernel) + node, bytes);
    }
}

/* Waves to the places they have for the next stretch: places move on under them, or they are put
 * back where their room begins. */
static void move_on(struct work *work)
{
    const bool is_full = work->moved == STRETCHES - 1;
    const ptrdiff_t by = is_full ? -(ptrdiff_t)work->moved * STRETCH : STRETCH;
    for (int i = 0; i < 2; i++) {
        struct waves *waves = &work->waves[i];
        if (is_full) {
            memmove(waves->right + by, waves->right + STRETCH, BEFORE * sizeof(double));
            memmove(waves->left + by, waves->left + STRETCH, BEFORE * sizeof(double));
        }
        waves->right += by;
        waves->left += by;
    }
    work->driven += by;
    work->taken += by;
    work->moved = is_full ? 0 : work->moved + 1;
}

static int least(int one, int other)
{
    return one < other ? one : other;
}

static int most(int one, int other)
{
    return one > other ? one : other;
}

/* Puts back in the row what leaves the nodes from `first` to before `last` after step `k` of the
 * stretch that began at node `at`: all of it after the last one; before that what goes to the ends,
 * which are not ahead. */
static void put_back(const struct work *work, const struct waves *after, int at, int first,
                     int last, int k)
{
    double *right = row_right(work->kernel) + work->pipe->first - k;
    double *left = row_left(work->kernel) + work->pipe->first + k;
    const bool is_last = k == work->depth - 1;
    for (int i = is_last ? first : most(first, work->nodes - k - 2); i < last; i++) {
        right[i] = after->right[BEFORE + i - at];
    }
    for (int i = first; i < (is_last ? last : least(last, k + 2)); i++) {
        left[i] = after->left[BEFORE + i - at];
    }
}

/* Looks at a stretch that no step has changed yet, nor the node after it. */
static void look(struct work *work, int at)
{
    const int left = work->nodes - 1 - at;
    memmove(work->slopes + 1, work->slopes, (PIECES - 1) * sizeof *work->slopes);
    work->seen += work->seen < PIECES;
    memory_slopes_find(work->kernel, work->pipe, at, least(left, STRETCH), &work->slopes[0]);
    work->ways = memory_slopes_ways(work->seen, work->slopes, &work->law);
}

/* Where a stretch begins and ends at step `k`. */
struct reach {
    int first;
    int last;
};

static struct reach reach_of(const struct work *work, int at, int k)
{
    const int back = at - k * LEAN;
    return (struct reach){most(back, k), least(back + STRETCH, work->nodes - k)};
}

/* Where each head only rises or only falls none is noted but the first and the last one of all
 * steps, and those of the two nodes that leave both ends of the pipe to the steps themselves, where
 * other waves come.
 *
 * Nodes that go from one stretch to the next need none between. Nothing reaches a node in a stretch
 * but from PIECES stretches, from the first step on, nor in the step after it left; so its heads go
 * the way of each stretch from the first step, which notes all, to the one after it left. If the
 * next stretch notes all that one is noted, if it goes the same way the last one will be; and if it
 * goes the other way these heads went both, hence none is far from the first. */
static void choose_notes(const struct work *work, struct memory_pass *pass, struct reach reach,
                         int k)
{
    pass->is_partial = work->ways != 0 && k > 0 && k < work->depth - 1;
    pass->first = reach.first == k ? 1 : 0;
    pass->last = reach.last == work->nodes - k ? 1 : 0;
}

/* Step `k` of the stretch that began at node `at`. */
static void take_step(struct work *work, struct memory_pass *pass, int at, int k)
{
    const struct waves *before = &work->waves[k % 2];
    const struct waves *after = &work->waves[(k + 1) % 2];
    const struct reach reach = reach_of(work, at, k);
    const int first = reach.first;
    const int place = BEFORE + first - at;
    if (first >= reach.last) {
        return;
    }
    pass->count = reach.last - first;
    pass->node = first;
    pass->from_right = before->right + place - 1;
    pass->from_left = before->left + place + 1;
    pass->right = after->right + place;
    pass->left = after->left + place;
    pass->driven = work->driven + place;
    pass->taken = work->taken + place;
    pass->highest = work->kernel->highest + work->pipe->first + first;
    pass->lowest = work->kernel->lowest + work->pipe->first + first;
    choose_notes(work, pass, reach, k);
    memory_pass_take(pass);
    put_back(work, after, at, first, reach.last, k);
}

/* Parts the room. */
static void part(struct work *work, double room[ROOM])
{
    const uintptr_t wanted = (uintptr_t)memory_first(work->pipe->memory) / sizeof *room + FIRST;
    double *first = room + (wanted - (uintptr_t)room / sizeof *room) % PAGE;
    work->waves[0] = (struct waves){first + RIGHT, first + LEFT};
    work->waves[1] = (struct waves){first + RIGHT_TOO, first + LEFT_TOO};
    work->driven = first + DRIVEN;
    work->taken = first + TAKEN;
}

void memory_ahead(const struct kernel *kernel, const struct kernel_pipe *pipe, int depth)
{
    _Alignas(64) double room[ROOM];
    struct work work = {.kernel = kernel,
                        .pipe = pipe,
                        .nodes = pipe->reaches + 1,
                        .depth = depth,
                        .law = memory_slopes_law_of(pipe, depth)};
    struct memory_pass pass = {.pipe = pipe};
    part(&work, room);
    for (int at = 0; at < work.nodes + (depth - 1) * LEAN; at += STRETCH) {
        fetch(&work, at);
        look(&work, at);
        for (int k = 0; k < depth; k++) {
            take_step(&work, &pass, at, k);
        }
        move_on(&work);
    }
}
