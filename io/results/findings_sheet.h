/* Findings sheet: what a person should know of a site, as results and as lines of text. */
#ifndef IO_RESULTS_FINDINGS_SHEET_H
#define IO_RESULTS_FINDINGS_SHEET_H

#include "io/results/sheet.h"
#include "io/terminal/terminal.h"
#include "models/arena.h"
#include "models/failure.h"
#include "solver/findings/finding.h"

/* Group `path`, one row a finding, the gravest first. */
MUST_CHECK bool findings_sheet(const struct findings *findings, const char *path,
                               struct sheet *sheet, struct arena *arena, struct failure *failure);

/* The same in words. */
void findings_print(const struct findings *findings, const struct terminal *terminal);

/* A finding's value or limit in the trade's unit: "0.42 bar" for 42000 Pa. */
void findings_value(size_t size, char text[], double value, const char *unit);

#endif
