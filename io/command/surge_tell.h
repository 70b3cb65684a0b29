/* Surge tell: what a surge run says, in words and tables for people. */
#ifndef IO_COMMAND_SURGE_TELL_H
#define IO_COMMAND_SURGE_TELL_H

#include "io/command/work.h"
#include "io/results/sheet.h"
#include "solver/surge/surge.h"

/* Whether the run breaks a limit: the class of a pipe, boiling, a vacuum near buckling. */
bool surge_exceeds(const struct surge *surge, const struct sheet *sheet);

/* The whole answer; `sheet` is that of surge_sheet. False: memory. */
MUST_CHECK bool surge_tell(const struct work *work, const struct surge *surge,
                           const struct sheet *sheet);

#endif
