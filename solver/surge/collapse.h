/* Collapse: the blow of cavities that shut.
 * As the water on both sides of a cavity meets, its pressure leaps, but the highest comes later: in
 * the frictionless pipe behind a valve that shut at once, when the wave of the stop itself comes
 * back and adds to it (the short pulse above Joukowsky's head; Bergant, Simpson & Tijsseling, J.
 * Fluids and Structures 22(2), 2006). So each place is watched from its cavity's shutting for as
 * long as a wave needs there and back along the slowest run, 2L/a.
 *
 * Nodes side by side whose water boils are one cavity, also across points where pipes join; it has
 * shut when the last of them has: water that fills a boiling stretch node by node shuts one cavity.
 * Where a pipe boils over a length, many nodes beside its cavities boil for a few steps and shut
 * again; those are of the steps and count only from a hundredth of the largest volume on. */
#ifndef SOLVER_SURGE_COLLAPSE_H
#define SOLVER_SURGE_COLLAPSE_H

#include "models/arena.h"
#include "models/failure.h"

struct groups;

/* The hardest blow: the highest pressure at a place of a cavity within `window` of its shutting. */
struct surge_collapse {
    int count;        /* how often a cavity shut, nodes side by side being one */
    double window;    /* s */
    double shut_time; /* s, when the cavity of the hardest blow shut; NAN: none did */
    double time;      /* s, when the pressure there was highest; NAN: none */
    double head;      /* m, then */
    double pressure;  /* m of gauge head over the pipe, then */
    double band;      /* m, right within this; NAN: one grid only */
    int link;         /* the pipe where, or NETWORK_NONE */
    double distance;  /* m from that pipe's start; NAN */
    int point;        /* else the point, or NETWORK_NONE */
};

/* A place that has had a cavity. */
struct collapse_place {
    int pipe;         /* of the grid; NETWORK_NONE: a point */
    int node;         /* inside that pipe, or the cavity's number among the lumped */
    int seen;         /* step at which its cavity was last open */
    int met;          /* step at which it was last looked at as part of a cavity */
    double volume;    /* m3, largest at any place of its cavity */
    double shut_time; /* s; NAN: it is open */
};

struct collapse_watch {
    struct collapse_place *places; /* [count], room for all */
    int count;
    int *place_of;      /* [nodes and cavities at points] in `places`, or NETWORK_NONE */
    int *slot_of_point; /* [points] that of its cavity, or NETWORK_NONE */
    int *queue;         /* [count] places of one cavity */
    int step;
    double largest; /* m3, volume of any place so far */
};

/* False: memory ended. */
MUST_CHECK bool collapse_start(struct collapse_watch *watch, const struct groups *groups,
                               struct surge_collapse *result, struct arena *arena,
                               struct failure *failure);

/* Looks at all cavities at the end of a step. */
void collapse_step(struct collapse_watch *watch, const struct groups *groups, double time,
                   struct surge_collapse *result);

#endif
