/* Bare waves: what plain loops do for waves in one long pipe with quadratic friction, in the fewest
 * operations, with nothing else kept: no extremes, no boiling, no other law. The measure that the
 * kernel is held against; not part of the program. Beside them the same loops with the kernel's
 * first duty, the highest and lowest head of each node. */
#ifndef TESTS_BENCH_BARE_WAVES_H
#define TESTS_BENCH_BARE_WAVES_H

/* Each returns node-steps a second of processor time on `nodes` nodes, the best of some trials;
 * 0: memory ended. `rounds` is the number of steps of a trial. */

/* As textbooks write it (Wylie & Streeter 1993, ch. 3): heads and flows, two of each in turn. */
double bare_textbook(int nodes, int rounds);

/* Characteristic values in place, which move by a change of offset. */
double bare_characteristic(int nodes, int rounds);

/* The same, compiled for any machine of the family. */
double bare_portable(int nodes, int rounds);

/* The same, many steps on a stretch of nodes before the next stretch. */
double bare_tiled(int nodes, int rounds, int depth, int width);

/* Step by step, and tiled, with the extremes of each node kept. */
double bare_keeping(int nodes, int rounds);
double bare_keeping_tiled(int nodes, int rounds, int depth, int width);

/* Triads a[i] = b[i] + s c[i] a second (McCalpin's STREAM) in arrays of `nodes`. */
double bare_triad(int nodes, int rounds);

/* Processor time, s, so that other work on the machine counts less. */
double bare_now(void);

#endif
