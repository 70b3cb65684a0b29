#include "solver/surge/group.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

enum { NEWTON_LIMIT = 80, CUT_LIMIT = 10, WHOLE_EVERY = 8 };

/* A step that leaves less than this share of the error is good; the next one is not searched. */
static const double good_share = 0.1;

bool group_work_init(struct group_work *work, int point_count, int link_count, struct arena *arena,
                     struct failure *failure)
{
    size_t points = (size_t)point_count;
    size_t links = (size_t)link_count;
    work->matrix = arena_take(arena, points * points, sizeof *work->matrix);
    double *rows = arena_take(arena, 8 * points, sizeof *rows);
    double *columns = arena_take(arena, 7 * links, sizeof *columns);
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
    work->extra = columns + 5 * links;
    work->rate = columns + 6 * links;
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

/* Content slope, m4/s, that is only the round-off of heads. */
static double content_noise(const struct group *group, const struct group_work *work)
{
    double sum = 0.0;
    for (int k = 0; k < group->link_count; k++) {
        sum += fabs(work->flow[k] - group->links[k].lumped->flow);
    }
    return group_loose * group_scale(group, work->head) * sum;
}

/* Derivative of the content along the step at share t of it. */
static double content_slope(const struct group *group, struct group_work *work, double t)
{
    double sum = 0.0;
    for (int i = 0; i < group->point_count; i++) {
        work->trial[i] = work->head[i];
        work->balance[i] = 0.0;
    }
    for (int k = 0; k < group->link_count; k++) {
        const struct group_link *link = &group->links[k];
        group_spread(link, work->flow[k] - link->lumped->flow, work->balance);
    }
    for (int i = 0; i < group->point_count; i++) {
        if (work->conductance[i] > 0.0) {
            work->trial[i] += (t - 1.0) * work->balance[i] / work->conductance[i];
        }
    }
    for (int k = 0; k < group->link_count; k++) {
        const struct group_link *link = &group->links[k];
        double change = work->flow[k] - link->lumped->flow;
        struct drop drop = lumped_drop(link->lumped, link->lumped->flow + t * change);
        sum += change * (drop.head - group_difference(link, work->trial));
    }
    return sum;
}

/* Share of the step to go: all of it unless the content rises steeply there. */
static double find_share(const struct group *group, struct group_work *work)
{
    double start = content_slope(group, work, 0.0);
    double end = content_slope(group, work, 1.0);
    if (!(start < 0.0) || !(end > -0.5 * start) || end <= content_noise(group, work)) {
        return 1.0;
    }
    double low = 0.0;
    double high = 1.0;
    double share = 1.0;
    double low_slope = start;
    double high_slope = end;
    for (int i = 0; i < CUT_LIMIT; i++) {
        double secant = low - low_slope * (high - low) / (high_slope - low_slope);
        double margin = 0.1 * (high - low);
        share = fmin(fmax(secant, low + margin), high - margin);
        double here = content_slope(group, work, share);
        if (fabs(here) <= -0.5 * start) {
            break;
        }
        if (here < 0.0) {
            low = share;
            low_slope = here;
        } else {
            high = share;
            high_slope = here;
        }
    }
    return share;
}

/* Goes `share` of the way to the linearised answer. */
static void move(const struct group *group, const struct group_place *place,
                 const struct group_work *work, double share)
{
    for (int i = 0; i < group->point_count; i++) {
        double *head = &place->head[group->points[i]];
        *head = share < 1.0 ? *head + share * (work->head[i] - *head) : work->head[i];
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
        bool is_good = i > 0 && error <= good_share * best;
        best = fmin(best, error);
        if (group_solve_linear(group, work)) {
            group_take_floors_away(group, work);
        }
        /* The first step may have to mend flows that a new span has moved: content does not know
         * of that, so it is taken whole; and one now and then, lest a law that is not monotone
         * after all (a pump's rising part) holds the search fast; and each one after a good one:
         * that can go on only while the error falls fast. */
        bool is_whole = i % WHOLE_EVERY == 0 || is_good;
        move(group, place, work, is_whole ? 1.0 : find_share(group, work));
    }
    evaluate(group, place, work, group_slope_floor(0));
    return measure_error(group, work) <= group_loose;
}
