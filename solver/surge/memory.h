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

struct memory {
    struct unsteady friction;
    double *lagging; /* [nodes] m, W; NULL: friction is quasi-steady */
    double *flow;    /* [nodes] m3/s */
    double *term;    /* [UNSTEADY_TERMS][nodes] m */
    struct creep wall;
    double stress; /* Pa for each m above the steady head */
    double give;   /* S/2, m s */
    double softness;
    double *strain; /* [nodes] m, `memory` above; NULL: the wall is elastic */
    double *level;  /* [nodes] m, steady head */
    double *part;   /* [wall.count][nodes] */
    double *grown;  /* [nodes] m: times dt/B the volume the wall has given way by so far */
};

/* A memory, or NULL in *memory if nothing is wished that this pipe has. False: memory ended. */
MUST_CHECK bool memory_new(struct memory **memory, const struct memory_wishes *wishes,
                           struct arena *arena, struct failure *failure);

/* Steady flow, from the head at the start and the loss of one reach. */
void memory_start(const struct memory *memory, int nodes, double head, double loss, double flow);

/* Impedance, s/m2, with which the pipe's loss must be made. */
double memory_impedance(const struct kernel_pipe *pipe);

/* At a node (0 to reaches): flow, m3/s, of a difference p - m, and how it rises with it. */
double memory_flow(const struct kernel_pipe *pipe, int64_t node, double difference, double *slope);

/* The mean of the two values at a node whose head is `head`, and back. */
double memory_mean(const struct kernel_pipe *pipe, int64_t node, double head);
double memory_head(const struct kernel_pipe *pipe, int64_t node, double mean);

/* Takes friction and creep at all nodes of the pipe and remembers. */
void memory_step(const struct kernel *kernel, const struct kernel_pipe *pipe);

#endif
