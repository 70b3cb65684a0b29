/* Stub: a pipe that waves cross in less than a step, or so short that it does not set the step.
 *
 * It keeps its true wave speed. The wave that arrives at one end at the end of a step left the
 * other end `crossing` earlier, at an instant between two steps or within this one; its value
 * there is interpolated linearly in time (time-line interpolation: Goldberg & Wylie, J. Hydraulic
 * Engineering 109 (1983) 670-683; within the step: implicit). With t = crossing/step < 1 that makes
 * of the pipe, exactly, a series law and a law at each end:
 *   between the ends  q = (H1 - H2 - F(q))/Z + (P - M)/(2B),  Z = B t (2 - t)/(2 (1 - t))
 *   into each end     c = t (H - (P + M)/2 -+ F/2)/((2 - t) B)
 * P = H1 + B i1 - F/2 and M = H2 + B i2 + F/2 being the waves that left in the step before, i the
 * flow into the pipe at each end and F its friction. As t falls Z tends to the inertia of the
 * water, L/(g A dt), and t/((2 - t) B) to half the elastic storage of the pipe at each end, g A
 * L/(2 a^2 dt); at t = 1 all is the method of characteristics. Interpolation never makes a wave
 * higher: flow that is stopped at an end gives at most Joukowsky's a v/g, and as much as that once
 * the step is shorter than the crossing.
 *
 * Water is neither lost nor made: with W = P + M the flows in, by the trapezoidal rule, are the
 * change of the interpolated sum of W over the crossing. */
#ifndef SOLVER_SURGE_STUB_H
#define SOLVER_SURGE_STUB_H

#include "models/arena.h"
#include "solver/surge/grid.h"
#include "solver/surge/kernel.h"

struct stub {
    const struct link *link;
    const struct water *water;
    double impedance;  /* B = a/(gA), s/m2, of the true wave speed */
    double step;       /* s */
    int delay;         /* whole steps of the crossing; 0: its ends are joined within a step */
    double share;      /* of one more step, 0 <= share < 1 */
    double series;     /* Z, s/m2; delay 0 only */
    double friction;   /* F, m, at the end of the last step; delay 0 only */
    double *right;     /* [delay + 2] P that left the start, m, the newest first */
    double *left;      /* [delay + 2] M that left the end */
    double flow_start; /* m3/s, along the pipe, at its start now */
    double flow_end;
};

/* A pipe that is steady, in steps of `step` s. False: memory ended. */
MUST_CHECK bool stub_init(struct stub *stub, const struct link *link, const struct water *water,
                          double step, double head_start, double flow, struct arena *arena,
                          struct failure *failure);

/* Flow, m3/s, that the last step's waves alone drive between the ends; delay 0. */
double stub_going(const struct stub *stub);

/* Flow out of an end into a point at `head` m; delay 0: of the storage there, in addition to the
 * flow of the series law. */
struct inflow stub_inflow(const struct stub *stub, enum kernel_side side, double head);

/* Ends a step with the heads found at both ends, m, and (delay 0) the flow of the series law. */
void stub_step(struct stub *stub, double head_start, double head_end, double flow);

/* Water held by its elasticity above head 0, m3: conserved to round-off as told above. */
double stub_stored(const struct stub *stub);

#endif
