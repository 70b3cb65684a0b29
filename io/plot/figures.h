/* Figures: the pictures that can be made of a results file, each from columns and a script. */
#ifndef IO_PLOT_FIGURES_H
#define IO_PLOT_FIGURES_H

#include "io/plot/drawing.h"

/* Makes every picture there are results for: a profile for each run, a time picture when there are
 * gauges or valves, levels and pumps over hours when tanks were filled, a choice for each valve's
 * place, a study's front and what moves its measures. None is not a failure: see count. */
MUST_CHECK bool figures_make(struct figures *figures, struct failure *failure);

/* Makes the sketch of figures->site, with the flows of the results where there are some. */
MUST_CHECK bool figures_sketch(struct figures *figures, struct failure *failure);

#endif
