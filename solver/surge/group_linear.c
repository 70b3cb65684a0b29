#include "solver/surge/group_linear.h"

#include <math.h>
#include <string.h>

enum { LINEAR_LIMIT = 60, CUT_LIMIT = 20, FLOOR_EVERY = 10 };

const double group_tight = 1e-13;
const double group_loose = 1e-8;

/* A pivot smaller than this share of its diagonal belongs to points cut off from every head. */
static const double pivot_tolerance = 1e-13;

/* Heads this share of 1 m + themselves apart are the same but for round-off. A line search among
 * them would only follow the noise. */
static const double same_head = 1e-15;

/* Conductance such points get, as a share of 1/impedance, for the step towards the answer. */
static const double cut_off_share = 1e-9;

double group_slope_floor(int iteration)
{
    static const double floors[] = {1e-3, 1e-5, 1e-7};
    const int i = iteration / FLOOR_EVERY;
    return floors[i < 2 ? i : 2];
}

/* Water too much at each point if its heads were `head`; flows and who is at an upright follow. */
static void find_residual(const struct group *group, struct group_work *work,
                          const double present[], const double head[])
{
    for (int i = 0; i < group->point_count; i++) {
        work->residual[i] = work->inflow[i] - work->conductance[i] * (head[i] - present[i]);
    }
    for (int k = 0; k < group->link_count; k++) {
        const struct group_link *link = &group->links[k];
        const struct lumped *lumped = link->lumped;
        double excess = group_difference(link, head) - lumped->drop.head;
        double flow = lumped->flow + excess / work->slope[k];
        const bool is_above = flow > lumped->span.lower;
        const bool is_below = flow < lumped->span.upper;
        work->upright[k] = (signed char)(!is_above ? -1 : !is_below ? 1 : 0);
        flow = is_above ? flow : lumped->span.lower;
        work->flow[k] = flow < lumped->span.upper ? flow : lumped->span.upper;
        group_spread(link, work->flow[k], work->residual);
    }
}

static void fill_matrix(const struct group *group, struct group_work *work)
{
    int n = group->point_count;
    double *matrix = work->matrix;
    memset(matrix, 0, (size_t)n * (size_t)n * sizeof *matrix);
    for (int i = 0; i < n; i++) {
        matrix[i * n + i] = work->conductance[i];
    }
    for (int k = 0; k < group->link_count; k++) {
        int from = group->links[k].from;
        int to = group->links[k].to;
        double conductance = work->upright[k] == 0 ? 1.0 / work->slope[k] : 0.0;
        if (from != GROUP_HELD) {
            matrix[from * n + from] += conductance;
        }
        if (to != GROUP_HELD) {
            matrix[to * n + to] += conductance;
        }
        if (from != GROUP_HELD && to != GROUP_HELD) {
            matrix[from * n + to] -= conductance;
            matrix[to * n + from] -= conductance;
        }
    }
}

/* matrix [n n] = L L^T, L left in its lower part. */
static void factor(int n, double matrix[], double least_pivot)
{
    for (int j = 0; j < n; j++) {
        double diagonal = matrix[j * n + j];
        double pivot = diagonal;
        for (int k = 0; k < j; k++) {
            pivot -= matrix[j * n + k] * matrix[j * n + k];
        }
        if (!(pivot > pivot_tolerance * diagonal)) {
            pivot = least_pivot;
        }
        double root = sqrt(pivot);
        matrix[j * n + j] = root;
        for (int i = j + 1; i < n; i++) {
            double sum = matrix[i * n + j];
            for (int k = 0; k < j; k++) {
                sum -= matrix[i * n + k] * matrix[j * n + k];
            }
            matrix[i * n + j] = sum / root;
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
        x[i] /= matrix[i * n + i];
    }
    for (int i = n - 1; i >= 0; i--) {
        for (int k = i + 1; k < n; k++) {
            x[i] -= matrix[k * n + i] * x[k];
        }
        x[i] /= matrix[i * n + i];
    }
}

/* Slope of the dual along the step at share t; falls from above 0 as t grows. */
static double dual_slope(const struct group *group, struct group_work *work, const double present[],
                         double t)
{
    double sum = 0.0;
    work->looks++;
    for (int i = 0; i < group->point_count; i++) {
        work->trial[i] = work->head[i] + t * work->step[i];
    }
    find_residual(group, work, present, work->trial);
    for (int i = 0; i < group->point_count; i++) {
        sum += work->residual[i] * work->step[i];
    }
    return sum;
}

/* Share of the step to go; trial and residual are left at it. */
static double find_share(const struct group *group, struct group_work *work, const double present[],
                         double start)
{
    double high_slope = dual_slope(group, work, present, 1.0);
    if (high_slope >= -0.5 * start) {
        return 1.0;
    }
    double low = 0.0;
    double high = 1.0;
    double low_slope = start;
    double share = 1.0;
    for (int i = 0; i < CUT_LIMIT; i++) {
        double secant = low + low_slope * (high - low) / (low_slope - high_slope);
        double margin = 0.05 * (high - low);
        share = fmin(fmax(secant, low + margin), high - margin);
        double here = dual_slope(group, work, present, share);
        if (fabs(here) <= 0.5 * start) {
            break;
        }
        if (here > 0.0) {
            low = share;
            low_slope = here;
        } else {
            high = share;
            high_slope = here;
        }
    }
    return share;
}

/* Whether the step kept every link where it was, on its slope or at the same upright. */
static bool mark_uprights(const struct group *group, struct group_work *work)
{
    bool is_same = true;
    for (int k = 0; k < group->link_count; k++) {
        is_same = is_same && work->was_upright[k] == work->upright[k];
        work->was_upright[k] = work->upright[k];
    }
    return is_same;
}

/* Whether no head would move by more than its round-off. */
static bool is_settled(const struct group *group, const struct group_work *work)
{
    for (int i = 0; i < group->point_count; i++) {
        if (!(fabs(work->step[i]) <= same_head * (1.0 + fabs(work->head[i])))) {
            return false;
        }
    }
    return true;
}

void group_solve_linear(const struct group *group, struct group_work *work)
{
    int n = group->point_count;
    memcpy(work->present, work->head, (size_t)n * sizeof *work->head);
    find_residual(group, work, work->present, work->head);
    (void)mark_uprights(group, work);
    work->rounds = 0;
    work->looks = 0;
    for (int i = 0; i < LINEAR_LIMIT && n > 0; i++) {
        work->rounds++;
        fill_matrix(group, work);
        factor(n, work->matrix, cut_off_share / group->impedance);
        memcpy(work->step, work->residual, (size_t)n * sizeof *work->step);
        substitute(n, work->matrix, work->step);
        if (is_settled(group, work)) {
            (void)dual_slope(group, work, work->present, 1.0);
            memcpy(work->head, work->trial, (size_t)n * sizeof *work->head);
            break;
        }
        double start = 0.0;
        for (int j = 0; j < n; j++) {
            start += work->residual[j] * work->step[j];
        }
        double share = find_share(group, work, work->present, start);
        memcpy(work->head, work->trial, (size_t)n * sizeof *work->head);
        if (mark_uprights(group, work) && share >= 1.0) {
            break;
        }
    }
}
