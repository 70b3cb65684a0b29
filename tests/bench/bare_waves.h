/* Bare waves: what plain loops do for waves in one long pipe with quadratic friction of one term,
 * the loss r d|d| of the difference d as it is now, in the fewest operations, with nothing else
 * kept: no extremes, no boiling, no other law. One measure that the kernel is held against; not
 * part of the program. Beside them the same loops with the kernel's first duty, the highest and
 * lowest head of each node. Loops with the kernel's own laws of friction:
 * tests/bench/bare_losses.h. */
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

/* Some nodes at one instant, [count] each, and the law of a form that has one. */
struct bare_nodes {
    int count;
    double *right;
    double *left;
    double *highest;
    double *lowest;
    const void *law;
};

/* Takes friction once at all of these nodes, in place. */
typedef void bare_step(const struct bare_nodes *nodes);

/* Values [nodes] to begin with, and the law that is handed to each step. */
struct bare_start {
    const double *right;
    const double *left;
    const void *law;
};

/* Any form, step by step on all nodes, and in tiles; NULL: values of no meaning, and no law. */
double bare_in_place(int nodes, int rounds, bare_step *step, const struct bare_start *start);
double bare_in_tiles(int nodes, int rounds, int depth, int width, bare_step *step,
                     const struct bare_start *start);

/* Triads a[i] = b[i] + s c[i] a second (McCalpin's STREAM) in arrays of `nodes`. */
double bare_triad(int nodes, int rounds);

/* Processor time, s, so that other work on the machine counts less. */
double bare_now(void);

#endif
