/* Study figures: the pictures of a study's results. */
#ifndef IO_PLOT_STUDY_FIGURES_H
#define IO_PLOT_STUDY_FIGURES_H

#include "io/plot/drawing.h"

/* The variants in the first two compared measures, with their front; a third one as the size of
 * marks. Nothing when fewer than two are compared. */
MUST_CHECK bool study_figures_front(struct figures *figures, struct failure *failure);

/* For each compared measure how far each input alone moves it. */
MUST_CHECK bool study_figures_alone(struct figures *figures, struct failure *failure);

#endif
