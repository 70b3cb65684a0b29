/* Memory: what the nodes of one pipe remember of earlier steps, for unsteady friction
 * (solver/surge/unsteady.h) and for creep of the wall (solver/surge/creep.h).
 *
 * Both are linear in the step's own flow and head, so the characteristic equations keep their form.
 * Friction: with W what is remembered, 2 B Q + F(Q) + lag Q = d - W, hence the same law with
 * impedance B + lag/2. Wall: the two values that meet at a node have the mean
 *     M = H + S/2 d(strain)/dt = (1 + softness) H - memory
 * and both lose 2 (M - H) before they go on. */
#ifndef SOLVER_SURGE_MEMORY_H
#define SOLVER_SURGE_MEMORY_H

#include "models/arena.h"
#include "models/pipe.h"
#include "solver/surge/creep.h"
#include "solver/surge/row.h"
#include "solver/surge/unsteady.h"

/* What a memory is made for. */
struct memory_wishes {
    bool friction; /* unsteady */
    bool wall;     /* creep, where the material's is known */
    const struct pipe *pipe;
    const struct water *water;
    double reaches;
    double wave_speed;  /* m/s, as the grid has it */
    double steady_flow; /* m3/s */
    double step;        /* s */
};

/* Friction's memory of all nodes: arrays of so many. */
struct memory_lag {
    double *lagging; /* m, W; NULL: friction is quasi-steady */
    double *flow;    /* m3/s */
    double *term; /* m, faded already: W is their sum less lag times flow. The first of all nodes,
                     then `stride` numbers on the second of all, and so on */
};

/* The wall's. */
struct memory_give {
    double *strain; /* m, `memory` above; NULL: the wall is elastic */
    double *level;  /* m, steady head */
    double *grown;  /* m: times dt/B the volume the wall has given way by so far */
    double *part;   /* m, of `memory`: with softness times level their sum; as `term` */
};

struct memory {
    struct unsteady friction;
    double trace[UNSTEADY_TERMS]; /* fade times gain, s/m2 */
    struct memory_lag lag;
    struct creep wall;
    double push[WALL_CREEP_MAX]; /* of each part for each m above the steady head */
    double stress;               /* Pa for each m above the steady head */
    double give;                 /* S/2, m s */
    double softness;
    double stiffness; /* 1/(1 + softness) */
    struct memory_give soft;
    int64_t stride; /* numbers from one array of all nodes to the next */
    /* What was so at all nodes at all times and stays so while the pipe's limits hold
     * (solver/surge/limits.h): */
    double least_flow;  /* m3/s */
    double most_flow;   /* m3/s */
    double least_above; /* m, no head is less above the steady one, ... */
    double most_above;  /* m, ... and none is more */
    double least_level; /* m, of all `level` */
    double most_level;  /* m */
};

/* A memory, or NULL in *memory if nothing is wished that this pipe has. False: memory ended. */
MUST_CHECK bool memory_new(struct memory **memory, const struct memory_wishes *wishes,
                           struct arena *arena, struct failure *failure);

/* Steady flow, from the head at the start and the loss of one reach. */
void memory_start(struct memory *memory, int nodes, double head, double loss, double flow);

/* Impedance, s/m2, with which the pipe's loss must be made. */
double memory_impedance(const struct kernel_pipe *pipe);

/* At a node (0 to reaches): flow, m3/s, of a difference p - m, and how it rises with it. */
double memory_flow(const struct kernel_pipe *pipe, int64_t node, double difference, double *slope);

/* The mean of the two values at a node whose head is `head`, and back. */
double memory_mean(const struct kernel_pipe *pipe, int64_t node, double head);
double memory_head(const struct kernel_pipe *pipe, int64_t node, double mean);

/* The most that friction takes in a step, m, while all p - m are `least` or more, `most` or less.
 */
double memory_most_loss(const struct kernel_pipe *pipe, double least, double most);

/* The most that the wall takes or gives in a step, m, while the pipe's limits hold; half of it is
 * the most by which a head differs from the mean of the two values. */
double memory_most_given(const struct kernel_pipe *pipe);

/* Whether its wall creeps. */
bool memory_gives(const struct kernel_pipe *pipe);

/* Times dt/B the volume by which the wall at a node has given way so far, m. */
double memory_grown(const struct kernel_pipe *pipe, int64_t node);

/* Notes heads, takes friction and creep at `count` nodes of the pipe from `node` on, and
 * remembers. */
void memory_step(const struct kernel *kernel, const struct kernel_pipe *pipe, int64_t node,
                 int64_t count);

#endif
