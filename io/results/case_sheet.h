/* Case sheet: what the results came from: the case text and its fingerprint, the program, and how
 * it was called. */
#ifndef IO_RESULTS_CASE_SHEET_H
#define IO_RESULTS_CASE_SHEET_H

#include "io/results/sheet.h"
#include "models/arena.h"
#include "models/failure.h"
#include "models/site.h"

/* The root's attributes: program, version, command line, case and fingerprint. `options` is
 * borrowed. */
MUST_CHECK bool case_root_sheet(const struct site *site, const char *options, struct sheet *sheet,
                                struct arena *arena, struct failure *failure);

/* "/case": the text as read, and the water as understood. `texts` [1] is the caller's and gets a
 * pointer to the text. */
void case_sheet(const struct site *site, struct sheet *sheet, const char *texts[1]);

#endif
