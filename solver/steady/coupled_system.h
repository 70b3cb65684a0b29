/* Coupled system: the whole set of equations of a network with laws that are no monotone graph, in
 * the heads of its free points and the flows of its links, with all derivatives.
 *
 *   free point: draw + outflow - inflow = 0                                            (m3/s)
 *   plain link: r (q - clamp(q + (head(from) - head(to) - drop(q))/r, lower, upper)) = 0    (m)
 *   coupled link: blend * law + (1 - blend) * the plain form of its nearest law = 0         (m)
 *
 * The plain form is the projection of a complementarity (Qi & Sun 1993 for the Newton it suits);
 * r, head per flow, only weighs its two sides. The law is turned so that it falls when the head
 * before the link rises, as the plain form does. */
#ifndef SOLVER_STEADY_COUPLED_SYSTEM_H
#define SOLVER_STEADY_COUPLED_SYSTEM_H

#include "models/network.h"
#include "solver/steady/unsymmetric.h"

/* Derivatives of a link's equation. */
struct coupled_slopes {
    double by_flow;
    double by_from;
    double by_to;
};

struct coupled_system {
    struct arena *arena; /* holds the system and its arrays */
    int row_count;       /* free points; rows from here on are held */
    int link_count;
    int size;                             /* row_count + link_count unknowns: heads, then flows */
    int *from;                            /* [link_count] rows */
    int *to;                              /* [link_count] */
    int coupled_count;                    /* links with a coupling */
    int *coupled;                         /* [coupled_count] their indices */
    int (*partner)[COUPLING_PARTNER_MAX]; /* [coupled_count]; NETWORK_NONE: none */
    double (*by_partner)[COUPLING_PARTNER_MAX]; /* [coupled_count] */
    int *coupled_place;            /* [link_count] index in `coupled`, or NETWORK_NONE */
    struct coupled_slopes *slopes; /* [link_count] */
    struct unsymmetric *matrix;
    int entry_count;
    double *entry; /* [entry_count] values in the order of the pattern */

    /* Set for each solution: */
    const struct network *network;
    const struct water *water;
    const double *draw;  /* [row_count] m3/s */
    struct span *span;   /* [link_count] */
    double *weight;      /* [link_count] r, m s/m3 */
    double head_scale;   /* m, at least 1: what heads differ by */
    double largest_head; /* m, at least 1, at the beginning */
    double flow_scale;   /* m3/s: what flows are like */
    double blend;        /* 0: nearest monotone laws, 1: full laws */

    double *residual; /* [size] at the last evaluation */
    double *noise;    /* [size] what went into each residual: its round-off is DBL_EPSILON of it */
};

/* True when some link has a coupling. */
bool coupled_system_needed(const struct network *network);

/* The shape of `network` with the points numbered as in `row` (free ones below row_count).
 * NULL: failure tells. */
struct coupled_system *coupled_system_new(const struct network *network, int row_count,
                                          const int row[], struct failure *failure);
void coupled_system_free(struct coupled_system *system);

/* False when the links' partners are others than at coupled_system_new. */
bool coupled_system_fits(const struct coupled_system *system, const struct network *network);

/* Makes ready for a solution about these heads (by row) and flows. */
void coupled_system_begin(struct coupled_system *system, const struct network *network,
                          const struct water *water, const double draw[], const double head[],
                          const double flow[]);

/* Residuals and derivatives at these heads and flows. Returns the size of the residuals: m, mass
 * weighed by head_scale/flow_scale, root of the sum of squares. */
double coupled_system_evaluate(struct coupled_system *system, const double head[],
                               const double flow[]);

/* Newton step at the last evaluation, [size]: change of heads, then of flows. `damping` >= 0 holds
 * each unknown back, as a share of the scales: a little keeps heads of cut-off zones and flows of
 * like regulators side by side defined, much makes it a step in time. */
MUST_CHECK bool coupled_system_step(struct coupled_system *system, double damping, double step[],
                                    struct failure *failure);

/* Largest residual in units of its round-off; the largest of links, m, and of points, m3/s. */
struct coupled_gap {
    double units;
    double head;
    double flow;
};
struct coupled_gap coupled_system_gap(const struct coupled_system *system);

#endif
