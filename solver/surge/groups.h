/* Groups: everything that stands between pipe ends, all over the site.
 * Points joined by lumped links form a group; a held point does not join. A point with nothing but
 * pipe ends is a group of its own. Every free point also has a cavity, shut until water boils. */
#ifndef SOLVER_SURGE_GROUPS_H
#define SOLVER_SURGE_GROUPS_H

#include "models/arena.h"
#include "models/site.h"
#include "solver/steady/steady.h"
#include "solver/surge/enclosed.h"
#include "solver/surge/group_chain.h"

struct groups {
    const struct network *network;
    const struct water *water;
    const struct grid *grid;
    struct kernel *kernel;
    struct ends ends;
    struct stub *stubs; /* [grid->stub_count] */
    int lumped_count;
    struct lumped *lumped; /* [lumped_count] links, then cavities */
    int cavity_first;      /* the first cavity; one for each free point, in their order */
    double *least_cavity;  /* [lumped_count - cavity_first] m3, cavity_least of each */
    double vapour;         /* m of gauge head at which water boils */
    int *lumped_of_link;   /* [link_count] or NETWORK_NONE: a pipe, or a stub of whole steps */
    int group_count;
    struct group *groups; /* [group_count] */
    struct group_work work;
    struct group_coupled_work coupled_work; /* for the largest group with coupled laws */
    double missed;                          /* m, by which any step missed any law at most */
    struct enclosed_work enclosed_work;     /* for the largest group */
    bool *is_enclosed;   /* [point_count] shut parts have enclosed it at some time (enclosed.h) */
    double *head;        /* [point_count] m, now */
    double *head_before; /* [point_count] m, a step earlier */
};

/* Groups of the network with the water and the plan of the site, at rest with the steady answer.
 * False: memory ended. */
MUST_CHECK bool groups_init(struct groups *groups, const struct site *site,
                            const struct network *network, const struct grid *grid,
                            struct kernel *kernel, const struct steady *start, struct arena *arena,
                            struct failure *failure);

/* Solves all groups for the step of `step` s that ends at `time` with these settings [link_count]
 * and sends the heads into the pipes. A point of the first group without an answer, or
 * NETWORK_NONE. */
int groups_step(struct groups *groups, double time, double step, const double setting[]);

/* Flow, m3/s, of any link now; of a pipe: at its end, at its start. */
double groups_flow(const struct groups *groups, int link);
double groups_flow_at_start(const struct groups *groups, int link);

#endif
