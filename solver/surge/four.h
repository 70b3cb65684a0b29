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

/* Size of each. */
static EACH_BODY void four_size(four *value)
{
    *value = (four)((four_bits)*value & INT64_MAX);
}

/* Each of `value` with the sign of the other's, as copysign. */
static EACH_BODY void four_sign(const four *sign, four *value)
{
    *value = (four)(((four_bits)*value & INT64_MAX) | ((four_bits)*sign & INT64_MIN));
}

/* Places i, j, k and l of a (0 to 3) and b (4 to 7). */
#if defined(__clang__)
#define FOUR_PICK(a, b, i, j, k, l) __builtin_shufflevector(a, b, i, j, k, l)
#else
#define FOUR_PICK(a, b, i, j, k, l) __builtin_shuffle(a, b, (four_bits){i, j, k, l})
#endif

/* Four rows into columns. */
static EACH_BODY void four_turn(const four row[FOUR], four column[FOUR])
{
    const four odd[] = {FOUR_PICK(row[0], row[1], 0, 4, 2, 6),
                        FOUR_PICK(row[2], row[3], 0, 4, 2, 6)};
    const four even[] = {FOUR_PICK(row[0], row[1], 1, 5, 3, 7),
                         FOUR_PICK(row[2], row[3], 1, 5, 3, 7)};
    column[0] = FOUR_PICK(odd[0], odd[1], 0, 1, 4, 5);
    column[1] = FOUR_PICK(even[0], even[1], 0, 1, 4, 5);
    column[2] = FOUR_PICK(odd[0], odd[1], 2, 3, 6, 7);
    column[3] = FOUR_PICK(even[0], even[1], 2, 3, 6, 7);
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
