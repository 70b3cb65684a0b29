/* Collapse: the blow of cavities that shut.
 * As the water on both sides of a cavity meets, its pressure leaps, but the highest comes later: in
 * the frictionless pipe behind a valve that shut at once, when the wave of the stop itself comes
 * back and adds to it (the short pulse above Joukowsky's head; Bergant, Simpson & Tijsseling, J.
 * Fluids and Structures 22(2), 2006). So each place is watched from its cavity's shutting for as
 * long as a wave needs there and back along the slowest run, 2L/a. */
#ifndef SOLVER_SURGE_COLLAPSE_H
#define SOLVER_SURGE_COLLAPSE_H

#include "models/arena.h"
#include "models/failure.h"

struct groups;

/* The hardest blow: the highest pressure at a place of a cavity within `window` of its shutting. */
struct surge_collapse {
    int count;        /* how often a cavity shut, at all places together */
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
    double shut_time; /* s; NAN: it is open */
};

struct collapse_watch {
    struct collapse_place *places; /* [count], room for all */
    int count;
    int *place_of; /* [nodes and cavities at points] in `places`, or NETWORK_NONE */
    int step;
};

/* False: memory ended. */
MUST_CHECK bool collapse_start(struct collapse_watch *watch, const struct groups *groups,
                               struct surge_collapse *result, struct arena *arena,
                               struct failure *failure);

/* Looks at all cavities at the end of a step. */
void collapse_step(struct collapse_watch *watch, const struct groups *groups, double time,
                   struct surge_collapse *result);

#endif
