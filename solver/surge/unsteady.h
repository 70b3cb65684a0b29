/* Unsteady friction: the drag that water adds while its speed changes, by a weighting function.
 *
 * Zielke 1968 (J. Basic Engineering 90), as in Vitkovsky et al. 2004: besides the steady law a
 * metre of pipe loses 16 nu/(g D^2) times the integral of W(psi) dV, psi = 4 nu (t - t')/D^2:
 * laminar flow after Zielke, turbulent flow in smooth pipe after Vardy & Brown 2003 with W =
 * exp(-B psi)/(2 sqrt(pi psi)), B = Re^kappa/12.86, kappa = log10(15.29/Re^0.0567). Vitkovsky,
 * Stephens, Bergant, Lambert & Simpson 2004 write both as sums of ten exponentials (from memory;
 * checked against the exact functions: better than 0.3 % for psi of 1e-5 to 0.1). Here they are
 * sums of five to eight, fitted to those of ten (scripts/reference/weights.py) to 0.7 % of them
 * from psi = 0 on, until 0.25 % of all that W adds up to is left: so each node need remember but
 * few numbers. The faster turbulent water forgets, the fewer do. B is taken at the steady flow and
 * kept; water that starts from rest counts as laminar. */
#ifndef SOLVER_SURGE_UNSTEADY_H
#define SOLVER_SURGE_UNSTEADY_H

#include "models/pipe.h"
#include "models/water.h"
#include "solver/surge/fading.h"

/* W(psi) = sum of size exp(-decay psi). */
struct unsteady_weight {
    int count;
    double size[FADING_TERMS];
    double decay[FADING_TERMS];
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

/* What one reach remembers of flows, m3/s, in m: it loses total Q, less the sum of the terms as
 * they were before the step. Shares are the exact mean of each exponential over the step, as for a
 * flow that changes evenly. */
struct fading unsteady_of(const struct unsteady_weight *weight, const struct unsteady_reach *reach);

/* The same for one of `reaches` equal reaches of a pipe whose steady flow is `flow` m3/s, in steps
 * of `step` s. */
struct fading unsteady_of_pipe(const struct pipe *pipe, double reaches, const struct water *water,
                               double flow, double step);

#endif
