/* Unsteady friction: the drag that water adds while its speed changes, by a weighting function.
 *
 * Zielke 1968 (J. Basic Engineering 90), as in Vitkovsky et al. 2004: besides the steady law a
 * metre of pipe loses 16 nu/(g D^2) times the integral of W(psi) dV, psi = 4 nu (t - t')/D^2. W is
 * written as ten exponentials, so that each node need only remember ten numbers: laminar flow after
 * Zielke, turbulent flow in smooth pipe after Vardy & Brown 2003 with W = exp(-B psi)/(2 sqrt(pi
 * psi)), B = Re^kappa/12.86, kappa = log10(15.29/Re^0.0567). Both sums: Vitkovsky, Stephens,
 * Bergant, Lambert & Simpson 2004 (from memory; checked against the exact functions: better than
 * 0.3 % for psi of 1e-5 to 0.1). B is taken at the steady flow and kept; water that starts from
 * rest counts as laminar. */
#ifndef SOLVER_SURGE_UNSTEADY_H
#define SOLVER_SURGE_UNSTEADY_H

#include "models/pipe.h"
#include "models/water.h"

enum { UNSTEADY_TERMS = 10 };

/* W(psi) = sum of size exp(-decay psi). */
struct unsteady_weight {
    double size[UNSTEADY_TERMS];
    double decay[UNSTEADY_TERMS];
};

/* The weight of a flow of this Reynolds number (>= 0). */
struct unsteady_weight unsteady_weight_of(double reynolds);

double unsteady_weight_at(const struct unsteady_weight *weight, double psi);

/* One reach of pipe. */
struct unsteady_reach {
    double length;    /* m */
    double bore;      /* m */
    double area;      /* m2 */
    double viscosity; /* m2/s */
    double gravity;   /* m/s2 */
    double step;      /* s */
};

/* The recursion of one reach. With y[k] m remembered of the step before and a change of flow dQ:
 *     y[k] = fade[k] y[k] + gain[k] dQ,   head lost = sum of y[k]
 * gain is the exact mean of each exponential over the step, as for a flow that changes evenly. */
struct unsteady {
    double fade[UNSTEADY_TERMS];
    double gain[UNSTEADY_TERMS]; /* s/m2 */
    double lag;                  /* s/m2, sum of the gains */
};

struct unsteady unsteady_of(const struct unsteady_weight *weight,
                            const struct unsteady_reach *reach);

/* The recursion of one of `reaches` equal reaches of a pipe whose steady flow is `flow` m3/s, in
 * steps of `step` s. */
struct unsteady unsteady_of_pipe(const struct pipe *pipe, double reaches, const struct water *water,
                                 double flow, double step);

#endif
