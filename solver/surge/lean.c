#include "solver/surge/lean.h"

#include "models/each_width.h"
#include "solver/surge/limits.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* Numbers of a stretch (with its four a node in half of a nearest cache of 32 KiB); one of how many
 * stretches is looked at anyway. */
enum { STRETCH = 512, SELDOM = 8 };

/* Rounding of one sum or difference, as a share of the values in it, on the safe side. */
static const double rounding = 2.3e-16;

/* Widened by all that friction, and rounding where there is some, can do to a value in `depth`
 * steps. */
static struct bounds widen(struct bounds bounds, double loss, int depth)
{
    double largest = bounds.most > -bounds.least ? bounds.most : -bounds.least;
    double by = loss > 0.0 ? depth * (loss + rounding * (largest + loss * depth)) : 0.0;
    return (struct bounds){bounds.least - by, bounds.most + by};
}

struct sweep lean_foresee(const struct kernel_pipe *pipe, int depth, struct bounds right,
                          struct bounds left, struct bounds highest, struct bounds lowest)
{
    struct bounds there = widen(right, pipe->span_loss, depth);
    struct bounds here = widen(left, pipe->span_loss, depth);
    return (struct sweep){
        .least = there.least - here.most,
        .most = there.most - here.least,
        .is_quiet = 0.5 * (there.most + here.most) <= highest.least &&
                    0.5 * (there.least + here.least) >= lowest.most,
    };
}

/* What can be said of all nodes of the stretch that begins at node `at`, in all its steps. It leans
 * back by one node a step, and the values p it meets come from one more node back a step. */
static struct sweep look_at(const struct lean *lean, const struct kernel_pipe *pipe, int at,
                            int stretch, int depth)
{
    int end = at + stretch < lean->nodes ? at + stretch : lean->nodes;
    int back = at > depth ? at - depth : 0;
    int far_back = at > 2 * depth ? at - 2 * depth : 0;
    return lean_foresee(pipe, depth, sweep_bounds(end - far_back, lean->right + far_back),
                        sweep_bounds(end - at, lean->left + at),
                        sweep_bounds(end - back, lean->highest + back),
                        sweep_bounds(end - back, lean->lowest + back));
}

/* One stretch, which begins at node `at`. */
static void go_stretch(const struct lean *lean, const struct kernel_pipe *pipe, int at, int stretch,
                       int depth, struct sweep sweep)
{
    for (int k = 0; k < depth; k++) {
        int first = at - k > k ? at - k : k;
        int last = at - k + stretch < lean->nodes - k ? at - k + stretch : lean->nodes - k;
        if (first >= last) {
            break;
        }
        ptrdiff_t wide = lean->strands;
        sweep.count = (last - first) * lean->strands;
        sweep.right = lean->right + (first - k) * wide;
        sweep.left = lean->left + (first + k) * wide;
        sweep.highest = lean->highest + first * wide;
        sweep.lowest = lean->lowest + first * wide;
        sweep_take(&sweep, &pipe->loss);
    }
}

/* Strand by strand the bounds of some numbers. */
struct along {
    double least[WIDEST];
    double most[WIDEST];
};

EACH_WIDTH
static void look_along(int count, const double *restrict value, struct along *along)
{
    double least[WIDEST];
    double most[WIDEST];
    for (int j = 0; j < WIDEST; j++) {
        least[j] = INFINITY;
        most[j] = -INFINITY;
    }
    for (int v = 0; v < count; v++) {
        const double *restrict here = value + (ptrdiff_t)v * WIDEST;
        for (int j = 0; j < WIDEST; j++) {
            least[j] = here[j] < least[j] ? here[j] : least[j];
            most[j] = here[j] > most[j] ? here[j] : most[j];
        }
    }
    memcpy(along->least, least, sizeof least);
    memcpy(along->most, most, sizeof most);
}

static struct bounds bounds_of(const struct along *along, int strand)
{
    return (struct bounds){along->least[strand], along->most[strand]};
}

/* Whether in `depth` steps all strands are quiet at the nodes from `first` to before `end`, which
 * meet values p that now are up to `behind` nodes before them. */
static bool are_quiet(const struct lean *lean, const struct kernel_pipe *pipe, int depth, int first,
                      int behind, int at, int end)
{
    struct along right;
    struct along left;
    struct along highest;
    struct along lowest;
    const int back = first > behind ? first - behind : 0;
    look_along(end - back, lean->right + (ptrdiff_t)back * WIDEST, &right);
    look_along(end - at, lean->left + (ptrdiff_t)at * WIDEST, &left);
    look_along(end - first, lean->highest + (ptrdiff_t)first * WIDEST, &highest);
    look_along(end - first, lean->lowest + (ptrdiff_t)first * WIDEST, &lowest);
    for (int j = 0; j < WIDEST; j++) {
        if (!lean_foresee(pipe, depth, bounds_of(&right, j), bounds_of(&left, j),
                          bounds_of(&highest, j), bounds_of(&lowest, j))
                 .is_quiet) {
            return false;
        }
    }
    return true;
}

/* The same of the stretch that begins at node `at`, in all its steps (see look_at). Most stretches
 * that are not quiet show it at once. */
static bool is_quiet(const struct lean *lean, const struct kernel_pipe *pipe, int depth, int at,
                     int end)
{
    enum { FEW = 4 };
    const int first = at > depth ? at - depth : 0;
    const int few = at + FEW < end ? at + FEW : end;
    return are_quiet(lean, pipe, 0, at, 0, at, few) &&
           are_quiet(lean, pipe, depth, first, depth, at, end);
}

void lean_go_known(const struct lean *lean, const struct kernel_pipe *pipe, int depth,
                   const struct sweep *all)
{
    const int stretch = STRETCH / WIDEST;
    for (int at = 0; at < lean->nodes; at += stretch) {
        const int end = at + stretch < lean->nodes ? at + stretch : lean->nodes;
        struct sweep sweep = *all;
        sweep.is_quiet = all->is_quiet || is_quiet(lean, pipe, depth, at, end);
        go_stretch(lean, pipe, at, stretch, depth, sweep);
    }
}

void lean_go(const struct lean *lean, const struct kernel_pipe *pipe, int depth)
{
    /* Looking costs a pass: where a table has no need of it, only beside quiet stretches or seldom.
     */
    struct bounds between = limits_differences(pipe);
    bool was_quiet = false;
    for (int at = 0; at < lean->nodes; at += STRETCH) {
        struct sweep sweep = {.least = between.least, .most = between.most};
        if (pipe->loss.kind == LOSS_TABLE || was_quiet || at / STRETCH % SELDOM == 0) {
            sweep = look_at(lean, pipe, at, STRETCH, depth);
        }
        was_quiet = sweep.is_quiet;
        go_stretch(lean, pipe, at, STRETCH, depth, sweep);
    }
}
