/* Stub: a pipe that waves cross in less than a step, or so short that it does not set the step.
 *
 * It keeps its true wave speed. The wave that arrives at one end at the end of a step left the
 * other end `crossing` earlier, at an instant between two steps or within this one; its value
 * there is interpolated linearly in time (time-line interpolation: Goldberg & Wylie, J. Hydraulic
 * Engineering 109 (1983) 670-683; within the step: implicit). What waves lose on their way is taken
 * at stations (solver/surge/station.h), at most F of friction and E to a yielding wall each time.
 *
 * With t = crossing/step < 1 that makes of the pipe, exactly, a series law and a law at each end:
 *   between the ends  q = (H1 - H2 - F(q))/Z + (P - M)/(2B),  Z = B t (2 - t)/(2 (1 - t))
 *   into each end     c = t (H - (P + M)/2 -+ F/2)/((2 - t) B) + E/B
 * P = H1 + B i1 - F/2 - E1 and M = H2 + B i2 + F/2 - E2 being the waves that left in the step
 * before, i the flow into the pipe at each end and F its friction. As t falls Z tends to the
 * inertia of the water, L/(g A dt), and t/((2 - t) B) to half the elastic storage of the pipe at
 * each end, g A L/(2 a^2 dt); at t = 1 all is the method of characteristics. Friction hangs on the
 * flow q between the ends alone, as it is in a column so short; walls give way at both ends.
 *
 * A longer pipe has a station at its start and each whole step further on, the last reach being
 * less than a step longer than the others, and one at its end:
 *   at an end  B Q + share F(Q) = +-(arriving - H - E),  leaving = arriving -+ 2 B Q - 2 E
 *   inside     2 B Q + 2 share F(Q) = P - M
 * as on a grid of its own; only the last reach is interpolated.
 *
 * Interpolation never makes a wave higher: flow that is stopped at an end gives at most
 * Joukowsky's a v/g (and what friction held back before), and as much as that once the step is
 * shorter than the crossing. It lowers waves that change within a few steps where the crossing is
 * no whole number of steps; that damping, of the steps and not of the water, falls as they shorten.
 *
 * Water is neither lost nor made: with W = P + M the flows in, by the trapezoidal rule, are the
 * change of the interpolated sum of W over the crossing and what the wall has given way by. */
#ifndef SOLVER_SURGE_STUB_H
#define SOLVER_SURGE_STUB_H

#include "models/arena.h"
#include "solver/surge/grid.h"
#include "solver/surge/kernel.h"
#include "solver/surge/station.h"

struct stub {
    struct damping damping;
    double impedance;       /* B = a/(gA), s/m2, of the true wave speed */
    double step;            /* s */
    int delay;              /* whole steps of the crossing; 0: its ends are joined within a step */
    double share;           /* of one more step, 0 <= share < 1 */
    double inertia;         /* Z, s/m2; delay 0 only */
    double friction;        /* F, m, at the end of the last step; delay 0 only */
    struct station end[2];  /* by enum kernel_side; delay 0: their walls alone */
    struct station *inside; /* [delay] station k steps from the start, from 1 on; delay 0: [1] of
                               the flow between the ends */
    double *right;     /* [delay + 2] P that left station k, m, and behind the last station the two
                          that left it before */
    double *lost;      /* [delay] m, that P lost at station k in the last step */
    double left[3];    /* m, M that left the end, the newest first */
    double *back;      /* [delay] M that left station k, m; of the start: that arrived there */
    double *came;      /* [delay] M that arrived at station k */
    double flow_start; /* m3/s, along the pipe, at its start now */
    double flow_end;
};

/* What is asked of a stub. */
struct stub_wishes {
    const struct link *link;
    const struct water *water;
    bool is_friction_unsteady;
    bool is_wall_creeping;
    double step;       /* s */
    double head_start; /* m, of steady flow */
    double flow;       /* m3/s */
};

/* A pipe that is steady. False: memory ended. */
MUST_CHECK bool stub_init(struct stub *stub, const struct stub_wishes *wishes, struct arena *arena,
                          struct failure *failure);

/* The series law of delay 0 beyond the pipe's steady law: head series (q - going), s/m2 and m3/s,
 * for this step. */
double stub_series(const struct stub *stub);
double stub_going(const struct stub *stub);

/* Flow out of an end into a point at `head` m; delay 0: of the storage there, in addition to the
 * flow of the series law. */
struct inflow stub_inflow(const struct stub *stub, enum kernel_side side, double head);

/* Ends a step with the heads found at both ends, m, and (delay 0) the flow of the series law. */
void stub_step(struct stub *stub, double head_start, double head_end, double flow);

/* Water held by its elasticity above head 0, and by its wall's creep, m3: conserved to round-off as
 * told above. */
double stub_stored(const struct stub *stub);

/* What its waves hold over head 0 by elasticity and motion, as a multiple of density g, m4: energy
 * taken in at the ends, by the trapezoidal rule, and not held is lost, to friction, to the wall and
 * to interpolation; never below zero but for the friction in a step's change. */
double stub_energy(const struct stub *stub);

#endif
