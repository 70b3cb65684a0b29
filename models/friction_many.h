/* Friction of many pipes at once, for networks in which it is the work that each step repeats.
 * The law of friction.h for pipes with a roughness: the same pieces joined at the same Reynolds
 * numbers, the same two steps of Chebyshev's method for Colebrook 1939. What does not change from
 * step to step is worked out once, and the loop has no branches, so that it fills the vectors of
 * the machine. Heads and slopes agree with friction_drop within a few units of the last place. */
#ifndef MODELS_FRICTION_MANY_H
#define MODELS_FRICTION_MANY_H

#include "models/friction.h"

/* What the law of one pipe needs, besides its flow. */
struct friction_digest {
    double scale;     /* s2/m5, length/(2 gravity bore area2) */
    double reynolds;  /* s/m3, Reynolds number per flow */
    double roughness; /* relative roughness/3.7, at most a tenth/3.7 */
};

/* The digest of `friction`; false where its law is another one (a fixed factor, Hazen-Williams):
 * the digest then stands for a pipe without loss. */
bool friction_digest_make(const struct friction *friction, double viscosity, double gravity,
                          struct friction_digest *digest);

/* Heads lost, m, and slopes, s/m2, at the flows, m3/s; finite for flows up to 1e100 m3/s. */
void friction_many_drops(int count, const struct friction_digest digest[count],
                         const double flow[count], double head[count], double slope[count]);

#endif
