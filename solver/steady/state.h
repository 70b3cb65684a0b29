/* State: everything one solver of steady flow works on, laid out once for a network's shape.
 *
 * What forest.h takes out of the network is not in it, nor are the points inside the runs of
 * series.h: a run is one link, whose flow is that of its first pipe and whose drop is the sum of
 * what its pipes lose. Points are rows: first the free ones, renumbered by linear.h, then the held
 * ones; links have the order of linear.h too. Both have places in memory near those of their
 * neighbours. Invariants between steps: `flow` lies in the span of each link; after the first full
 * step its sums at the rows meet `draw`. */
#ifndef SOLVER_STEADY_STATE_H
#define SOLVER_STEADY_STATE_H

#include "models/friction_many.h"
#include "models/network.h"
#include "solver/steady/forest.h"
#include "solver/steady/linear.h"
#include "solver/steady/series.h"

#include <math.h>
#include <stdint.h>

/* A link's law as the solver asks for it. */
struct law {
    const struct element *element;
    const void *data;
};

/* Largest residuals, as they are and as multiples of their round-off. */
struct gap {
    double head; /* m, of the laws */
    double head_units;
    double flow; /* m3/s, of the sums at free points */
    double flow_units;
};

struct state {
    struct arena *arena; /* holds the state and all its arrays */
    int point_count;     /* of the network without its forest and the points inside runs */
    int link_count;      /* where a run is one */
    int row_count;
    int *row;   /* [the network's points] row of each point; NETWORK_NONE: it has none */
    int *link;  /* [link_count + extra_count] number in the network of each link, of a run its first
                   pipe, and of the extras; ~number where a pipe points against its run */
    int *place; /* [the network's links] place of each in `link`; NETWORK_NONE: of the forest */
    int *from;  /* [link_count] rows */
    int *to;    /* [link_count] */
    struct linear *linear;

    /* The other pipes of the runs, by rising link and along each run. */
    int extra_count;
    int *of;        /* [extra_count] link */
    int *before;    /* [extra_count] point of the network where the pipe begins */
    double *offset; /* [extra_count] m3/s, its flow beyond that of its link */

    /* The laws, linearised at the present flows: drop = drop + (flow - flow_k)/conductance. */
    struct friction_digest *digest; /* [link_count + extra_count] of friction by a roughness and no
                                       end to the span; else of a pipe that loses nothing */
    int other_count;
    int *other;          /* [other_count of link_count] links with another law, none a run */
    struct law *law;     /* [other_count of link_count] */
    double *usual_flow;  /* [link_count + extra_count] m3/s, see start_usual_flow */
    double *flow;        /* [link_count] m3/s, present */
    double *last_flow;   /* [link_count] one step before */
    double *drop;        /* [link_count] m, law at `flow` */
    double *slope;       /* [link_count] s/m2, law at `flow` */
    double *conductance; /* [link_count] m2/s, of the linearised law */
    double *excess;      /* [link_count] m, head difference - drop at the present heads and flows */

    /* The step's own unknowns. */
    double *head;  /* [point_count] m */
    double *shift; /* [point_count + 1] m, right side, then change of head in this step; 0 at held
                      points, the last one spare */
    double *direction;   /* [point_count + 1] m; the same */
    double *imbalance;   /* [point_count] m3/s, outflow + draw; at held points it means nothing */
    double *noise;       /* [point_count] m3/s, sum of the sizes that went into it */
    double largest_flow; /* m3/s, in `target` */
    double tie_flow;     /* m3/s, a flow nearer than this to the end of its span is at the end */
    double *draw;        /* [point_count] m3/s, less what a cut-off zone cannot get */
    double *target;      /* [link_count] m3/s, linearised flow within the span */
    double *trial;       /* [link_count] m3/s, flows tried within a step */

    /* Links with an end to their span, and what the exact line search needs of some of them. */
    int limited_count;
    int *limited;           /* [limited_count of link_count], rising */
    unsigned char *is_open; /* [link_count] by limited index: in the last factors or the next */
    struct span *span;      /* the same; all other links let every flow pass */
    double *free_flow;      /* the same, m3/s, linearised flow without its span */
    double *ray_flow;       /* [limited_count of link_count] */
    double *ray_rate;
    double *ray_drop;
    struct span *ray_span;

    /* Zones, see zones.c. */
    int *parent;     /* [row_count + 1] */
    int *part;       /* [row_count + 1] part of each row; the last: of all held points */
    int part_count;  /* but the land, which has the next number */
    int *part_start; /* [part_count + 1 of row_count + 1] place of each part's rows in part_row */
    int *part_row;   /* [row_count + 1] */
    int *edge_start; /* [part_count + 1 of row_count + 1] place of each part's links in edge */
    int *edge;       /* [2 limited_count of 2 link_count] limited links at each part, by index */
    int *ring;       /* [row_count + 1] next part of the same zone */
    int *root;       /* [pin_count of row_count + 1] the part that stands for each zone */
    int *pin;        /* [pin_count of row_count + 1] a row of it */
    int pin_count;
    bool has_loose_zone; /* even with every link open some rows reach no held head */
    bool is_short;       /* some zone cannot get the water drawn from it */

    double gap_head;    /* m, largest residual of the laws after the last step */
    double floor_raise; /* multiple of the least slope a law is given, see linearise.c */
    int steps;          /* linear systems factorised */
    int solves;         /* back-substitutions */
};

/* A limited link's linearised flow stands within its span and off its ends. */
static inline bool state_is_open(const struct state *state, int limited)
{
    const double flow = state->free_flow[limited];
    return flow > state->span[limited].lower + state->tie_flow &&
           flow < state->span[limited].upper - state->tie_flow;
}

/* The span of a link, in a walk over links in their order that keeps in `next` the limited one to
 * come, from 0. */
static inline struct span state_span(const struct state *state, int link, int *next)
{
    while (*next < state->limited_count && state->limited[*next] < link) {
        (*next)++;
    }
    if (*next < state->limited_count && state->limited[*next] == link) {
        return state->span[*next];
    }
    return (struct span){-(double)INFINITY, (double)INFINITY};
}

/* Conductance of a link in the factors, 0 at the uprights, in a walk over all links in their order
 * that keeps in `next` the limited one to come, from 0. */
static inline double state_conductance(const struct state *state, int link, int *next)
{
    if (*next < state->limited_count && state->limited[*next] == link) {
        return state->is_open[(*next)++] ? state->conductance[link] : 0.0;
    }
    return state->conductance[link];
}

/* Room for the shape of `network` without the branches of `forest` and with each run of `series` as
 * one link (both NULL: with all it has); NULL when memory ended (failure tells). */
struct state *state_new(const struct network *network, const struct forest *forest,
                        const struct series *series, struct failure *failure);
void state_free(struct state *state);

#endif
