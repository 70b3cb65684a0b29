/* Unsymmetric: sparse square systems without any symmetry, A x = b.
 * LU factors by UMFPACK (Davis 2004): one symbolic analysis a pattern, one numeric factorisation
 * for each set of values. UMFPACK asks for memory in each factorisation. */
#ifndef SOLVER_STEADY_UNSYMMETRIC_H
#define SOLVER_STEADY_UNSYMMETRIC_H

#include "models/failure.h"

struct unsymmetric;

/* Analyses the pattern of `entry_count` entries at (row, column) of a matrix of this size; entries
 * at one place are summed. NULL: failure tells. */
struct unsymmetric *unsymmetric_new(int size, int entry_count, const int row[entry_count],
                                    const int column[entry_count], struct failure *failure);
void unsymmetric_free(struct unsymmetric *matrix);

/* Factorises with these values, in the order of the entries given to unsymmetric_new. False: only
 * memory ended. A singular matrix is told by *is_singular; its solutions are not finite. */
MUST_CHECK bool unsymmetric_factor(struct unsymmetric *matrix, const double value[],
                                   bool *is_singular, struct failure *failure);

/* Solves with the last factors. right and solution [size] may not overlap. */
MUST_CHECK bool unsymmetric_solve(struct unsymmetric *matrix, const double right[],
                                  double solution[], struct failure *failure);

#endif
