/* Memory: what the nodes of one pipe remember of earlier steps, for unsteady friction
 * (solver/surge/unsteady.h) and for creep of the wall (solver/surge/creep.h), by exponentials
 * (solver/surge/fading.h).
 *
 * Both are linear in the step's own flow and head, so the characteristic equations keep their form.
 * Friction: with R the sum of what is remembered of flows, 2 B Q + F(Q) + total Q = p - m + R,
 * hence the same law with impedance B + total/2. Wall: the two values that meet at a node have the
 * mean
 *     M = H + S/2 d(strain)/dt = (1 + total) H - sum of what is remembered of heads
 * and both lose 2 (M - H) before they go on.
 *
 * In sums that keep their digits: 2 B Q = (p - m + R - F) B/(B + total/2). A pipe with an elastic
 * wall sends on p' = m + 2 B Q and m' = p - 2 B Q, or, where friction does not lag, p - F and
 * m + F; a wall that creeps turns these two about its head, 2 H - m' and 2 H - p'. */
#ifndef SOLVER_SURGE_MEMORY_H
#define SOLVER_SURGE_MEMORY_H

#include "models/arena.h"
#include "models/pipe.h"
#include "solver/surge/fading.h"
#include "solver/surge/row.h"
#include "solver/surge/sweep.h"

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

/* The interval of a table that the nodes of the last pass were in, turned round if their
 * differences were below 0. */
struct memory_spot {
    uint64_t bits;                 /* of one of these differences */
    struct loss_interval interval; /* of the loss, ... */
    struct loss_interval driven;   /* ... and of 2 B Q, where friction lags */
    bool is_for_all;               /* all nodes of the last pass were in it */
};

struct memory {
    struct fading friction; /* of flows, m3/s; nothing: it is quasi-steady */
    struct fading wall;     /* of heads, m; nothing: it is elastic */
    double stiffness;       /* 1/(1 + wall.total) */
    /* The first terms, m, of all nodes, then `stride` numbers on the second ones, and so on: */
    double *flows;
    double *heads;
    double *lagging; /* [nodes] m, R, the sum of a node's flows */
    double *strain;  /* [nodes] m, the sum of its heads */
    int64_t stride;
    double head; /* m, steady, at the start, ... */
    double loss; /* m, ... and by how much less a reach further on */
    /* Between these lie all flows and heads as any term keeps them, and will while the pipe's
     * limits hold (solver/surge/limits.h): */
    struct bounds flow;      /* m3/s */
    struct bounds kept;      /* m */
    int age;                 /* steps since somebody looked */
    struct memory_spot spot; /* noughts at first */
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

/* Where friction lags 2 B Q, m, of a rest p - m + R; where the loss goes by a table, by a cubic of
 * the same interval, made from that of the loss, so that what waits for the one waits no longer for
 * the other. */
double memory_driven(const struct kernel_pipe *pipe, double rest);

/* 2 B Q as a share of what friction leaves of p - m + R. */
double memory_driven_share(const struct kernel_pipe *pipe);

/* The mean of the two values at a node whose head is `head`, and back. */
double memory_mean(const struct kernel_pipe *pipe, int64_t node, double head);
double memory_head(const struct kernel_pipe *pipe, int64_t node, double mean);

/* Looks, now and then, between which values all lie that the nodes remember. */
void memory_look(const struct kernel_pipe *pipe);

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

/* All that its nodes remember: so many arrays, each `stride` numbers after the one before, ... */
static inline int memory_arrays(const struct memory *memory)
{
    const int friction = memory->friction.count;
    const int wall = memory->wall.count;
    return wall + (wall > 0) + friction + (friction > 0);
}

/* ... and the first of them. */
static inline const double *memory_first(const struct memory *memory)
{
    return memory->wall.count > 0 ? memory->heads : memory->flows;
}

#endif
