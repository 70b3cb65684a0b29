/* Bare memories: what plain loops do for waves in one long pipe with unsteady friction, each node
 * with its flow and a few exponentials of its past (solver/surge/unsteady.h), and nothing else
 * kept: no extremes, no boiling, no law but a quadratic one. What the nodes of a site whose
 * friction is unsteady cost at least; not part of the program. */
#ifndef TESTS_BENCH_BARE_MEMORIES_H
#define TESTS_BENCH_BARE_MEMORIES_H

/* Exponentials of each node. As few as describe any flow's memory well: more would only make what
 * is measured beside this look better. */
enum { BARE_TERMS = 5 };

/* Node-steps a second of processor time on `nodes` nodes, the best of some trials; 0: memory ended.
 * `rounds` is the number of steps of a trial. */
double bare_remembering(int nodes, int rounds);

#endif
