/* Surge figures: the pictures of a surge run. */
#ifndef IO_PLOT_SURGE_FIGURES_H
#define IO_PLOT_SURGE_FIGURES_H

#include "io/plot/drawing.h"

/* Ground, pipe and heads along the run whose results are `group`; nothing when it is no profile. */
MUST_CHECK bool surge_figures_profile(struct figures *figures, const char *group,
                                      struct failure *failure);

/* Heads and flows at the gauges, and how the non-return valves shut; what there is of both. */
MUST_CHECK bool surge_figures_time(struct figures *figures, struct failure *failure);

#endif
