/* Wave speed in a pipe full of water: Korteweg 1878, a = sqrt(K/rho)/sqrt(1 + (K/E)(D/e) c1), with
 * the restraint factor c1 of Halliwell 1963 and its thick wall form (Wylie & Streeter, Fluid
 * Transients in Systems, 1993, ch. 1). */
#ifndef MODELS_WAVE_SPEED_H
#define MODELS_WAVE_SPEED_H

/* How the pipe is held lengthwise; changes the wave speed by a few per cent. */
enum restraint {
    RESTRAINT_THROUGHOUT, /* anchored throughout: solvent or fused pipe in the ground or clipped */
    RESTRAINT_UPSTREAM,   /* anchored at its upstream end only */
    RESTRAINT_JOINTED     /* expansion joints throughout */
};

/* c1 of a thin wall, and of any wall: `ratio` is bore over wall, D/e > 0. The thick factor tends to
 * the thin one as the ratio grows. */
double wave_speed_thin_factor(double poisson, enum restraint restraint);
double wave_speed_thick_factor(double ratio, double poisson, enum restraint restraint);

/* m/s, from bulk modulus Pa, density kg/m3, Young's modulus Pa (> 0, infinite: rigid), bore over
 * wall and c1. */
double wave_speed(double bulk_modulus, double density, double modulus, double ratio, double factor);

#endif
