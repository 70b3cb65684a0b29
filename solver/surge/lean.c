#include "solver/surge/lean.h"

#include "solver/surge/along.h"
#include "solver/surge/limits.h"
#include "solver/surge/slopes.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* Nodes of a stretch (WIDEST strands with four numbers a node in half of a nearest cache of 32
 * KiB); most stretches before one from whose nodes waves reach it in so many steps. */
enum { STRETCH = 64, MOST_STEPS = AHEAD_STEPS, BEFORE = 2 * MOST_STEPS / STRETCH };

/* A node is in two stretches at most, or heads left out at the border of both might be extremes. */
_Static_assert((int)MOST_STEPS <= (int)STRETCH && 2 * MOST_STEPS % STRETCH == 0, "lean stretches");

/* Rounding of one sum or difference, as a share of the values in it, on the safe side. */
static const double rounding = 2.3e-16;

/* A stretch that begins at node `at`, in all its steps. */
struct stretch {
    const struct lean *lean;
    const struct kernel_pipe *pipe;
    int depth;
    int at;
    int end;
};

/* What was seen of stretches before any step: the one after the one at work first, that one, and
 * those before it. */
struct seen {
    int count;
    struct slopes slopes[BEFORE + 2];
    struct along right[BEFORE + 2]; /* only where friction goes by a table */
    struct along left[BEFORE + 2];
    struct slopes_ways ways[3]; /* of the heads of the first three */
};

/* Widened by all that friction, and rounding where there is some, can do to a value in `depth`
 * steps. */
static struct bounds widen(struct bounds bounds, double loss, int depth)
{
    double largest = bounds.most > -bounds.least ? bounds.most : -bounds.least;
    double by = loss > 0.0 ? depth * (loss + rounding * (largest + loss * depth)) : 0.0;
    return (struct bounds){bounds.least - by, bounds.most + by};
}

static const double *line_of(const double *numbers, int line)
{
    return numbers + (ptrdiff_t)line * WIDEST;
}

/* The strands, a bit each, that in `depth` steps are quiet at the nodes from `first` to before the
 * stretch's `end`: no head passes its extremes. They meet values p that now are up to `behind`
 * nodes before them, and m of nodes from `at` on. */
static unsigned find_quiet(const struct stretch *stretch, int depth, int first, int behind, int end)
{
    const struct lean *lean = stretch->lean;
    const double loss = stretch->pipe->span_loss;
    struct along right;
    struct along left;
    struct along highest;
    struct along lowest;
    unsigned quiet = 0;
    const int back = first > behind ? first - behind : 0;
    along_look(end - back, line_of(lean->right, back), &right);
    along_look(end - stretch->at, line_of(lean->left, stretch->at), &left);
    along_look(end - first, line_of(lean->highest, first), &highest);
    along_look(end - first, line_of(lean->lowest, first), &lowest);
    for (int j = 0; j < WIDEST; j++) {
        const struct bounds there = widen(along_bounds(&right, j), loss, depth);
        const struct bounds here = widen(along_bounds(&left, j), loss, depth);
        const bool is_quiet =
            0.5 * (there.most + here.most) <= highest.least[j] + slopes_tolerance &&
            0.5 * (there.least + here.least) >= lowest.most[j] - slopes_tolerance;
        quiet |= (unsigned)is_quiet << j;
    }
    return quiet;
}

/* Whether all strands of each of these halves are. */
static bool are_quiet(unsigned quiet, int half)
{
    return (~quiet & slopes_half(half)) == 0;
}

/* The halves, of those not decided yet, that are quiet in the whole stretch and all its steps. Most
 * that are not show it at once. */
static void find_quiet_halves(const struct stretch *stretch, const bool is_open[2],
                              bool is_quiet[2])
{
    enum { FEW = 4 };
    const int depth = stretch->depth;
    const int first = stretch->at > depth ? stretch->at - depth : 0;
    const int few = stretch->at + FEW < stretch->end ? stretch->at + FEW : stretch->end;
    unsigned quiet = 0;
    if (is_open[0] || is_open[1]) {
        quiet = find_quiet(stretch, 0, stretch->at, 0, few);
    }
    if ((is_open[0] && are_quiet(quiet, 0)) || (is_open[1] && are_quiet(quiet, 1))) {
        quiet &= find_quiet(stretch, depth, first, depth, stretch->end);
    }
    for (int half = 0; half < 2; half++) {
        is_quiet[half] = is_open[half] && are_quiet(quiet, half);
    }
}

/* Looks at a stretch that no step has changed yet; nothing at one that is empty. */
static void look(const struct stretch *stretch, struct seen *seen)
{
    const struct lean *lean = stretch->lean;
    const struct kernel_pipe *pipe = stretch->pipe;
    const int at = stretch->at;
    const int pairs = stretch->end < lean->nodes ? stretch->end - at : stretch->end - at - 1;
    const double right = fmax(pipe->most_right, -pipe->least_right);
    const double left = fmax(pipe->most_left, -pipe->least_left);
    const struct slopes_law law = {stretch->depth, pipe->steepest,
                                   0.5 * rounding * stretch->depth * fmax(right, left)};
    memmove(seen->slopes + 1, seen->slopes, (BEFORE + 1) * sizeof *seen->slopes);
    memmove(seen->right + 1, seen->right, (BEFORE + 1) * sizeof *seen->right);
    memmove(seen->left + 1, seen->left, (BEFORE + 1) * sizeof *seen->left);
    seen->ways[2] = seen->ways[1];
    seen->ways[1] = seen->ways[0];
    seen->ways[0] = (struct slopes_ways){0, 0};
    seen->count += seen->count <= BEFORE + 1;
    if (at >= lean->nodes) {
        return;
    }
    slopes_find(pairs, line_of(lean->right, at), line_of(lean->left, at), &seen->slopes[0]);
    seen->ways[0] =
        slopes_find_ways(seen->count < BEFORE + 1 ? seen->count : BEFORE + 1, seen->slopes, &law);
    if (pipe->loss.kind == LOSS_TABLE) {
        along_look(stretch->end - at, line_of(lean->right, at), &seen->right[0]);
        along_look(stretch->end - at, line_of(lean->left, at), &seen->left[0]);
    }
}

/* The bounds of one strand in so many stretches. */
static struct bounds bounds_in(int count, const struct along along[], int strand)
{
    struct bounds bounds = along_bounds(&along[0], strand);
    for (int i = 1; i < count; i++) {
        bounds.least = fmin(bounds.least, along[i].least[strand]);
        bounds.most = fmax(bounds.most, along[i].most[strand]);
    }
    return bounds;
}

/* The intervals of the table in which each strand lies in all steps. On their way into the stretch
 * waves p have met m of the stretches before it. */
static void find_intervals(const struct stretch *stretch, const struct seen *seen,
                           struct intervals *intervals)
{
    const struct kernel_pipe *pipe = stretch->pipe;
    const int depth = stretch->depth;
    struct bounds between[WIDEST];
    for (int j = 0; j < WIDEST; j++) {
        const struct bounds right = bounds_in(seen->count - 1, seen->right + 1, j);
        const struct bounds met = bounds_in(seen->count - 1, seen->left + 1, j);
        const struct bounds left = along_bounds(&seen->left[1], j);
        /* What friction can take of these nodes, which may move more slowly than others. */
        const double most = fmax(right.most - met.least, met.most - right.least);
        const double taken = pipe->span_loss > 0.0
                                 ? loss_at(&pipe->loss, most + 2.0 * depth * pipe->span_loss).head
                                 : 0.0;
        const double loss = fmin(pipe->span_loss, 1.001 * taken);
        const struct bounds wide = widen(right, loss, depth);
        const struct bounds back = widen(left, loss, depth);
        const struct bounds all = widen(met, loss, depth);
        /* Friction moves p and m towards each other: p - m of one sign grows no larger. */
        between[j] = (struct bounds){wide.least - back.most, wide.most - back.least};
        if (wide.least - all.most > 0.0) {
            between[j].most -= 2.0 * depth * loss;
        } else if (wide.most - all.least < 0.0) {
            between[j].least += 2.0 * depth * loss;
        }
    }
    intervals_find(intervals, &pipe->loss, between);
}

/* The nodes from `first` to before `last` at step k. */
static void aim(const struct lean *lean, int first, int last, int step, struct sweep *sweep)
{
    sweep->count = (last - first) * WIDEST;
    sweep->right = lean->right + (ptrdiff_t)(first - step) * WIDEST;
    sweep->left = lean->left + (ptrdiff_t)(first + step) * WIDEST;
    sweep->highest = lean->highest + (ptrdiff_t)first * WIDEST;
    sweep->lowest = lean->lowest + (ptrdiff_t)first * WIDEST;
}

/* One line of heads, the `line`-th of a sweep. */
static void note_line(const struct sweep *sweep, int line)
{
    const ptrdiff_t at = (ptrdiff_t)line * WIDEST;
    const struct sweep one = {.count = WIDEST,
                              .right = sweep->right + at,
                              .left = sweep->left + at,
                              .highest = sweep->highest + at,
                              .lowest = sweep->lowest + at};
    sweep_note(&one);
}

/* Which heads of a stretch are noted. */
enum notes { NONE, EACH, FIRST_AND_LAST };

/* Of each half of the strands; and what comes into the stretch or leaves it at a step of
 * FIRST_AND_LAST: its neighbours go on the same way, or their nodes are noted too. */
struct noting {
    enum notes notes[2];
    bool comes;
    bool leaves;
};

/* The nodes that come in at a step without notes, and those that leave; at the ends of all nodes
 * they leave on both sides. */
static void note_borders(const struct stretch *stretch, const struct sweep *sweep,
                         const struct noting *noting, int step, int count)
{
    const bool is_any = noting->notes[0] == FIRST_AND_LAST || noting->notes[1] == FIRST_AND_LAST;
    if (is_any && (noting->comes || stretch->at <= 2 * step)) {
        note_line(sweep, 0);
    }
    if (is_any && noting->leaves) {
        note_line(sweep, count - 1);
    }
}

/* All steps of a stretch. Of FIRST_AND_LAST all heads are noted in the first and the last step. */
static void go_stretch(const struct stretch *stretch, struct sweep *sweep,
                       const struct noting *noting)
{
    const struct lean *lean = stretch->lean;
    for (int k = 0; k < stretch->depth; k++) {
        const int first = stretch->at - k > k ? stretch->at - k : k;
        const int last =
            stretch->at + STRETCH < lean->nodes ? stretch->at - k + STRETCH : lean->nodes - k;
        const bool is_between = k > 0 && k + 1 < stretch->depth;
        if (first >= last) {
            break;
        }
        aim(lean, first, last, k, sweep);
        for (int half = 0; half < 2; half++) {
            const enum notes notes = noting->notes[half];
            sweep->is_quiet[half] = notes == NONE || (notes == FIRST_AND_LAST && is_between);
        }
        if (is_between) {
            note_borders(stretch, sweep, noting, k, last - first);
        }
        sweep_take(sweep, &stretch->pipe->loss);
    }
}

/* What has to be noted of a stretch whose neighbours, after and before it, go these ways too. */
static struct noting judge(const struct stretch *stretch, const struct slopes_ways ways[3])
{
    struct noting noting = {{EACH, EACH}, false, false};
    bool is_open[2];
    bool is_quiet[2];
    for (int half = 0; half < 2; half++) {
        is_open[half] = !slopes_are_one_way(ways[1], half);
        if (!is_open[half]) {
            noting.notes[half] = FIRST_AND_LAST;
            noting.comes = noting.comes || !slopes_go_on(ways[2], ways[1], half);
            noting.leaves = noting.leaves || !slopes_go_on(ways[1], ways[0], half);
        }
    }
    find_quiet_halves(stretch, is_open, is_quiet);
    for (int half = 0; half < 2; half++) {
        noting.notes[half] = is_quiet[half] ? NONE : noting.notes[half];
    }
    return noting;
}

static struct stretch stretch_at(const struct lean *lean, const struct kernel_pipe *pipe, int depth,
                                 int at)
{
    const int begin = at < lean->nodes ? at : lean->nodes;
    const int end = at + STRETCH < lean->nodes ? at + STRETCH : lean->nodes;
    return (struct stretch){lean, pipe, depth, begin, end};
}

void lean_go(const struct lean *lean, const struct kernel_pipe *pipe, int depth)
{
    const struct bounds between = limits_differences(pipe);
    struct seen seen = {.count = 0};
    struct intervals intervals;
    struct stretch next = stretch_at(lean, pipe, depth, 0);
    look(&next, &seen);
    while (next.at < lean->nodes) {
        const struct stretch stretch = next;
        struct sweep sweep = {.least = between.least, .most = between.most};
        next = stretch_at(lean, pipe, depth, stretch.at + STRETCH);
        look(&next, &seen);
        if (pipe->loss.kind == LOSS_TABLE) {
            find_intervals(&stretch, &seen, &intervals);
            sweep.each = &intervals;
        }
        const struct noting noting = judge(&stretch, seen.ways);
        go_stretch(&stretch, &sweep, &noting);
    }
}

void lean_fill(const struct lean *lean, const struct kernel_pipe *pipe, int at, int depth)
{
    const struct bounds between = limits_differences(pipe);
    struct sweep sweep = {.least = between.least, .most = between.most, .each = &intervals_none};
    for (int k = 1; k < depth; k++) {
        aim(lean, at - k, at + k, k, &sweep);
        sweep_take(&sweep, &pipe->loss);
    }
}
