/* Failure figure: what follows when one thing fails, as a table whose squares are the darker the
 * graver. */
#ifndef IO_PLOT_FAILURE_FIGURE_H
#define IO_PLOT_FAILURE_FIGURE_H

#include "io/plot/drawing.h"

MUST_CHECK bool failure_figure(struct figures *figures, struct failure *failure);

#endif
