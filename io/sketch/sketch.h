/* Sketch: a site as a graph in the language of Graphviz `dot`: tanks, pumps, valves, and the runs
 * between them, in plain shapes of our own that need no colour. Where it is drawn: io/plot. */
#ifndef IO_SKETCH_SKETCH_H
#define IO_SKETCH_SKETCH_H

#include "io/results/sheet.h"
#include "models/site.h"

#include <stdio.h>

enum { SKETCH_LINES_MOST = 200 };

/* Whether the site is small enough for a sketch to be of use: at most SKETCH_LINES_MOST runs, and
 * parts that belong to none. */
bool sketch_fits(const struct site *site);

/* Writes the graph. `steady` (NULL: none) is the sheet "/steady" of the same site; its flows and
 * openings then stand at the parts; what does not fit the site's names is left out. */
void sketch_write(const struct site *site, const struct sheet *steady, FILE *out);

/* What the shapes mean, in one sentence or two. */
extern const char sketch_legend[];

#endif
