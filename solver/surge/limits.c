#include "solver/surge/limits.h"

#include "solver/surge/fold.h"
#include "solver/surge/memory.h"

#include <math.h>

/* Steps after which the values are looked at anew. */
enum { LOOK_EVERY = 32 };

/* The largest loss of a pipe is asked for anew when its largest difference has grown by this much;
 * and it is taken so much larger, since the tables rise only but for their error. */
static const double span_slack = 1.25;
static const double loss_slack = 1.001;

/* It is asked for anew too when values that were looked at differ by so much less: limits that
 * nobody looks at widen the faster the wider they are, and the loss of those would undo at once
 * what was found. */
static const double span_most = 4.0;

void limits_forget(struct kernel_pipe *pipe)
{
    pipe->is_unbounded = true;
    pipe->span = -(double)INFINITY;
}

/* What is no number, since it grew beyond all numbers, is infinite: then nothing is known, whereas
 * each comparison with none is false, also whether water may boil. */
static double or_infinite(double most)
{
    return most < (double)INFINITY ? most : (double)INFINITY;
}

static double largest_of(struct bounds between)
{
    return between.most > -between.least ? between.most : -between.least;
}

static void find_lowest_next(struct kernel_pipe *pipe)
{
    const double lowest = 0.5 * (pipe->least_right + pipe->least_left);
    pipe->lowest_next = -or_infinite(0.5 * memory_most_given(pipe) - lowest);
}

void limits_find(const struct kernel *kernel, struct kernel_pipe *pipe)
{
    const bool is_folded = fold_is_on(pipe);
    const int count = is_folded ? pipe->fold->lines * WIDEST : pipe->reaches + 1;
    const struct bounds right = sweep_bounds(count, node_right(kernel, pipe, 0));
    const struct bounds left = sweep_bounds(count, node_left(kernel, pipe, 0));
    pipe->least_right = right.least;
    pipe->most_right = right.most;
    pipe->least_left = left.least;
    pipe->most_left = left.most;
    memory_look(pipe);
    find_lowest_next(pipe);
    if (!(pipe->span <= span_most * largest_of(limits_differences(pipe)))) {
        pipe->span = -(double)INFINITY;
    }
    pipe->is_unbounded = false;
    pipe->bounds_age = 0;
}

void limits_renew(const struct kernel *kernel, struct kernel_pipe *pipe)
{
    if (pipe->is_unbounded || pipe->bounds_age >= LOOK_EVERY) {
        limits_find(kernel, pipe);
    }
}

struct bounds limits_differences(const struct kernel_pipe *pipe)
{
    return (struct bounds){pipe->least_right - pipe->most_left,
                           pipe->most_right - pipe->least_left};
}

void limits_loosen(struct kernel_pipe *pipe, int times)
{
    /* Each time may widen the differences by twice the loss, which then may be larger. */
    for (int i = 0; i < times; i++) {
        struct bounds between = limits_differences(pipe);
        double most = largest_of(between);
        if (pipe->memory != NULL) {
            pipe->span_loss =
                or_infinite(loss_slack * memory_most_loss(pipe, between.least, between.most));
        } else if (!(most <= pipe->span)) {
            pipe->span = span_slack * most;
            pipe->span_loss = or_infinite(loss_slack * loss_at(&pipe->loss, pipe->span).head);
            pipe->steepest = or_infinite(loss_slack * loss_steepest(&pipe->loss, pipe->span));
        }
        pipe->most_change = or_infinite(pipe->span_loss + loss_slack * memory_most_given(pipe));
        pipe->least_right -= pipe->most_change;
        pipe->most_right += pipe->most_change;
        pipe->least_left -= pipe->most_change;
        pipe->most_left += pipe->most_change;
    }
    pipe->bounds_age += times;
    if (pipe->memory != NULL) {
        pipe->memory->age += times;
    }
    find_lowest_next(pipe);
}
