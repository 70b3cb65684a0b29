/* Sweep: one pass over the nodes of a pipe whose friction and wall answer at once.
 * At every node the head (p + m)/2 is held against the extremes so far, then friction G(p - m) is
 * taken: p -= G, m += G. One read and one write of each number; vectors wherever the compiler finds
 * them, with the same digits at every width. */
#ifndef SOLVER_SURGE_SWEEP_H
#define SOLVER_SURGE_SWEEP_H

#include "solver/surge/intervals.h"

#include <string.h>

/* Nodes of a stretch: [count] each. */
struct sweep {
    int count;
    double *right;                /* m, p */
    double *left;                 /* m, m */
    const double *head;           /* m, where it is not (p + m)/2; else NULL */
    double *highest;              /* m */
    double *lowest;               /* m */
    double least;                 /* m, no p - m is below this; infinite: not known */
    double most;                  /* m, none is above this */
    bool is_quiet[2];             /* heads of each half of the strands need not be noted; in a row
                                     those of none, or of all; by a table there of none */
    const struct intervals *each; /* of strands side by side, so that `count` is a multiple of
                                     WIDEST; NULL: nodes stand one after another */
    struct loss_near *near;       /* of nodes one after another: what is known of the table */
};

/* Notes heads, unless they need not be, and takes friction. */
void sweep_take(const struct sweep *sweep, const struct loss *loss);

/* Notes the heads (p + m)/2 only. */
void sweep_note(const struct sweep *sweep);

/* The same of so many nodes alone; and heads that are known. [count] m each. */
void sweep_note_means(int count, const double right[], const double left[], double highest[],
                      double lowest[]);
void sweep_note_known(int count, const double head[], double highest[], double lowest[]);

/* Holds the head of one node against its extremes. */
static inline void sweep_note_head(double right, double left, double *highest, double *lowest)
{
    double head = 0.5 * (right + left);
    *highest = head > *highest ? head : *highest;
    *lowest = head < *lowest ? head : *lowest;
}

/* Whether quadratic friction is its series at all differences that the sweep can meet. */
bool sweep_is_series(const struct sweep *sweep, const struct loss *loss);

/* Least and most of values [count]; infinite, the wrong way round, if there are none. */
struct bounds sweep_bounds(int count, const double value[]);

/* The same of value[i] + fall i. */
struct bounds sweep_bounds_along(int count, const double value[], double fall);

/* --- for its own files --- */

/* Nodes of a chunk, which is worked on as if its nodes lay in one interval of a table. */
enum { SWEEP_CHUNK = 32 };

/* By the series of quadratic friction. */
void sweep_take_series(const struct sweep *sweep, const struct loss *loss);

/* By a table: nodes one after another, and strands side by side. */
void sweep_take_table(const struct sweep *sweep, const struct loss *loss);
void sweep_take_each(const struct sweep *sweep, const struct loss *loss);

/* p - m [count]. */
void sweep_find_differences(int count, const double right[], const double left[],
                            double difference[]);

/* The one or the other by their bits: compilers make a branch of the plain question, and no vectors
 * of a branch. */
static inline double sweep_choose(bool is_first, double first, double second)
{
    uint64_t one;
    uint64_t other;
    uint64_t mask = is_first ? UINT64_MAX : 0;
    memcpy(&one, &first, sizeof one);
    memcpy(&other, &second, sizeof other);
    one = (one & mask) | (other & ~mask);
    memcpy(&first, &one, sizeof first);
    return first;
}

#endif
