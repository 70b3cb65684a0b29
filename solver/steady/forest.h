/* Forest: branches without a loop or a held head, whose flows follow from the draws alone.
 * At a tip the one pipe brings what is drawn there; so pipe by pipe inward, whatever the laws are.
 * Only what is left, the core, is iterated; heads along the branches are found outward when it has
 * its own (forest and core: Simpson, Elhay & Alexander 2014). Taken out are pipes alone, which let
 * every flow pass: of these the answer is the same to round-off, with fewer unknowns. A non-return
 * valve, a pump or a regulator stays, with all between it and the core. */
#ifndef SOLVER_STEADY_FOREST_H
#define SOLVER_STEADY_FOREST_H

#include "models/network.h"

/* A pipe and the one of its ends that is farther from the core. */
struct forest_branch {
    int link;
    int tip;
};

struct forest {
    int count;
    struct forest_branch *branch; /* [count] from the tips inward */
    bool is_monotone;             /* every law is a monotone graph; else no branch is taken out */
};

/* Links still at a point while branches are taken out. */
struct forest_left {
    int count; /* of pipes alone where it is 1 or 2 */
    int mix;   /* their numbers joined by exclusive or: the number of the link where one is left, of
                  either by the other where two are */
    int ends;  /* the same of the points at their other ends */
};

/* Finds the branches by the network's shape. `left` [point_count] becomes what they leave: no link
 * at their points. False when memory ended: nothing is to be given back. */
MUST_CHECK bool forest_plan(struct forest *forest, const struct network *network,
                            struct forest_left left[], struct failure *failure);
void forest_free(struct forest *forest);

/* False when some branch's law does not let every flow pass (the data may have changed): the
 * network must then be solved whole. Else `draw` [point_count], m3/s, becomes what is drawn at each
 * point with all that its branches bring away, and `flow` [link_count] gets the flows of the
 * branches. */
bool forest_flows(const struct forest *forest, const struct network *network,
                  const struct water *water, double draw[], double flow[]);

/* Heads of the tips, m, from those of the core and the branches' flows; their zones are those of
 * the points before them. `drop` [link_count] m, of the branches, becomes the difference of their
 * heads. */
void forest_heads(const struct forest *forest, const struct network *network,
                  const struct water *water, const double flow[], double drop[], double head[],
                  int zone[]);

#endif
