/* A group's parts, and its linearised system: flows clamped to their spans, linear in between. */
#ifndef SOLVER_SURGE_GROUP_LINEAR_H
#define SOLVER_SURGE_GROUP_LINEAR_H

#include "solver/surge/lumped.h"

#include <math.h>

enum { GROUP_HELD = -1 };

/* A link as its group sees it. */
struct group_link {
    struct lumped *lumped;
    int from; /* place among the group's points, or GROUP_HELD */
    int to;
    double held_from; /* m, the head there when held */
    double held_to;
    int coupled; /* its place among the group's coupled laws, or NETWORK_NONE: a plain law */
};

/* A coupled law of a group. */
struct group_law {
    int link;                          /* place among the group's links */
    int partner[COUPLING_PARTNER_MAX]; /* places of its partners among the group's coupled laws */
    int partner_count;
};

struct group {
    int point_count;
    int link_count;
    const int *points;        /* [point_count] in the network; borrowed */
    struct group_link *links; /* [link_count]; borrowed */
    int law_count;            /* coupled laws; 0: all are plain */
    struct group_law *laws;   /* [law_count]; borrowed */
    double impedance;         /* s/m2, by which flows are weighed as heads */
    bool has_cavities;        /* those at its points, the last of its links, are among the solved */
    bool may_enclose;         /* see enclosed_can_be (enclosed.h) */
    const struct group_chain *chain; /* the same as a row of parts (group_chain.h), or NULL */
};

/* Scratch for the largest group; n points, m links. */
struct group_work {
    double *matrix;       /* [n n] */
    double *head;         /* [n] answer of the linearised system */
    double *present;      /* [n] heads it is linearised at */
    double *trial;        /* [n] */
    double *step;         /* [n] */
    double *residual;     /* [n] */
    double *balance;      /* [n] */
    double *inflow;       /* [n] from pipe ends less draws, at the present heads */
    double *conductance;  /* [n] */
    double *slope;        /* [m] of each link, not below a floor */
    double *flow;         /* [m] answer of the linearised system */
    double *rate;         /* [m] 1/slope */
    double *extra;        /* [m] m, added to each drop */
    signed char *upright; /* [m] 0: on its slope; -1, 1: clamped to the lower or upper upright */
    signed char *was_upright; /* [m] before the last step */
    double missed;            /* m, by which the last answer misses its laws at most */
    bool *is_loose;           /* [n] whose pivot vanished */
    double *ray_flow;         /* [m] as in solver/steady/ray.h */
    double *ray_rate;         /* [m] */
    double *ray_drop;         /* [m] */
    struct span *ray_span;    /* [m] */
    int rounds;               /* systems factorised for the last linearised answer */
};

/* Error, as a share of 1 m + the largest head, at which a step is solved, 1e-13; where round-off
 * stops it earlier, the larger one, 1e-8, is still an answer. */
extern const double group_tight;
extern const double group_loose;

/* Least slope of a plain link's linearised drop as a share of the group's impedance: with a flatter
 * one the round-off of heads shows in flows. No answer changes by it, but where only flat drops
 * share a flow (cavities side by side) Newton would creep; so it is lowered as iterations go on. */
double group_slope_floor(int iteration);

/* The next six stand here in full, as every part is asked for them at every step.
 * Head from - head to, m, of a link with these heads [point_count] at the group's points. */
static inline double group_difference(const struct group_link *link, const double head[])
{
    double from = link->from == GROUP_HELD ? link->held_from : head[link->from];
    double to = link->to == GROUP_HELD ? link->held_to : head[link->to];
    return from - to;
}

/* Its change when the heads at the points change by `step`. */
static inline double group_change(const struct group_link *link, const double step[])
{
    const double from = link->from == GROUP_HELD ? 0.0 : step[link->from];
    const double to = link->to == GROUP_HELD ? 0.0 : step[link->to];
    return from - to;
}

/* Head, m, by which a plain link with its drop found is off its graph. */
static inline double group_off_graph(const struct lumped *lumped, double difference)
{
    double excess = difference - lumped->drop.head;
    if ((excess < 0.0 && lumped->flow <= lumped->span.lower) ||
        (excess > 0.0 && lumped->flow >= lumped->span.upper)) {
        return 0.0;
    }
    return fabs(excess);
}

/* The largest size of what the group's points have [point_count]. */
static inline double group_largest(const struct group *group, const double at[])
{
    double largest = 0.0;
    for (int i = 0; i < group->point_count; i++) {
        const double size = fabs(at[i]);
        largest = size > largest ? size : largest;
    }
    return largest;
}

/* 1 m + the largest of the heads [point_count] at the group's points. */
static inline double group_scale(const struct group *group, const double head[])
{
    return 1.0 + group_largest(group, head);
}

/* Takes a link's flow from its start, gives it to its end in balance [point_count]. */
static inline void group_spread(const struct group_link *link, double flow, double balance[])
{
    if (link->from != GROUP_HELD) {
        balance[link->from] -= flow;
    }
    if (link->to != GROUP_HELD) {
        balance[link->to] += flow;
    }
}

/* From heads in work->head, drops and flows in the links: heads and flows of the linearised system
 * into work->head and work->flow. They make its dual greatest, which is concave and piecewise
 * quadratic: Newton's steps, and while points are cut off from every head by links at their
 * uprights, first these points alone, each step to the greatest value along it (as in
 * solver/steady/inner.h). The dual grows from round to round, so that no set of uprights comes
 * twice; a step that changes none ends the search, and one too small to move a head. True: the
 * factors in work->matrix are those of the answer. */
bool group_solve_linear(const struct group *group, struct group_work *work);

/* After true: takes away what floors of slopes (group_slope_floor) have added to drops, by the same
 * factors. What is left falls to a share of itself that goes with the floor beside the impedance of
 * pipes: nearly Newton's step without floors, and round-off still does not show in flows. The
 * answer with floors stays where a link would meet an upright or leave one. (One step of a fixed
 * splitting within Newton's; Ortega & Rheinboldt 1970, ch. 7.4.) */
void group_take_floors_away(const struct group *group, struct group_work *work);

#endif
