/* Sobol: points that fill a cube more evenly than chance (Sobol 1967), by the direction numbers of
 * Joe & Kuo, Constructing Sobol sequences with better two-dimensional projections, SIAM J. Sci.
 * Comput. 30, 2008 (table new-joe-kuo-6.21201), with a digital shift drawn from a seed, which keeps
 * how evenly the points lie. */
#ifndef SOLVER_STUDY_SOBOL_H
#define SOLVER_STUDY_SOBOL_H

#include "solver/study/random.h"

enum { SOBOL_DIMENSION_MAX = 40, SOBOL_BITS = 32 };

struct sobol {
    int dimension_count;
    uint32_t direction[SOBOL_DIMENSION_MAX][SOBOL_BITS];
    uint32_t shift[SOBOL_DIMENSION_MAX];
};

/* `dimension_count` from 1 to SOBOL_DIMENSION_MAX; shift from `random`; NULL: not shifted. */
void sobol_init(struct sobol *sobol, int dimension_count, struct random *random);

/* Coordinate of point number `index` (from 0, below 2^32) in one dimension, inside (0, 1). */
double sobol_share(const struct sobol *sobol, uint32_t index, int dimension);

/* Primitive polynomial of a dimension, bit k the coefficient of x^k; 1 for dimension 0. */
uint32_t sobol_polynomial(int dimension);

#endif
