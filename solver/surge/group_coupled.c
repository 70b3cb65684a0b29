#include "solver/surge/group_coupled.h"

#include "solver/steady/safeguard.h"
#include "solver/surge/dense.h"

#include <math.h>
#include <string.h>

enum {
    NEWTON_LIMIT = 60,
    TIME_LIMIT = 200,
    ALL_LIMIT = 10,    /* changes of all who want to leave or meet an upright within a step, */
    SWITCH_LIMIT = 100 /* then of one at a time; together */
};

static const double damping_growth = 1e3; /* where a system is singular */
static const double near = 1e-7;          /* share of error from which Newton takes over */
static const double far_off = 1e3;        /* times 1 m + the largest head: no step of a head */

void group_coupled_widen(struct group *most, const struct group *group)
{
    most->point_count =
        most->point_count > group->point_count ? most->point_count : group->point_count;
    most->link_count = most->link_count > group->link_count ? most->link_count : group->link_count;
    most->law_count = most->law_count > group->law_count ? most->law_count : group->law_count;
}

bool group_coupled_work_init(struct group_coupled_work *work, const struct group *most,
                             struct arena *arena, struct failure *failure)
{
    const size_t points = (size_t)most->point_count;
    const size_t links = (size_t)most->link_count;
    const size_t laws = (size_t)most->law_count;
    const size_t size = points + laws;
    *work = (struct group_coupled_work){
        .matrix = arena_take(arena, size * size, sizeof *work->matrix),
        .step = arena_take(arena, 2 * size, sizeof *work->step),
        .head = arena_take(arena, 6 * points, sizeof *work->head),
        .slope = arena_take(arena, 4 * links, sizeof *work->slope),
        .upright = arena_take(arena, links, sizeof *work->upright),
        .law = arena_take(arena, laws, sizeof *work->law),
    };
    if (work->matrix == NULL || work->step == NULL || work->head == NULL || work->slope == NULL ||
        work->upright == NULL || work->law == NULL) {
        return fail_memory(failure, "surge groups");
    }
    work->delta = work->step + size;
    work->inflow = work->head + points;
    work->conductance = work->head + 2 * points;
    work->balance = work->head + 3 * points;
    work->kept_head = work->head + 4 * points;
    work->first_head = work->head + 5 * points;
    work->flow = work->slope + links;
    work->kept_flow = work->slope + 2 * links;
    work->first_flow = work->slope + 3 * links;
    return true;
}

/* --- laws at the present heads and flows --- */

struct coupled_law group_coupled_law(const struct group *group, const struct group_place *place,
                                     int number)
{
    const struct group_law *law = &group->laws[number];
    const struct group_link *link = &group->links[law->link];
    struct coupled_at at = {
        .flow = link->lumped->flow,
        .head_from = group_head_at(group, place, link->from, link->held_from),
        .head_to = group_head_at(group, place, link->to, link->held_to),
        .impedance = group->impedance,
    };
    for (int i = 0; i < law->partner_count; i++) {
        at.partner_flow[i] = group->links[group->laws[law->partner[i]].link].lumped->flow;
    }
    return lumped_law(link->lumped, &at);
}

/* Adds one error, m, to the measures. */
static void add_error(struct group_coupled_work *work, double error)
{
    work->missed = fmax(work->missed, fabs(error));
    work->size += error * error;
}

static void evaluate_points(const struct group *group, const struct group_place *place,
                            struct group_coupled_work *work)
{
    for (int i = 0; i < group->point_count; i++) {
        const int point = group->points[i];
        const struct inflow inflow =
            ends_inflow(place->ends, place->kernel, point, place->head[point]);
        work->inflow[i] = inflow.flow - place->network->points[point].draw;
        work->conductance[i] = inflow.conductance;
        work->head[i] = place->head[point];
        work->balance[i] = work->inflow[i];
    }
}

static void evaluate(const struct group *group, const struct group_place *place,
                     struct group_coupled_work *work, double floor)
{
    work->missed = 0.0;
    work->size = 0.0;
    evaluate_points(group, place, work);
    for (int k = 0; k < group->link_count; k++) {
        const struct group_link *link = &group->links[k];
        struct lumped *lumped = link->lumped;
        group_spread(link, lumped->flow, work->balance);
        if (link->coupled == NETWORK_NONE) {
            lumped->drop = lumped_drop(lumped, lumped->flow);
            work->slope[k] = fmax(lumped->drop.slope, floor * group->impedance);
            add_error(work, group_off_graph(lumped, group_difference(link, work->head)));
        }
    }
    for (int c = 0; c < group->law_count; c++) {
        work->law[c] = group_coupled_law(group, place, c);
        add_error(work, work->law[c].value);
    }
    for (int i = 0; i < group->point_count; i++) {
        add_error(work, work->balance[i] * group->impedance);
    }
    work->size = sqrt(work->size);
    work->error = work->missed / group_scale(group, work->head);
}

/* --- the step --- */

/* Flows after work->step, and who stands at which upright: all who should, or only the first who
 * does not yet, and he no further than to his slope. True: not as before. */
static bool find_flows(const struct group *group, struct group_coupled_work *work, bool is_first)
{
    bool is_changed = false;
    for (int k = 0; k < group->link_count; k++) {
        const struct group_link *link = &group->links[k];
        const struct lumped *lumped = link->lumped;
        if (link->coupled != NETWORK_NONE) {
            work->flow[k] =
                lumped->flow + work->step[group->point_count + link->coupled] / group->impedance;
            continue;
        }
        const double difference =
            group_difference(link, work->head) + group_change(link, work->step);
        const double flow = lumped->flow + (difference - lumped->drop.head) / work->slope[k];
        const int upright = !(flow > lumped->span.lower)   ? -1
                            : !(flow < lumped->span.upper) ? 1
                                                           : 0;
        if (upright != work->upright[k] && !(is_first && is_changed)) {
            const bool is_across = is_first && upright == -work->upright[k];
            work->upright[k] = (signed char)(is_across ? 0 : upright);
            is_changed = true;
        }
        work->flow[k] = work->upright[k] == 0  ? flow
                        : work->upright[k] < 0 ? lumped->span.lower
                                               : lumped->span.upper;
    }
    return is_changed;
}

/* Writes the equations of the points, as heads: water too much after work->step. */
static void fill_points(const struct group *group, struct group_coupled_work *work, double damping)
{
    const int n = group->point_count;
    const int size = n + group->law_count;
    const double impedance = group->impedance;
    for (int i = 0; i < n; i++) {
        work->matrix[i * size + i] = impedance * work->conductance[i] + damping;
        work->balance[i] = work->inflow[i] - work->conductance[i] * work->step[i];
    }
    for (int k = 0; k < group->link_count; k++) {
        const struct group_link *link = &group->links[k];
        const int ends[] = {link->from, link->to};
        group_spread(link, work->flow[k], work->balance);
        for (int e = 0; e < 2; e++) {
            if (ends[e] == GROUP_HELD) {
                continue;
            }
            double *row = &work->matrix[(size_t)ends[e] * (size_t)size];
            if (link->coupled != NETWORK_NONE) {
                row[n + link->coupled] += e == 0 ? 1.0 : -1.0;
            } else if (work->upright[k] == 0) {
                row[ends[e]] += impedance / work->slope[k];
                if (ends[1 - e] != GROUP_HELD) {
                    row[ends[1 - e]] -= impedance / work->slope[k];
                }
            }
        }
    }
    for (int i = 0; i < n; i++) {
        work->delta[i] = impedance * work->balance[i];
    }
}

/* Writes the linearised coupled laws, each turned so that it rises with its flow where it can. */
static void fill_laws(const struct group *group, struct group_coupled_work *work, double damping)
{
    const int n = group->point_count;
    const int size = n + group->law_count;
    for (int c = 0; c < group->law_count; c++) {
        const struct group_law *law = &group->laws[c];
        const struct group_link *link = &group->links[law->link];
        const struct coupled_law *at = &work->law[c];
        const bool is_turned =
            at->by_head_from > 0.0 || (!(at->by_head_from < 0.0) && at->by_head_to < 0.0);
        const double sign = is_turned ? -1.0 : 1.0;
        double *row = &work->matrix[(size_t)(n + c) * (size_t)size];
        if (link->from != GROUP_HELD) {
            row[link->from] += sign * at->by_head_from;
        }
        if (link->to != GROUP_HELD) {
            row[link->to] += sign * at->by_head_to;
        }
        row[n + c] += sign * at->by_flow / group->impedance;
        for (int i = 0; i < law->partner_count; i++) {
            row[n + law->partner[i]] += sign * at->by_partner[i] / group->impedance;
        }
        double value = sign * at->value;
        for (int j = 0; j < size; j++) {
            value += row[j] * work->step[j];
        }
        work->delta[n + c] = -value;
        row[n + c] += damping;
    }
}

/* Solves the linearised laws for work->step, uprights being found on the way: by changing all that
 * are wrong, which is quick and can go round in circles, then one at a time, the first of them,
 * which for one answer cannot (Murty 1974; Judice & Pires 1994). */
static bool solve_linear(const struct group *group, struct group_coupled_work *work, double damping)
{
    const int size = group->point_count + group->law_count;
    memset(work->step, 0, (size_t)size * sizeof *work->step);
    (void)find_flows(group, work, false);
    for (int i = 0; i < SWITCH_LIMIT; i++) {
        memset(work->matrix, 0, (size_t)size * (size_t)size * sizeof *work->matrix);
        fill_points(group, work, damping);
        fill_laws(group, work, damping);
        if (!dense_solve(size, work->matrix, work->delta)) {
            return false;
        }
        for (int j = 0; j < size; j++) {
            work->step[j] += work->delta[j];
            if (!isfinite(work->step[j])) {
                return false;
            }
        }
        if (!find_flows(group, work, i >= ALL_LIMIT)) {
            return true;
        }
    }
    (void)find_flows(group, work, false);
    return true;
}

/* Whether the step throws a head off that hardly any law holds: it would never come back, and
 * what counts as an answer, a share of the largest head, would count for nothing. */
static bool runs_off(const struct group *group, const struct group_coupled_work *work)
{
    return group_largest(group, work->step) > far_off * group_scale(group, work->head);
}

/* The step, with more damping where the system is singular or all but; no step where even that does
 * not help. */
static void find_step(const struct group *group, struct group_coupled_work *work, double damping)
{
    while (!solve_linear(group, work, damping) || runs_off(group, work)) {
        if (damping > safeguard_most_damping) {
            memset(work->step, 0,
                   (size_t)(group->point_count + group->law_count) * sizeof *work->step);
            (void)find_flows(group, work, false);
            return;
        }
        damping *= damping_growth;
    }
}

/* --- moving --- */

static void keep(const struct group *group, const struct group_place *place, double head[],
                 double flow[])
{
    for (int i = 0; i < group->point_count; i++) {
        head[i] = place->head[group->points[i]];
    }
    for (int k = 0; k < group->link_count; k++) {
        flow[k] = group->links[k].lumped->flow;
    }
}

static void go_back(const struct group *group, const struct group_place *place,
                    const struct group_coupled_work *work)
{
    for (int i = 0; i < group->point_count; i++) {
        place->head[group->points[i]] = work->first_head[i];
    }
    for (int k = 0; k < group->link_count; k++) {
        group->links[k].lumped->flow = work->first_flow[k];
    }
}

/* Goes `share` of the step from what was kept. */
static void move(const struct group *group, const struct group_place *place,
                 const struct group_coupled_work *work, double share)
{
    for (int i = 0; i < group->point_count; i++) {
        place->head[group->points[i]] = work->kept_head[i] + share * work->step[i];
    }
    for (int k = 0; k < group->link_count; k++) {
        const double kept = work->kept_flow[k];
        group->links[k].lumped->flow =
            share < 1.0 ? kept + share * (work->flow[k] - kept) : work->flow[k];
    }
}

/* The step by line search from the present laws, which are found anew where it ends. */
static void search(const struct group *group, const struct group_place *place,
                   struct group_coupled_work *work, double bar, double floor)
{
    double share = 1.0;
    double best_share = 1.0;
    double best = INFINITY;
    for (int i = 0; i <= SAFEGUARD_HALVINGS; i++) {
        move(group, place, work, share);
        evaluate(group, place, work, floor);
        if (safeguard_is_good(work->size, bar, share) || work->error <= group_loose) {
            return;
        }
        if (work->size < best) {
            best = work->size;
            best_share = share;
        }
        share *= 0.5;
    }
    move(group, place, work, best_share);
    evaluate(group, place, work, floor);
}

static bool newton(const struct group *group, const struct group_place *place,
                   struct group_coupled_work *work)
{
    struct safeguard safeguard;
    double best = INFINITY;
    evaluate(group, place, work, group_slope_floor(0));
    safeguard_begin(&safeguard, work->size);
    for (int i = 0; i < NEWTON_LIMIT; i++) {
        const bool is_stalled = work->error <= group_loose && work->error > 0.5 * best;
        if (work->error <= group_tight || (i > 0 && is_stalled)) {
            return true;
        }
        best = fmin(best, work->error);
        keep(group, place, work->kept_head, work->kept_flow);
        find_step(group, work, safeguard_light_damping);
        /* Flows that a new span has moved are mended by the first step, taken whole. */
        search(group, place, work, i == 0 ? (double)INFINITY : safeguard_bar(&safeguard),
               group_slope_floor(i + 1));
        safeguard_note(&safeguard, i, work->size);
    }
    return work->error <= group_loose;
}

/* Heads and flows move as in time until Newton can take over. */
static void settle(const struct group *group, const struct group_place *place,
                   struct group_coupled_work *work)
{
    double damping = safeguard_first_damping;
    evaluate(group, place, work, group_slope_floor(0));
    for (int i = 0; i < TIME_LIMIT && work->error > near; i++) {
        const double before = work->size;
        keep(group, place, work->kept_head, work->kept_flow);
        find_step(group, work, damping);
        move(group, place, work, 1.0);
        evaluate(group, place, work, group_slope_floor(0));
        damping = safeguard_next_damping(damping, before, work->size);
    }
}

bool group_coupled_solve(const struct group *group, const struct group_place *place,
                         struct group_coupled_work *work)
{
    keep(group, place, work->first_head, work->first_flow);
    if (newton(group, place, work)) {
        return true;
    }
    go_back(group, place, work);
    settle(group, place, work);
    return newton(group, place, work);
}
