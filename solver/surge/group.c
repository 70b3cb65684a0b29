#include "solver/surge/group.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

enum { NEWTON_LIMIT = 80, CUT_LIMIT = 10, WHOLE_EVERY = 8 };

bool group_work_init(struct group_work *work, int point_count, int link_count, struct arena *arena,
                     struct failure *failure)
{
    size_t points = (size_t)point_count;
    size_t links = (size_t)link_count;
    work->matrix = arena_take(arena, points * points, sizeof *work->matrix);
    double *rows = arena_take(arena, 8 * points, sizeof *rows);
    double *columns = arena_take(arena, 5 * links, sizeof *columns);
    work->ray_span = arena_take(arena, links, sizeof *work->ray_span);
    work->is_loose = arena_take(arena, points, sizeof *work->is_loose);
    work->upright = arena_take(arena, links, sizeof *work->upright);
    work->was_upright = arena_take(arena, links, sizeof *work->was_upright);
    if (work->matrix == NULL || rows == NULL || columns == NULL || work->upright == NULL ||
        work->was_upright == NULL || work->ray_span == NULL || work->is_loose == NULL) {
        return fail_memory(failure, "surge groups");
    }
    work->head = rows;
    work->trial = rows + points;
    work->step = rows + 2 * points;
    work->residual = rows + 3 * points;
    work->balance = rows + 4 * points;
    work->inflow = rows + 5 * points;
    work->conductance = rows + 6 * points;
    work->present = rows + 7 * points;
    work->slope = columns;
    work->flow = columns + links;
    work->ray_flow = columns + 2 * links;
    work->ray_rate = columns + 3 * links;
    work->ray_drop = columns + 4 * links;
    return true;
}

/* fmax without its call: asked for every part at every step. */
static inline double larger(double a, double b)
{
    return b > a ? b : a;
}

/* Laws at the present heads and flows. */
static void evaluate(const struct group *group, const struct group_place *place,
                     struct group_work *work, double floor)
{
    for (int i = 0; i < group->point_count; i++) {
        int point = group->points[i];
        struct inflow inflow = ends_inflow(place->ends, place->kernel, point, place->head[point]);
        work->inflow[i] = inflow.flow - place->network->points[point].draw;
        work->conductance[i] = inflow.conductance;
        work->head[i] = place->head[point];
    }
    for (int k = 0; k < group->link_count; k++) {
        struct lumped *lumped = group->links[k].lumped;
        lumped->drop = lumped_drop(lumped, lumped->flow);
        work->slope[k] = larger(lumped->drop.slope, floor * group->impedance);
    }
}

/* Largest error of any law, as a share of 1 m + the largest head. */
static double measure_error(const struct group *group, struct group_work *work)
{
    double error = 0.0;
    memcpy(work->balance, work->inflow, (size_t)group->point_count * sizeof *work->balance);
    for (int k = 0; k < group->link_count; k++) {
        const struct group_link *link = &group->links[k];
        error = larger(error, group_off_graph(link->lumped, group_difference(link, work->head)));
        group_spread(link, link->lumped->flow, work->balance);
    }
    for (int i = 0; i < group->point_count; i++) {
        error = larger(error, fabs(work->balance[i]) * group->impedance);
    }
    work->missed = error;
    return error / group_scale(group, work->head);
}

/* How fast the content of the links changes along the step at share t of it, m4/s, at the heads of
 * its end; what pipe ends add is straight, and the step has it right already. */
static double content_slope(const struct group *group, struct group_work *work, double t)
{
    double sum = 0.0;
    for (int k = 0; k < group->link_count; k++) {
        const struct group_link *link = &group->links[k];
        double change = work->flow[k] - link->lumped->flow;
        struct drop drop = lumped_drop(link->lumped, link->lumped->flow + t * change);
        sum += change * (drop.head - group_difference(link, work->head));
    }
    return sum;
}

/* Share of the step to go: all of it, or half as often as the content rises there more steeply than
 * it fell. */
static double find_share(const struct group *group, struct group_work *work)
{
    const double start = content_slope(group, work, 0.0);
    double share = 1.0;
    for (int i = 0; i < CUT_LIMIT && content_slope(group, work, share) > fabs(start); i++) {
        share *= 0.5;
    }
    return share;
}

/* Goes `share` of the way to the linearised answer. */
static void move(const struct group *group, const struct group_place *place,
                 const struct group_work *work, double share)
{
    for (int i = 0; i < group->point_count; i++) {
        place->head[group->points[i]] = work->head[i];
    }
    for (int k = 0; k < group->link_count; k++) {
        struct lumped *lumped = group->links[k].lumped;
        double change = work->flow[k] - lumped->flow;
        lumped->flow = share < 1.0 ? lumped->flow + share * change : work->flow[k];
    }
}

/* Whether every flow lies in its span. */
static bool keeps_to_spans(const struct group *group)
{
    for (int k = 0; k < group->link_count; k++) {
        const struct lumped *lumped = group->links[k].lumped;
        if (lumped->flow < lumped->span.lower || lumped->flow > lumped->span.upper) {
            return false;
        }
    }
    return true;
}

bool group_solve(const struct group *group, const struct group_place *place,
                 struct group_work *work)
{
    double best = INFINITY;
    for (int i = 0; i < NEWTON_LIMIT; i++) {
        evaluate(group, place, work, group_slope_floor(i));
        double error = measure_error(group, work);
        bool is_stalled = error <= group_loose && error > 0.5 * best;
        if ((i > 0 && (error <= group_tight || is_stalled)) ||
            (i == 0 && error <= group_tight && keeps_to_spans(group))) {
            return true;
        }
        bool is_good = i > 0 && error < best;
        best = fmin(best, error);
        group_solve_linear(group, work);
        /* The first step may have to mend flows that a new span has moved: content does not know
         * of that, so it is taken whole; and one now and then, lest a law that is not monotone
         * after all (a pump's rising part) holds the search fast; and each one after the error was
         * less than ever: that can go on only while it falls. */
        bool is_whole = i % WHOLE_EVERY == 0 || is_good;
        move(group, place, work, is_whole ? 1.0 : find_share(group, work));
    }
    evaluate(group, place, work, group_slope_floor(0));
    return measure_error(group, work) <= group_loose;
}
