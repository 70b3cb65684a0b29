/* Creep: a plastic wall goes on stretching after the pressure has risen.
 *
 * Generalised Kelvin-Voigt wall (Gally, Guney & Rieutord 1979; Covas et al., J. Hydraulic Research
 * 43(1), 2005): the wall's modulus gives the strain at once (it is in the wave speed), each element
 * k adds d(strain)/dt = (J_k F - strain_k)/tau_k, with the stress F = c1 rho g D (H - H0)/(2 e) and
 * H0 the steady head. Continuity gets the term 2 d(strain)/dt: along both characteristics the head
 * falls by S d(strain)/dt, S = 2 a^2 dt/g, half of it taken at each end of the reach (second
 * order). The strain is exact for a stress that changes evenly over a step; then with x = dt/tau
 *     S/2 d(strain)/dt = sum of share_k (H - h_k),  share_k = S/2 F/(H - H0) J_k (1 - e^-x)/dt
 * h_k being the head as element k feels it after the step before, which follows the true one by
 * h_k = e^-x h_k + (1 - e^-x) H (solver/surge/fading.h). */
#ifndef SOLVER_SURGE_CREEP_H
#define SOLVER_SURGE_CREEP_H

#include "models/pipe.h"
#include "models/water.h"
#include "solver/surge/fading.h"

#include <stdbool.h>

/* Whether creep of the pipe's wall is known. */
bool creep_is_known(const struct pipe *pipe);

/* Stress F, Pa, in the wall of a pipe for each m above its steady head. */
double creep_stress(const struct pipe *pipe, const struct water *water);

/* What is remembered of heads, m, in steps of `step` s, by the wall of a reach that waves of
 * `wave_speed` m/s cross in `crossing` s. */
struct fading creep_of_pipe(const struct pipe *pipe, const struct water *water, double wave_speed,
                            double crossing, double step);

#endif
