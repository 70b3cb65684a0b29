/* Choose sheet: the group /choose: every candidate at every valve's place, what was measured, how
 * each requirement was judged, and why some are refused. */
#ifndef IO_RESULTS_CHOOSE_SHEET_H
#define IO_RESULTS_CHOOSE_SHEET_H

#include "io/results/sheet.h"
#include "models/arena.h"
#include "models/failure.h"
#include "models/site.h"
#include "solver/choose/choose.h"

/* One row a candidate, in the best set of the other places; the rows of a place stand together, in
 * its order. */
MUST_CHECK bool choose_sheet(const struct site *site, const struct choose *choose,
                             struct sheet *sheet, struct arena *arena, struct failure *failure);

/* Only the rows of one place. */
MUST_CHECK bool choose_place_sheet(const struct site *site, const struct choose *choose, int place,
                                   struct sheet *sheet, struct arena *arena,
                                   struct failure *failure);

/* The group /choose/sets: the best sets, then that of the case where it is not among them; all
 * cases they were held against; and how many sets were dropped by which bound. */
MUST_CHECK bool choose_sets_sheet(const struct site *site, const struct choose *choose,
                                  struct sheet *sheet, struct arena *arena,
                                  struct failure *failure);

/* "swing flap DN50", the present one told. */
void choose_label(const struct candidate *candidate, size_t size, char text[size]);

/* What a candidate fails (VERDICT_FAILED), or what the site itself misses (VERDICT_SITE), each with
 * its number, limit and case, "; " between; "" when there is nothing. */
void choose_reasons(const struct envelope *envelope, const struct judgement judgements[],
                    enum verdict verdict, size_t size, char text[]);

/* Ranks whose error bands leave open which is better, each beside the first and the next one: "1
 * and 2, 2 and 3"; "" when they stand apart or no bands are known. */
void choose_open_ranks(const struct choose *choose, size_t size, char text[]);

/* Name of the case a judgement was found in: of a trip where surge told it, else of a condition;
 * "" when it holds in all. */
const char *choose_case_name(const struct envelope *envelope, enum requirement requirement,
                             const struct judgement *judgement);

#endif
