/* Kernel: the water inside all pipes, one step at a time.
 *
 * In characteristic variables p = H + B Q + F/2, travelling right (along the pipe), and m = H - B Q
 * - F/2, travelling left, with F the friction of one reach (solver/surge/loss.h), a step at Courant
 * number 1 is: at every node p -= G(p - m) and m += G(p - m); then p moves one node to the right
 * and m one node to the left. The moves are a change of offset. Heads and flows are views:
 * H = (p + m)/2, 2 B Q = p - m - G.
 *
 * All nodes of all pipes stand in one row, pipe after pipe. The value that leaves a pipe at its end
 * leaves its place free for the value that enters the next pipe, so that the whole row moves at
 * once. After a step the entering values (p at a pipe's first node, m at its last) are not set:
 * whoever knows the ends sets them with kernel_enter. Knows nothing of elements or networks.
 *
 * Where water would fall below the head at which it boils, a node inside a pipe opens a cavity: its
 * head stays there and the flows on its two sides differ by the growth of the cavity, (2H - p -
 * m)/B, until its volume is used up (discrete vapour cavity, Wylie & Streeter 1993, ch. 8, with
 * backward weighting; the step in which it closes closes it exactly, so no water is lost). The
 * waves that leave such a node are 2H - m to the right and 2H - p to the left. */
#ifndef SOLVER_SURGE_KERNEL_H
#define SOLVER_SURGE_KERNEL_H

#include "models/arena.h"
#include "solver/surge/loss.h"

#include <stdint.h>

enum kernel_side { KERNEL_START, KERNEL_END };

struct kernel_pipe {
    int64_t first;    /* its first node in the row */
    int reaches;      /* it has reaches + 1 nodes */
    double impedance; /* B, s/m2 */
    struct loss loss;
    int cavity_count; /* open in it now */
};

/* A node that has, or in this step closed, a cavity. */
struct kernel_cavity {
    int64_t node;
    double head; /* m, its true head at this instant */
    double highest;
    double lowest;
};

struct kernel {
    int pipe_count;
    struct kernel_pipe *pipes; /* [pipe_count] */
    int64_t node_count;
    int64_t slack;   /* steps until the row has to be moved back */
    int64_t shift;   /* steps made since */
    double *right;   /* [node_count + slack] p of node i at right[slack - shift + i] */
    double *left;    /* [node_count + slack] m of node i at left[shift + i] */
    double *highest; /* [node_count] m, extremes of H so far */
    double *lowest;  /* [node_count] m */
    double *vapour;  /* [node_count] m, head at which water boils there; the caller's to set */
    double *volume;  /* [node_count] m3 of its cavity */
    int64_t cavity_count;
    struct kernel_cavity *cavities; /* [cavity_count] at this instant */
    double step;                    /* s; the caller's to set */
};

/* Room for `pipe_count` pipes whose reaches are given; impedances and losses are the caller's to
 * set in kernel->pipes; water boils nowhere until kernel->vapour is set. False: memory ended. */
MUST_CHECK bool kernel_init(struct kernel *kernel, int pipe_count, const int reaches[],
                            struct arena *arena, struct failure *failure);

/* Steady flow along one pipe from the head at its start, and its extremes. */
void kernel_start(struct kernel *kernel, int pipe, double head, double flow);

/* Notes the extremes of the present instant, takes friction, moves all waves by one reach and opens
 * and closes cavities. */
void kernel_step(struct kernel *kernel);

/* Notes the extremes of the present instant only. */
void kernel_note_extremes(struct kernel *kernel);

/* The value that has arrived at an end of a pipe: m at its start, p at its end. */
double kernel_arrived(const struct kernel *kernel, int pipe, enum kernel_side side);

/* Sets the value that enters at an end from the head there. */
void kernel_enter(struct kernel *kernel, int pipe, enum kernel_side side, double head);

/* Views: head, m, and flow, m3/s, at a node (0 to reaches) of a pipe. */
double kernel_head(const struct kernel *kernel, int pipe, int node);
double kernel_flow(const struct kernel *kernel, int pipe, int node);

/* Water stored in a pipe by its elasticity above head 0, less its cavities, m3. Conserved to
 * round-off against flows at its ends taken by the trapezoidal rule. */
double kernel_stored(const struct kernel *kernel, int pipe);

#endif
