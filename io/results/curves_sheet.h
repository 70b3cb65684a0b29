/* Curves sheet: what a pump gives and what the site asks of it over a range of flows, and the head
 * that non-return valves take there: the groups /steady/curves/<pump> and /choose/curves/<place>.
 */
#ifndef IO_RESULTS_CURVES_SHEET_H
#define IO_RESULTS_CURVES_SHEET_H

#include "io/results/sheet.h"
#include "models/arena.h"
#include "models/failure.h"
#include "models/site.h"
#include "solver/choose/choose.h"
#include "solver/steady/steady.h"

/* Whether curves are worth their time: a steady answer for each of their points. */
bool curves_fit(const struct site *site);

/* The running pump number `pump` of site->pump_places. */
MUST_CHECK bool curves_pump_sheet(const struct site *site, const struct steady *steady, int pump,
                                  struct sheet *sheet, struct arena *arena,
                                  struct failure *failure);

/* All candidates of one place; with the pump that stands in the same run, if there is one, and then
 * what the site asks of it with a valve without loss there. */
MUST_CHECK bool curves_place_sheet(const struct site *site, const struct choose_place *place,
                                   struct sheet *sheet, struct arena *arena,
                                   struct failure *failure);

#endif
