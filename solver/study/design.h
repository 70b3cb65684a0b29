/* Design: which variants a study tries.
 * A variant is a row of coordinates, one an input; what they mean is spread.h's. */
#ifndef SOLVER_STUDY_DESIGN_H
#define SOLVER_STUDY_DESIGN_H

#include "models/arena.h"
#include "models/failure.h"
#include "solver/study/spread.h"

#include <stdint.h>

enum design_kind {
    DESIGN_GRID,            /* every level of each with every level of the others */
    DESIGN_ONE_AT_A_TIME,   /* the case as it stands, then each level of each input alone */
    DESIGN_LATIN_HYPERCUBE, /* McKay, Beckman & Conover, Technometrics 21, 1979 */
    DESIGN_SOBOL,           /* solver/study/sobol.h */
    DESIGN_IMPORTANCE       /* rows from which indices_find tells which input matters; see below */
};

enum { DESIGN_VARIANT_MAX = 2000000, DESIGN_INPUT_MAX = 20 };

struct design {
    enum design_kind kind;
    int input_count;              /* 1 to DESIGN_INPUT_MAX */
    const struct spread *spreads; /* [input_count] */
    int levels;                   /* of inputs that are not listed, on grids; >= 2 */
    int samples;                  /* of the others, >= 1 */
    uint64_t seed;
};

/* DESIGN_IMPORTANCE: for each of `samples` base samples input_count + 2 rows in a row: A, B, then A
 * with the first input of B, with the second ... (Saltelli et al., Comput. Phys. Commun. 181, 2010,
 * from a Sobol sequence of twice as many dimensions). */

/* How many variants; -1: more than DESIGN_VARIANT_MAX. */
int design_count(const struct design *design);

/* The coordinates [design_count][input_count], in `arena`; NAN: as the case has it. NULL: memory
 * ended. */
double *design_make(const struct design *design, struct arena *arena, struct failure *failure);

#endif
