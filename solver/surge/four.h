/* Four: four numbers worked on side by side, for loops of which compilers make no vectors by
 * themselves. The same digits at every width. */
#ifndef SOLVER_SURGE_FOUR_H
#define SOLVER_SURGE_FOUR_H

#include "models/each_width.h"

#include <stdint.h>
#include <string.h>

enum { FOUR = 4 };
typedef double four __attribute__((vector_size(FOUR * sizeof(double))));
/* Four anywhere in a row of numbers. */
typedef double four_anywhere
    __attribute__((vector_size(FOUR * sizeof(double)), aligned(sizeof(double)), may_alias));
typedef int64_t four_bits __attribute__((vector_size(FOUR * sizeof(int64_t))));

static EACH_BODY void four_load(const double *from, four *value)
{
    memcpy(value, from, sizeof *value);
}

static EACH_BODY void four_store(double *to, const four *value)
{
    memcpy(to, value, sizeof *value);
}

static EACH_BODY void four_fill(double number, four *value)
{
    *value = (four){number, number, number, number};
}

/* Place by place the lesser of what is kept and a value, or the greater; what is kept where the
 * value is no number. Written out by places compilers find the one instruction for it. */
static EACH_BODY void four_lower(const four *value, four *least)
{
    for (int j = 0; j < FOUR; j++) {
        (*least)[j] = (*value)[j] < (*least)[j] ? (*value)[j] : (*least)[j];
    }
}

static EACH_BODY void four_raise(const four *value, four *most)
{
    for (int j = 0; j < FOUR; j++) {
        (*most)[j] = (*value)[j] > (*most)[j] ? (*value)[j] : (*most)[j];
    }
}

#endif
