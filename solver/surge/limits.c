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

/* Rounding of a value in a step, as a share of the largest, on the safe side. */
static const double rounding = 1e-14;

/* What a step changes along the gradient is asked for anew when differences have spread by this
 * share of how far they lie apart, and this one of the largest of them. */
static const double grade_slack = 0.25;
static const double grade_least = 1e-3;

void limits_forget(struct kernel_pipe *pipe)
{
    pipe->is_unbounded = true;
    pipe->span = -(double)INFINITY;
    pipe->grade.is_known = false;
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

/* Most pipes have no wall that gives: these are not asked. */
static double most_given(const struct kernel_pipe *pipe)
{
    return pipe->memory != NULL && pipe->memory->wall.count > 0 ? memory_most_given(pipe) : 0.0;
}

static void find_lowest_next(struct kernel_pipe *pipe)
{
    const double lowest = 0.5 * (pipe->least_right + pipe->least_left);
    pipe->lowest_next = -or_infinite(0.5 * most_given(pipe) - lowest);
}

static double largest_value(const struct kernel_pipe *pipe)
{
    return fmax(fmax(pipe->most_right, -pipe->least_right),
                fmax(pipe->most_left, -pipe->least_left));
}

/* From the gradient between a pipe's ends now; any other would hold too, but say less. */
static void find_grade(const struct kernel *kernel, struct kernel_pipe *pipe)
{
    struct grade *grade = &pipe->grade;
    const int count = pipe->reaches + 1;
    const double *right = row_right(kernel) + pipe->first;
    const double *left = row_left(kernel) + pipe->first;
    grade->is_known = false;
    if (fold_is_on(pipe) || pipe->memory != NULL || pipe->loss.kind != LOSS_TABLE) {
        return;
    }
    const double fall = (right[0] - right[pipe->reaches]) / pipe->reaches;
    const double round = rounding * (largest_value(pipe) + fabs(fall) * pipe->reaches);
    const struct bounds along = sweep_bounds_along(count, right, fall);
    const struct bounds against = sweep_bounds_along(count, left, fall);
    *grade = (struct grade){.is_known = true,
                            .fall = fall,
                            .least_right = along.least - round,
                            .most_right = along.most + round,
                            .least_left = against.least - round,
                            .most_left = against.most + round,
                            .least = (double)INFINITY,
                            .most = -(double)INFINITY};
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
    find_grade(kernel, pipe);
    memory_look(pipe);
    find_lowest_next(pipe);
    if (!(pipe->span <= span_most * largest_of(limits_differences(pipe)))) {
        pipe->span = -(double)INFINITY;
    }
    pipe->near.count = 0;
    pipe->is_unbounded = false;
    pipe->bounds_age = 0;
}

void limits_find_moving(const struct kernel *kernel, struct kernel_pipe *pipe)
{
    struct grade *grade = &pipe->grade;
    limits_find(kernel, pipe);
    grade->least_right += grade->fall;
    grade->most_right += grade->fall;
    grade->least_left -= grade->fall;
    grade->most_left -= grade->fall;
}

void limits_renew(const struct kernel *kernel, struct kernel_pipe *pipe)
{
    if (pipe->is_unbounded || pipe->bounds_age >= LOOK_EVERY) {
        limits_find(kernel, pipe);
    }
}

struct bounds limits_differences(const struct kernel_pipe *pipe)
{
    const struct grade *grade = &pipe->grade;
    struct bounds between = {pipe->least_right - pipe->most_left,
                             pipe->most_right - pipe->least_left};
    if (grade->is_known) {
        /* Asked so and not by fmax, of which compilers make a call. */
        const double least = grade->least_right - grade->most_left;
        const double most = grade->most_right - grade->least_left;
        between.least = least > between.least ? least : between.least;
        between.most = most < between.most ? most : between.most;
    }
    return between;
}

/* Friction is taken once, while all p - m lie between these. */
static void loosen_grade(struct kernel_pipe *pipe, struct bounds between)
{
    struct grade *grade = &pipe->grade;
    if (!(between.least >= grade->least && between.most <= grade->most)) {
        const double more =
            grade_slack * (between.most - between.least) + grade_least * largest_of(between);
        grade->least = between.least - more;
        grade->most = between.most + more;
        const double low = loss_at(&pipe->loss, grade->least).head;
        const double high = loss_at(&pipe->loss, grade->most).head;
        grade->change = fmax(high - grade->fall, grade->fall - low) +
                        (loss_slack - 1.0) * fmax(high, -low) + rounding * largest_value(pipe);
    }
    grade->is_known = grade->change < (double)INFINITY;
    grade->least_right -= grade->change;
    grade->most_right += grade->change;
    grade->least_left -= grade->change;
    grade->most_left += grade->change;
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
        pipe->most_change = or_infinite(pipe->span_loss + loss_slack * most_given(pipe));
        pipe->least_right -= pipe->most_change;
        pipe->most_right += pipe->most_change;
        pipe->least_left -= pipe->most_change;
        pipe->most_left += pipe->most_change;
        if (pipe->grade.is_known) {
            loosen_grade(pipe, between);
        }
    }
    pipe->bounds_age += times;
    if (pipe->memory != NULL) {
        pipe->memory->age += times;
    }
    find_lowest_next(pipe);
}
