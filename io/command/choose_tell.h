/* Choose tell: what a choice says of all places together, in words and a table for people. */
#ifndef IO_COMMAND_CHOOSE_TELL_H
#define IO_COMMAND_CHOOSE_TELL_H

#include "io/command/work.h"
#include "solver/choose/choose.h"

/* The cases it was held against, the best sets, the hardest cases of the best one, and what was
 * left out by which bound. False: memory. */
MUST_CHECK bool choose_tell_sets(const struct work *work, const struct choose *choose,
                                 struct failure *failure);

/* One line on the findings of the case as it stands. */
void choose_tell_findings(const struct work *work);

#endif
