#include "solver/surge/fold.h"

#include "solver/surge/four.h"
#include "solver/surge/sweep.h"

#include <math.h>
#include <string.h>

/* Fewest nodes of a pipe that is folded, and fewest steps for which folding and unfolding pay. */
enum { LEAST_NODES = 2048, LEAST_STEPS = 16 };

/* Moving all lines back costs a pass; it is done at most every this many steps. */
enum { LEAST_SLACK = 2 * AHEAD_STEPS, SLACK_SHARE = 16 };

enum { STRANDS = WIDEST, LAST = STRANDS - 1 };

bool fold_init(struct kernel_pipe *pipe, struct arena *arena, struct failure *failure)
{
    const int nodes = pipe->reaches + 1;
    if (nodes < LEAST_NODES) {
        return true;
    }
    struct fold *fold = arena_take(arena, 1, sizeof *fold);
    if (fold == NULL) {
        return fail_memory(failure, "surge grid");
    }
    const int lines = (nodes + LAST) / STRANDS;
    const int slack = LEAST_SLACK + lines / SLACK_SHARE;
    const size_t room = (size_t)lines + (size_t)slack;
    const size_t line = STRANDS * sizeof(double);
    *fold = (struct fold){.lines = lines, .tail = nodes - LAST * lines, .slack = slack};
    fold->right = arena_take(arena, room, line);
    fold->left = arena_take(arena, room, line);
    /* Extremes of a node never a number of pages apart, where they would wait for each other. */
    fold->highest = arena_take(arena, (size_t)lines + (lines % 64 == 0), line);
    fold->lowest = arena_take(arena, (size_t)lines, line);
    if (fold->right == NULL || fold->left == NULL || fold->highest == NULL ||
        fold->lowest == NULL) {
        return fail_memory(failure, "surge grid");
    }
    pipe->fold = fold;
    return true;
}

/* Four places of four lines, turned: place j of line v becomes place v of line j. Lines are `step`
 * apart in `from`, `stride` in `to`. */
static EACH_BODY void turn(ptrdiff_t step, const double *restrict from, ptrdiff_t stride,
                           double *restrict to)
{
    four a;
    four b;
    four c;
    four d;
    four_load(from, &a);
    four_load(from + step, &b);
    four_load(from + 2 * step, &c);
    four_load(from + 3 * step, &d);
    const four even_ab = __builtin_shufflevector(a, b, 0, 4, 2, 6);
    const four odd_ab = __builtin_shufflevector(a, b, 1, 5, 3, 7);
    const four even_cd = __builtin_shufflevector(c, d, 0, 4, 2, 6);
    const four odd_cd = __builtin_shufflevector(c, d, 1, 5, 3, 7);
    a = __builtin_shufflevector(even_ab, even_cd, 0, 1, 4, 5);
    b = __builtin_shufflevector(odd_ab, odd_cd, 0, 1, 4, 5);
    c = __builtin_shufflevector(even_ab, even_cd, 2, 3, 6, 7);
    d = __builtin_shufflevector(odd_ab, odd_cd, 2, 3, 6, 7);
    four_store(to, &a);
    four_store(to + stride, &b);
    four_store(to + 2 * stride, &c);
    four_store(to + 3 * stride, &d);
}

/* The nodes of a pipe from their row to their lines; pads get `pad`. */
EACH_WIDTH
static void lay(int lines, int tail, double pad, const double *restrict from, double *restrict to)
{
    int v = 0;
    for (; v + 4 <= tail; v += 4) {
        for (int j = 0; j < STRANDS; j += 4) {
            turn(lines, from + v + (ptrdiff_t)j * lines, STRANDS, to + (ptrdiff_t)v * STRANDS + j);
        }
    }
    for (; v < lines; v++) {
        for (int j = 0; j < LAST; j++) {
            to[v * STRANDS + j] = from[v + (ptrdiff_t)j * lines];
        }
        to[v * STRANDS + LAST] = v < tail ? from[v + (ptrdiff_t)LAST * lines] : pad;
    }
}

/* Back again. */
EACH_WIDTH
static void unlay(int lines, int tail, const double *restrict from, double *restrict to)
{
    int v = 0;
    for (; v + 4 <= tail; v += 4) {
        for (int j = 0; j < STRANDS; j += 4) {
            turn(STRANDS, from + (ptrdiff_t)v * STRANDS + j, lines, to + v + (ptrdiff_t)j * lines);
        }
    }
    for (; v < lines; v++) {
        for (int j = 0; j < LAST + (v < tail); j++) {
            to[v + (ptrdiff_t)j * lines] = from[v * STRANDS + j];
        }
    }
}

/* Whether a pipe that is not folded should be: when middles may go ahead, since one that is not
 * ahead and could boil is unfolded after the step. */
static bool pays(const struct kernel *kernel, const struct kernel_pipe *pipe)
{
    return kernel->promised >= LEAST_STEPS && kernel->ahead == 0 && pipe->memory == NULL &&
           !(pipe->gas > 0.0) && pipe->cavity_count == 0;
}

static void fold_up(const struct kernel *kernel, const struct kernel_pipe *pipe)
{
    struct fold *fold = pipe->fold;
    const int64_t first = pipe->first;
    const double pad = row_left(kernel)[first + pipe->reaches];
    fold->shift = 0;
    lay(fold->lines, fold->tail, pad, row_right(kernel) + first, fold_right(fold));
    lay(fold->lines, fold->tail, pad, row_left(kernel) + first, fold_left(fold));
    lay(fold->lines, fold->tail, (double)INFINITY, kernel->highest + first, fold->highest);
    lay(fold->lines, fold->tail, -(double)INFINITY, kernel->lowest + first, fold->lowest);
    fold->is_folded = true;
}

void fold_begin(struct kernel *kernel, struct kernel_pipe *pipe)
{
    struct fold *fold = pipe->fold;
    if (fold == NULL) {
        return;
    }
    if (!fold->is_folded) {
        if (pays(kernel, pipe)) {
            fold_up(kernel, pipe);
        }
    } else if (fold->slack - fold->shift < AHEAD_STEPS && kernel->ahead == 0) {
        const size_t bytes = (size_t)fold->lines * STRANDS * sizeof(double);
        memmove(fold->right + (ptrdiff_t)fold->slack * STRANDS, fold_right(fold), bytes);
        memmove(fold->left, fold_left(fold), bytes);
        fold->shift = 0;
    }
}

/* Some lines of a folded pipe, of which no more is known yet. */
static struct sweep lines_of(const struct fold *fold, int from, int count)
{
    const ptrdiff_t at = (ptrdiff_t)from * STRANDS;
    return (struct sweep){.count = count * STRANDS,
                          .right = fold_right(fold) + at,
                          .left = fold_left(fold) + at,
                          .highest = fold->highest + at,
                          .lowest = fold->lowest + at};
}

static void sweep_lines(const struct kernel_pipe *pipe, int from, int count, struct bounds between)
{
    struct sweep sweep = lines_of(pipe->fold, from, count);
    sweep.least = between.least;
    sweep.most = between.most;
    sweep.each = &intervals_none;
    sweep_take(&sweep, &pipe->loss);
}

/* The lines that are due: all, or those at both ends, pads among them. */
struct due {
    int first; /* so many at the beginning ... */
    int from;  /* ... and from this one on */
};

static struct due due_lines(const struct fold *fold, int end)
{
    return end < 0 ? (struct due){0, 0} : (struct due){end, fold->tail - end};
}

void fold_sweep(const struct kernel_pipe *pipe, int end, struct bounds between)
{
    const struct due due = due_lines(pipe->fold, end);
    sweep_lines(pipe, 0, due.first, between);
    sweep_lines(pipe, due.from, pipe->fold->lines - due.from, between);
}

void fold_note(const struct kernel_pipe *pipe, int end)
{
    const struct due due = due_lines(pipe->fold, end);
    const struct sweep first = lines_of(pipe->fold, 0, due.first);
    const struct sweep last = lines_of(pipe->fold, due.from, pipe->fold->lines - due.from);
    sweep_note(&first);
    sweep_note(&last);
}

void fold_move(struct kernel_pipe *pipe)
{
    struct fold *fold = pipe->fold;
    fold->shift++;
    double *right = fold_right(fold);
    double *left = fold_left(fold) + (ptrdiff_t)(fold->lines - 1) * STRANDS;
    const double *right_gone = right + (ptrdiff_t)fold->lines * STRANDS;
    const double *left_gone = fold_left(fold) - STRANDS;
    for (int j = 0; j < LAST; j++) {
        right[j + 1] = right_gone[j];
        left[j] = left_gone[j + 1];
    }
    right[0] = right[STRANDS]; /* until what enters is set */
    /* A pad gets what entered last, which is within the limits of the pipe. */
    left[LAST] = fold_left(fold)[(ptrdiff_t)(fold->tail - 2) * STRANDS + LAST];
}

void fold_undo(struct kernel *kernel, struct kernel_pipe *pipe)
{
    struct fold *fold = pipe->fold;
    if (!fold_is_on(pipe)) {
        return;
    }
    unlay(fold->lines, fold->tail, fold_right(fold), row_right(kernel) + pipe->first);
    unlay(fold->lines, fold->tail, fold_left(fold), row_left(kernel) + pipe->first);
    unlay(fold->lines, fold->tail, fold->highest, kernel->highest + pipe->first);
    unlay(fold->lines, fold->tail, fold->lowest, kernel->lowest + pipe->first);
    fold->is_folded = false;
}
