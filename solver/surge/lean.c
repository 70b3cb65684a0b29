#include "solver/surge/lean.h"

#include "solver/surge/limits.h"

#include <stddef.h>

/* Numbers of a stretch (with its four a node in half of a nearest cache of 32 KiB); one of how many
 * stretches is looked at anyway. */
enum { STRETCH = 512, SELDOM = 8 };

/* Rounding of one sum or difference, as a share of the values in it, on the safe side. */
static const double rounding = 2.3e-16;

/* Widened by all that friction and rounding can do to a value in `depth` steps. */
static struct bounds widen(struct bounds bounds, double loss, int depth)
{
    double largest = bounds.most > -bounds.least ? bounds.most : -bounds.least;
    double by = depth * (loss + rounding * (largest + loss * depth));
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

void lean_go_known(const struct lean *lean, const struct kernel_pipe *pipe, int depth,
                   const struct sweep *all)
{
    int stretch = STRETCH / lean->strands;
    for (int at = 0; at < lean->nodes; at += stretch) {
        go_stretch(lean, pipe, at, stretch, depth, *all);
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
