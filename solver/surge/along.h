/* Along: bounds of numbers strand by strand, where strands lie side by side. */
#ifndef SOLVER_SURGE_ALONG_H
#define SOLVER_SURGE_ALONG_H

#include "solver/surge/intervals.h"

struct along {
    double least[WIDEST];
    double most[WIDEST];
};

/* Of `lines` nodes of each strand, value [lines WIDEST]; infinite, the wrong way round, if there
 * are none. */
void along_look(int lines, const double value[], struct along *along);

static inline struct bounds along_bounds(const struct along *along, int strand)
{
    return (struct bounds){along->least[strand], along->most[strand]};
}

#endif
