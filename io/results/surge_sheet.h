/* Surge sheet: the groups /surge and /surge/runs/<run> of a surge answer. */
#ifndef IO_RESULTS_SURGE_SHEET_H
#define IO_RESULTS_SURGE_SHEET_H

#include "io/results/sheet.h"
#include "models/arena.h"
#include "models/failure.h"
#include "models/site.h"
#include "solver/surge/surge.h"

/* Series over time at gauges, valves and pumps; for each valve how it shut; for each run its worst
 * pressures; highest and lowest head at every point; attributes tell of the run itself. */
MUST_CHECK bool surge_sheet(const struct site *site, const struct surge *surge, struct sheet *sheet,
                            struct arena *arena, struct failure *failure);

/* One run along its length: ground, heads and the heads at which its limits stand. */
MUST_CHECK bool surge_run_sheet(const struct site *site, const struct surge_run *run,
                                struct sheet *sheet, struct arena *arena, struct failure *failure);

/* The largest share of the vacuum at which the ideal wall buckles that is taken as kept: a wall out
 * of round or soft with time bears less, so half is the most (safety of 2, common practice). */
double surge_buckling_limit(void);

/* m that a head may move before the first event and count as still; round-off is below 1e-9. */
double surge_still_head(void);

/* m above boiling that choose asks for: less is told, though nothing boils. */
double surge_boiling_margin(void);

/* The run that comes nearest to boiling, the error band of its lowest pressure taken off. */
struct surge_near {
    size_t run;
    double margin; /* m above boiling; NAN: there is no run */
    double reach;  /* m above boiling with the band; without one the same */
};

/* Of the sheet of a surge, just made or read. */
struct surge_near surge_near_boiling(const struct sheet *sheet);

/* Words for people. */
const char *surge_ending_text(enum surge_ending ending);

#endif
