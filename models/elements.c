#include "models/elements.h"

#include "models/fitting.h"
#include "models/non_return.h"
#include "models/pipe.h"
#include "models/pump.h"

#include <stddef.h>
#include <string.h>

static const struct element *const elements[] = {
    &pipe_element,
    &fitting_element,
    &pump_element,
    &non_return_element,
};

int element_count(void)
{
    return (int)(sizeof elements / sizeof elements[0]);
}

const struct element *element_at(int index)
{
    return elements[index];
}

const struct element *element_find(const char *kind)
{
    for (int i = 0; i < element_count(); i++) {
        if (strcmp(elements[i]->kind, kind) == 0) {
            return elements[i];
        }
    }
    return NULL;
}
