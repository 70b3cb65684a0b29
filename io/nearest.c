#include "io/nearest.h"

#include "models/name.h"

#include <limits.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

void nearest_start(struct nearest *nearest, const char *word)
{
    nearest->word = word;
    nearest->found = NULL;
    nearest->distance = INT_MAX;
}

void nearest_offer(struct nearest *nearest, const char *known)
{
    int letters = (int)strnlen(nearest->word, 60);
    int distance = name_distance(nearest->word, known);
    if (distance < nearest->distance && distance < letters && distance <= (letters + 2) / 3) {
        nearest->distance = distance;
        nearest->found = known;
    }
}

const char *nearest_hint(struct hint *hint, const char *found, const char *otherwise)
{
    (void)snprintf(hint->text, sizeof hint->text, found ? "; did you mean '%.150s'?" : "%s",
                   found ? found : otherwise);
    return hint->text;
}
