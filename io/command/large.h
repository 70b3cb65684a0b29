/* Large: what is told of a network too large to print point by point. */
#ifndef IO_COMMAND_LARGE_H
#define IO_COMMAND_LARGE_H

#include "io/terminal/terminal.h"
#include "models/site.h"
#include "solver/steady/steady.h"

/* Points and parts that no run shows: how many, what is drawn, the least and the greatest pressure
 * and velocity with their places. Nothing when all parts are in runs. */
void large_print(const struct site *site, const struct steady *steady,
                 const struct terminal *terminal);

#endif
