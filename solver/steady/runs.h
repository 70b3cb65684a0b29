/* Runs: the pipes of a state's runs beside the first of each, which the state calls extras.
 * What a run loses at its flow is the sum of what its pipes lose at their own, which differ from it
 * by the draws between them (series.h). */
#ifndef SOLVER_STEADY_RUNS_H
#define SOLVER_STEADY_RUNS_H

#include "solver/steady/state.h"

/* What flows in the extras beyond the flows of their links, where `draw` m3/s is drawn at the
 * points of the network; what is drawn inside a run is added to the draw of the row at its end.
 * Asked when the draws of the rows are set. */
void runs_set_draws(struct state *state, const double draw[]);

/* Adds what the extras from `begin` to before `end` lose when their links have `flow` (by links) to
 * `drop` and `slope` of these. `size` is NULL or, of the links from `at` on, gets what the sizes of
 * a run's drops sum to beyond the size of their sum, m. */
void runs_add(struct state *state, const double flow[], int begin, int end, int at, double size[]);

/* The same at the start, by the tangents of the extras at flows fitted each for itself (start.h) to
 * what is left in `target`. */
void runs_add_fitted(struct state *state);

/* Adds the chords of friction of the extras, from rest to the usual flow of their link, to `slope`
 * [link_count], s/m2. What they would lose by these at their own flows, when none is in the first
 * pipe of their run, is taken from `excess`. */
void runs_add_chords(struct state *state, double slope[]);

/* Flows and drops of all links and extras, heads of the points where these begin: `flow`, `drop`
 * and `head` of the network, m3/s and m. The first pipe of a run loses what is left. */
void runs_answer(const struct state *state, double flow[], double drop[], double head[]);

#endif
