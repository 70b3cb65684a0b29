/* Choose sheet: the group /choose: every candidate at every valve's place, what was measured, how
 * each requirement was judged, and why some are refused. */
#ifndef IO_RESULTS_CHOOSE_SHEET_H
#define IO_RESULTS_CHOOSE_SHEET_H

#include "io/results/sheet.h"
#include "models/arena.h"
#include "models/failure.h"
#include "models/site.h"
#include "solver/choose/choose.h"

/* One row a candidate; the rows of a place stand together, in its order. */
MUST_CHECK bool choose_sheet(const struct site *site, const struct choose *choose,
                             struct sheet *sheet, struct arena *arena, struct failure *failure);

/* Only the rows of one place. */
MUST_CHECK bool choose_place_sheet(const struct site *site, const struct choose_place *place,
                                   struct sheet *sheet, struct arena *arena,
                                   struct failure *failure);

/* What a candidate fails (VERDICT_FAILED), or what the site itself misses (VERDICT_SITE), each with
 * its number and limit, "; " between; "" when there is nothing. */
void choose_reasons(const struct candidate *candidate, enum verdict verdict, size_t size,
                    char text[]);

#endif
