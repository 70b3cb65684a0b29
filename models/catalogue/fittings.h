/* The built-in fittings. */
#ifndef MODELS_CATALOGUE_FITTINGS_H
#define MODELS_CATALOGUE_FITTINGS_H

#include "models/fitting.h"

extern const struct fitting_kind fittings[];
extern const int fittings_count;

#endif
