#include "solver/surge/group_linear.h"

#include "solver/steady/ray.h"

#include <math.h>
#include <string.h>

enum { LINEAR_LIMIT = 60, FLOOR_EVERY = 10 };

const double group_tight = 1e-13;
const double group_loose = 1e-8;

/* Of 1 m + the largest head: smaller changes of heads are round-off. */
static const double round_off = 1e-13;

double group_slope_floor(int iteration)
{
    static const double floors[] = {1e-3, 1e-5, 1e-7};
    const int i = iteration / FLOOR_EVERY;
    return floors[i < 2 ? i : 2];
}

/* Flow of a link on its line at the heads in work->head, whatever its span. */
static inline double free_flow(const struct group *group, const struct group_work *work, int k)
{
    const struct group_link *link = &group->links[k];
    const double excess =
        group_difference(link, work->head) - link->lumped->drop.head - work->extra[k];
    return link->lumped->flow + excess * work->rate[k];
}

/* Water too much at each point at the heads in work->head; flows and who is at an upright follow.
 */
static void find_residual(const struct group *group, struct group_work *work)
{
    for (int i = 0; i < group->point_count; i++) {
        work->residual[i] =
            work->inflow[i] - work->conductance[i] * (work->head[i] - work->present[i]);
    }
    for (int k = 0; k < group->link_count; k++) {
        const struct group_link *link = &group->links[k];
        const struct lumped *lumped = link->lumped;
        const double flow = free_flow(group, work, k);
        const bool is_above = flow > lumped->span.lower;
        const bool is_below = flow < lumped->span.upper;
        work->upright[k] = (signed char)(!is_above ? -1 : !is_below ? 1 : 0);
        work->flow[k] = !is_above ? lumped->span.lower : is_below ? flow : lumped->span.upper;
        group_spread(link, work->flow[k], work->residual);
    }
}

/* The lower part of the matrix, which is symmetric. */
static void fill_matrix(const struct group *group, struct group_work *work)
{
    const int n = group->point_count;
    double *matrix = work->matrix;
    memset(matrix, 0, (size_t)n * (size_t)n * sizeof *matrix);
    for (int i = 0; i < n; i++) {
        matrix[i * n + i] = work->conductance[i];
    }
    for (int k = 0; k < group->link_count; k++) {
        const int from = group->links[k].from;
        const int to = group->links[k].to;
        const int high = from > to ? from : to;
        const int low = from > to ? to : from; /* or GROUP_HELD, the lowest of all */
        if (work->upright[k] != 0 || high == GROUP_HELD) {
            continue;
        }
        const double conductance = work->rate[k];
        matrix[high * n + high] += conductance;
        if (low != GROUP_HELD) {
            matrix[low * n + low] += conductance;
            matrix[high * n + low] -= conductance;
        }
    }
}

/* matrix [n n] = L L^T in its lower part, with the inverse of L's diagonal on its own; where a
 * pivot vanishes but for round-off, 1 takes its place. */
static void factor(int n, double matrix[], bool is_loose[])
{
    for (int j = 0; j < n; j++) {
        const double diagonal = matrix[j * n + j];
        double pivot = diagonal;
        for (int k = 0; k < j; k++) {
            pivot -= matrix[j * n + k] * matrix[j * n + k];
        }
        is_loose[j] = !(pivot > group_tight * diagonal);
        const double inverse = is_loose[j] ? 1.0 : 1.0 / sqrt(pivot);
        matrix[j * n + j] = inverse;
        for (int i = j + 1; i < n; i++) {
            double sum = matrix[i * n + j];
            for (int k = 0; k < j; k++) {
                sum -= matrix[i * n + k] * matrix[j * n + k];
            }
            matrix[i * n + j] = sum * inverse;
        }
    }
}

/* L L^T x = b in place. */
static void substitute(int n, const double matrix[], double x[])
{
    for (int i = 0; i < n; i++) {
        for (int k = 0; k < i; k++) {
            x[i] -= matrix[i * n + k] * x[k];
        }
        x[i] *= matrix[i * n + i];
    }
    for (int i = n - 1; i >= 0; i--) {
        for (int k = i + 1; k < n; k++) {
            x[i] -= matrix[k * n + i] * x[k];
        }
        x[i] *= matrix[i * n + i];
    }
}

/* How fast the dual grows at the start of the step. */
static double dual_slope(const struct group *group, const struct group_work *work)
{
    double sum = 0.0;
    for (int i = 0; i < group->point_count; i++) {
        sum += work->residual[i] * work->step[i];
    }
    return sum;
}

/* Round-off of the water that flows through all links, m3/s. */
static double water_blur(const struct group *group, const struct group_work *work)
{
    double flows = 0.0;
    for (int k = 0; k < group->link_count; k++) {
        flows += fabs(work->flow[k]);
    }
    return group_tight * flows;
}

/* Points that no link on its slope and no pipe joins to a head, with water left over among them:
 * no heads help before one of their links leaves its upright. The step then raises them all alike,
 * or lowers them, and nothing else. False: no such points. */
static bool find_loose_step(const struct group *group, struct group_work *work)
{
    const int n = group->point_count;
    for (int j = 0; j < n; j++) {
        if (!work->is_loose[j]) {
            continue;
        }
        /* The matrix has 1 here and nothing else of its own: so much of a right side gives 1 m at
         * each point of this part. */
        memset(work->step, 0, (size_t)n * sizeof *work->step);
        work->step[j] = 1.0;
        substitute(n, work->matrix, work->step);
        const double water = dual_slope(group, work);
        if (fabs(water) > water_blur(group, work)) {
            for (int i = 0; i < n; i++) {
                work->step[i] = copysign(work->step[i], water);
            }
            return true;
        }
    }
    return false;
}

/* Newton's step. False: it moves no head by more than round-off, within which links whose flows are
 * just at the end of their spans would go to and fro for ever. */
static bool find_newton_step(const struct group *group, struct group_work *work)
{
    const size_t n = (size_t)group->point_count;
    memcpy(work->step, work->residual, n * sizeof *work->step);
    substitute(group->point_count, work->matrix, work->step);
    return group_largest(group, work->step) > round_off * group_scale(group, work->head);
}

static void take_step(const struct group *group, struct group_work *work, double share)
{
    for (int i = 0; i < group->point_count; i++) {
        work->head[i] += share * work->step[i];
    }
    find_residual(group, work);
}

/* Shares of the step to the dual's greatest value along it, which grows by `slope` at first;
 * infinite: it has none. */
static double find_share(const struct group *group, struct group_work *work, double slope)
{
    struct ray ray = {.start = -slope,
                      .count = group->link_count,
                      .flow = work->ray_flow,
                      .rate = work->ray_rate,
                      .drop = work->ray_drop,
                      .span = work->ray_span};
    for (int i = 0; i < group->point_count; i++) {
        ray.linear += work->conductance[i] * work->step[i] * work->step[i];
    }
    for (int k = 0; k < group->link_count; k++) {
        work->ray_flow[k] = free_flow(group, work, k);
        work->ray_drop[k] = group_change(&group->links[k], work->step);
        work->ray_rate[k] = work->ray_drop[k] * work->rate[k];
        work->ray_span[k] = group->links[k].lumped->span;
    }
    return ray_root(&ray);
}

/* Notes where each link is, on its slope or at an upright; whether all are where they were. */
static bool mark_uprights(const struct group *group, struct group_work *work)
{
    bool is_same = true;
    for (int k = 0; k < group->link_count; k++) {
        is_same = is_same && work->was_upright[k] == work->upright[k];
        work->was_upright[k] = work->upright[k];
    }
    return is_same;
}

bool group_solve_linear(const struct group *group, struct group_work *work)
{
    const size_t heads = (size_t)group->point_count * sizeof *work->head;
    memcpy(work->present, work->head, heads);
    for (int k = 0; k < group->link_count; k++) {
        work->extra[k] = 0.0;
        work->rate[k] = 1.0 / work->slope[k];
    }
    find_residual(group, work);
    (void)mark_uprights(group, work);
    for (work->rounds = 1; work->rounds <= LINEAR_LIMIT; work->rounds++) {
        fill_matrix(group, work);
        factor(group->point_count, work->matrix, work->is_loose);
        const bool is_loose = find_loose_step(group, work);
        const bool is_last = !is_loose && !find_newton_step(group, work);
        const double slope = dual_slope(group, work);
        memcpy(work->trial, work->head, heads);
        take_step(group, work, 1.0);
        const bool is_same = mark_uprights(group, work);
        if (is_last || (is_same && !is_loose)) {
            return is_same;
        }
        memcpy(work->head, work->trial, heads);
        const double share = find_share(group, work, slope);
        /* None: more water than all ways out can take, or less. */
        take_step(group, work, isfinite(share) ? share : 0.0);
        if (memcmp(work->head, work->trial, heads) == 0) {
            return false;
        }
        (void)mark_uprights(group, work);
    }
    return false;
}

/* Takes from each drop what its floor adds at the flow in work->flow; flows and residual follow.
 * False: no floor adds anything. */
static bool shift_drops(const struct group *group, struct group_work *work)
{
    bool is_any = false;
    for (int k = 0; k < group->link_count; k++) {
        const struct lumped *lumped = group->links[k].lumped;
        const double floored = work->slope[k] - lumped->drop.slope;
        if (!(floored > 0.0) || work->upright[k] != 0) {
            continue;
        }
        work->extra[k] = -floored * (work->flow[k] - lumped->flow);
        group_spread(&group->links[k], -work->extra[k] * work->rate[k], work->residual);
        is_any = true;
    }
    return is_any;
}

void group_take_floors_away(const struct group *group, struct group_work *work)
{
    const size_t heads = (size_t)group->point_count * sizeof *work->head;
    if (!shift_drops(group, work)) {
        return;
    }
    memcpy(work->trial, work->head, heads);
    memcpy(work->step, work->residual, heads);
    substitute(group->point_count, work->matrix, work->step);
    take_step(group, work, 1.0);
    if (!mark_uprights(group, work)) {
        memset(work->extra, 0, (size_t)group->link_count * sizeof *work->extra);
        memcpy(work->head, work->trial, heads);
        find_residual(group, work);
    }
}
