/* Dense: small systems without symmetry, by elimination with exchange of rows (Golub & Van Loan,
 * Matrix Computations, 4th ed. 2013, sect. 3.4). */
#ifndef SOLVER_SURGE_DENSE_H
#define SOLVER_SURGE_DENSE_H

#include <stdbool.h>

/* Solves matrix [n n] x = x [n] in place; both are overwritten. False: the matrix is singular to
 * round-off, x is of no use. */
bool dense_solve(int n, double matrix[], double x[]);

#endif
