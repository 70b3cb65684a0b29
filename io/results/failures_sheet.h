/* Failures sheet: the group /failures, one row a failure, the worst first. */
#ifndef IO_RESULTS_FAILURES_SHEET_H
#define IO_RESULTS_FAILURES_SHEET_H

#include "io/results/sheet.h"
#include "models/arena.h"
#include "models/failure.h"
#include "solver/study/failures.h"

MUST_CHECK bool failures_sheet(const struct site *site, const struct failures *failures,
                               struct sheet *sheet, struct arena *arena, struct failure *failure);

/* What then, in words; "; " between. */
void failures_words(const struct site *site, const struct failed *item, const struct failed *sound,
                    size_t size, char text[]);

#endif
