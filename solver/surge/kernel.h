/* Kernel: the water inside all pipes, one step at a time.
 *
 * In characteristic variables p = H + B Q + F/2, travelling right (along the pipe), and m = H - B Q
 * - F/2, travelling left, with F the friction of one reach (solver/surge/loss.h), a step at Courant
 * number 1 is: at every node p -= G(p - m) and m += G(p - m); then p moves one node to the right
 * and m one node to the left. The moves are a change of offset. Heads and flows are views:
 * H = (p + m)/2, 2 B Q = p - m - G.
 *
 * All nodes of all pipes stand in one row, pipe after pipe, but for long pipes while nobody looks
 * inside (solver/surge/fold.h). The value that leaves a pipe at its end
 * leaves its place free for the value that enters the next pipe, so that the whole row moves at
 * once. After a step the entering values (p at a pipe's first node, m at its last) are not set:
 * whoever knows the ends sets them with kernel_enter. Knows nothing of elements or networks.
 *
 * Where water would fall below the head at which it boils, a node inside a pipe opens a cavity: its
 * head stays there and the flows on its two sides differ by the growth of the cavity, (2H - p -
 * m)/B, until its volume is used up (discrete vapour cavity, Wylie & Streeter 1993, ch. 8, with
 * backward weighting; the step in which it closes closes it exactly, so no water is lost). The
 * waves that leave such a node are 2H - m to the right and 2H - p to the left.
 *
 * Instead every node inside a pipe may hold a little gas that expands by its isotherm (discrete gas
 * cavity, same source): solver/surge/boiling.c.
 *
 * A pipe with unsteady friction or creep remembers earlier steps (solver/surge/memory.h); then the
 * mean of the two values at a node is not quite its head. Ask the views. */
#ifndef SOLVER_SURGE_KERNEL_H
#define SOLVER_SURGE_KERNEL_H

#include "models/arena.h"
#include "solver/surge/row.h"

enum kernel_side { KERNEL_START, KERNEL_END };

/* Flow into a point, m3/s, and how much less it gets for each metre of head. */
struct inflow {
    double flow;
    double conductance; /* m2/s, >= 0; 0: no pipe ends there */
};

/* Room for `pipe_count` pipes whose reaches are given; impedances, memories and losses are the
 * caller's to set in kernel->pipes, kernel->step too; water boils nowhere until kernel_set_vapour.
 * False: memory ended. */
MUST_CHECK bool kernel_init(struct kernel *kernel, int pipe_count, const int reaches[],
                            struct arena *arena, struct failure *failure);

/* Lets so many threads share the pipes, with the same digits (extremes within slopes_tolerance,
 * solver/surge/slopes.h). kernel_init has chosen itself: of a large grid as many as OpenMP gives
 * (OMP_NUM_THREADS), else, and inside a parallel loop, one. Only where there is OpenMP. */
void kernel_share(struct kernel *kernel, int workers);

/* The heads [reaches + 1] at which water boils along a pipe, m. */
void kernel_set_vapour(struct kernel *kernel, int pipe, const double vapour[]);

/* Before any promise: steady flow along one pipe from the head at its start, and its extremes. */
void kernel_start(struct kernel *kernel, int pipe, double head, double flow);

/* So many more steps will be made before anybody asks for a head or flow inside a pipe, for what a
 * pipe stores or for the extremes: until then the middles of long pipes may be ahead of their ends
 * (solver/surge/ahead.h), and they stand in strands (solver/surge/fold.h). Nothing is promised at
 * first. A promise may be taken back: a middle that is ahead then stays so to the end of its steps,
 * and is of no one instant until then. */
void kernel_promise(struct kernel *kernel, int steps);

/* Notes the extremes of the present instant, takes friction, moves all waves by one reach and opens
 * and closes cavities. */
void kernel_step(struct kernel *kernel);

/* Notes the extremes of the present instant only, and puts all pipes back into the row. Where a
 * middle is ahead, since a promise was not kept to its end, it has noted its own up to where it is,
 * and no step may follow. */
void kernel_note_extremes(struct kernel *kernel);

/* The value that has arrived at an end of a pipe: m at its start, p at its end. */
double kernel_arrived(const struct kernel *kernel, int pipe, enum kernel_side side);

/* Flow out of a pipe's end into a point at `head` m. */
struct inflow kernel_inflow(const struct kernel *kernel, int pipe, enum kernel_side side,
                            double head);

/* Sets the value that enters at an end from the head there. */
void kernel_enter(struct kernel *kernel, int pipe, enum kernel_side side, double head);

/* Puts gas at every node inside a pipe that is steady: `gas` m4 is its volume times its head over
 * boiling. Call after kernel_set_vapour and kernel_start. */
void kernel_set_gas(struct kernel *kernel, int pipe, double gas);

/* Views: head, m, and flow, m3/s, at a node (0 to reaches) of a pipe. */
double kernel_head(const struct kernel *kernel, int pipe, int node);
double kernel_flow(const struct kernel *kernel, int pipe, int node);

/* Water stored in a pipe by its elasticity above head 0, less its cavities, m3. Conserved to
 * round-off against flows at its ends taken by the trapezoidal rule. */
double kernel_stored(const struct kernel *kernel, int pipe);

#endif
