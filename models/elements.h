/* Elements: the one list of everything a link can be. A new element is one line in elements.c. */
#ifndef MODELS_ELEMENTS_H
#define MODELS_ELEMENTS_H

#include "models/element.h"

int element_count(void);
const struct element *element_at(int index);

#endif
