/* Creep: a plastic wall goes on stretching after the pressure has risen.
 *
 * Generalised Kelvin-Voigt wall (Gally, Guney & Rieutord 1979; Covas et al., J. Hydraulic Research
 * 43(1), 2005): the wall's modulus gives the strain at once (it is in the wave speed), each element
 * k adds d(strain)/dt = (J_k F - strain_k)/tau_k, with the stress F = c1 rho g D (H - H0)/(2 e) and
 * H0 the steady head. Continuity gets the term 2 d(strain)/dt: along both characteristics the head
 * falls by S d(strain)/dt, S = 2 a^2 dt/g, half of it taken at each end of the reach (second
 * order). The strain is exact for a stress that changes evenly over a step. */
#ifndef SOLVER_SURGE_CREEP_H
#define SOLVER_SURGE_CREEP_H

#include "models/pipe.h"
#include "models/water.h"

#include <stdbool.h>

/* With part[k] remembered of the step before, the strain of element k is near[k] F + part[k]; then
 * part[k] = far[k] F + fade[k] strain. */
struct creep {
    int count;                   /* elements; 0: elastic */
    double near[WALL_CREEP_MAX]; /* 1/Pa */
    double far[WALL_CREEP_MAX];  /* 1/Pa */
    double fade[WALL_CREEP_MAX];
    double often[WALL_CREEP_MAX]; /* 1/tau, 1/s */
    double rate;                  /* 1/(Pa s): d(strain)/dt = rate F - sum of often part */
};

/* The elements of `wall` at steps of `step` s. */
struct creep creep_of(const struct wall *wall, double step);

/* Whether creep of the pipe's wall is known. */
bool creep_is_known(const struct pipe *pipe);

/* Stress F, Pa, in the wall of a pipe for each m above its steady head. */
double creep_stress(const struct pipe *pipe, const struct water *water);

/* The strain at the end of a step whose stress has come to `stress` Pa. */
double creep_step(const struct creep *creep, double stress, double part[]);

#endif
