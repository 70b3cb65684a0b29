#include "solver/surge/along.h"

#include "solver/surge/four.h"

#include <math.h>
#include <stddef.h>

/* Half of the strands of each line. */
static EACH_BODY void look_half(int lines, const double *restrict value, double *restrict least,
                                double *restrict most)
{
    four low;
    four high;
    four_fill((double)INFINITY, &low);
    four_fill(-(double)INFINITY, &high);
    for (int v = 0; v < lines; v++) {
        four here;
        four_load(value + (ptrdiff_t)v * WIDEST, &here);
        four_lower(&here, &low);
        four_raise(&here, &high);
    }
    four_store(least, &low);
    four_store(most, &high);
}

EACH_WIDTH
static void look(int lines, const double *restrict value, struct along *restrict along)
{
    for (int j = 0; j < WIDEST; j += FOUR) {
        look_half(lines, value + j, along->least + j, along->most + j);
    }
}

void along_look(int lines, const double value[], struct along *along)
{
    look(lines, value, along);
}
