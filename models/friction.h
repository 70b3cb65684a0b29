/* Friction: head lost along straight pipe.
 * Darcy-Weisbach h = f L v|v| / (2 g D) with f = 64/Re (Hagen-Poiseuille) up to Re 2000,
 * Colebrook-White from Re 4000 (1/sqrt f = -2 log10(e/(3.7 D) + 2.51/(Re sqrt f)), Colebrook 1939,
 * solved to machine precision), between them the cubic in Re that meets value and slope at both
 * ends. Hazen-Williams h = k L Q^n C^-n D^-m for published data. */
#ifndef MODELS_FRICTION_H
#define MODELS_FRICTION_H

#include "models/element.h"

/* Where the laws go over into one another. Macros, as loops over many pipes need them constant. */
#define FRICTION_LAMINAR_END 2000.0     /* Reynolds number */
#define FRICTION_TURBULENT_START 4000.0 /* Reynolds number */
#define FRICTION_LARGEST_ROUGHNESS 0.1  /* relative; rougher counts as this */
#define FRICTION_HALF_LN_10 1.1512925464970228420

/* Darcy friction factor at Reynolds number `reynolds` (>= 0) and relative roughness e/D (0 to 0.1;
 * beyond counts as the nearer end).
 * At Re 0 the factor is infinite; ask friction_drop for heads instead. If `slope` is not NULL it
 * gets df/dRe. */
double friction_factor(double reynolds, double relative_roughness, double *slope);

/* What straight pipe is made of for friction. Exactly one way is used: a fixed factor if > 0, else
 * Hazen-Williams if its coefficient is > 0, else roughness. */
struct friction {
    double length;                    /* m */
    double bore;                      /* m */
    double roughness;                 /* m, absolute */
    double factor;                    /* fixed Darcy factor; 0: computed */
    double hazen_williams;            /* C; 0: not used */
    double hazen_williams_constant;   /* SI k, e.g. 10.667 */
    double hazen_williams_flow_power; /* n, e.g. 1.852 */
    double hazen_williams_bore_power; /* m, e.g. 4.871 */
};

/* Head lost, m, and slope, s/m2, at `flow` m3/s; odd in flow, strictly rising, slope continuous and
 * finite at 0 (with a fixed factor 0 there). Finite for flows up to 1e100 m3/s. Roughness above a
 * tenth of the bore counts as a tenth. */
struct drop friction_drop(const struct friction *friction, double viscosity, double gravity,
                          double flow);

#endif
