/* Loss row: what friction takes of many differences at once (solver/surge/loss.h), the same digits
 * as one by one. */
#ifndef SOLVER_SURGE_LOSS_ROW_H
#define SOLVER_SURGE_LOSS_ROW_H

#include "solver/surge/loss.h"

/* G of `count` differences, m, into lost [count]. */
void loss_row(const struct loss *loss, int count, const double difference[], double lost[]);

/* By a table the rest, ratio (d - G(d)), m, of `count` differences d into driven [count], by the
 * cubics of loss_driven_in, odd in d. False: some d are beyond the table's end, and what `driven`
 * holds is of no use. */
bool loss_driven_row(const struct loss *table, double ratio, int count, const double difference[],
                     double driven[]);

#endif
