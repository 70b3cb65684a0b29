/* Findings of a steady answer: every rule of good practice held against a solved site. */
#ifndef SOLVER_FINDINGS_FINDINGS_H
#define SOLVER_FINDINGS_FINDINGS_H

#include "models/site.h"
#include "solver/findings/finding.h"
#include "solver/steady/steady.h"

/* Adds what the rules find in `steady`, the converged answer of site->network. False: memory. */
MUST_CHECK bool findings_steady(const struct site *site, const struct steady *steady,
                                struct findings *findings, struct failure *failure);

#endif
