/* The built-in wall materials. */
#ifndef MODELS_CATALOGUE_WALLS_H
#define MODELS_CATALOGUE_WALLS_H

#include "models/wall.h"

extern const struct wall walls[];
extern const int walls_count;

#endif
