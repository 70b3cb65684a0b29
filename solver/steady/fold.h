/* Fold: points with at most two neighbours taken out of a linear system before its factors.
 * A point on a branch or along a run of pipes is eliminated by the rule for resistances in series:
 * with g_a, g_b its conductances to its neighbours and s that to held heads,
 *     g_ab += g_a g_b / d,   s_a += g_a s / d,   s_b += g_b s / d,   d = g_a + g_b + s,
 * which is Gauss's elimination written without a difference, so that no digit is lost however
 * stiff a link is (Grassmann, Taksar & Heyman 1985 for Markov chains). Nothing fills in: a branch
 * vanishes, a run becomes one conductance between its ends, and a network of branches and rings of
 * one loop is solved by this alone. The order is found once, from the shape. */
#ifndef SOLVER_STEADY_FOLD_H
#define SOLVER_STEADY_FOLD_H

#include "solver/steady/planning.h"

#include <stdbool.h>

/* Where the conductances of one point taken out stand: slots of those to its neighbours and between
 * them. A neighbour that it has not is joined by the spare slot. */
struct fold_slots {
    int to_a;
    int to_b;
    int between;
};

/* One point taken out. A neighbour that it has not is the spare row. */
struct fold_row {
    int a; /* rows of its neighbours */
    int b;
    double share_a; /* g_a/d */
    double share_b;
    double inverse; /* 1/d */
};

/* What is planned for it, in the numbers of the rows and links given. */
struct fold_out {
    int row;
    int a;
    int b;
    struct fold_slots slots;
};

/* Two rows that stay and are neighbours when all folding is done. */
struct fold_pair {
    int a;
    int b;
    int slot;
};

struct fold {
    int row_count;
    int link_count;         /* the slots are the links' numbers; the spare slot is `link_count` */
    int count;              /* rows taken out */
    struct fold_out *out;   /* [count] in their order */
    int pair_count;         /* what is left */
    struct fold_pair *pair; /* [pair_count] */
    int *slot;              /* [link_count] of each link: the first one between the same two rows */
};

/* Finds what can be folded where `link_count` links join rows `from` and `to`; one of `row_count`
 * or above is held. All numbers in `fold` are those given here; its arrays are taken from
 * `planning` for a while. False when memory ended. */
bool fold_plan(struct fold *fold, struct planning *planning, int row_count, int link_count,
               const int from[link_count], const int to[link_count]);

/* Makes `a` the earlier row of each pair and sorts them by `a`, then `b`. False when memory ended.
 */
bool fold_sort_pairs(struct planning *planning, int row_count, int pair_count,
                     struct fold_pair pair[pair_count]);

/* Eliminates. `slot` [link_count + 1] holds the conductances between rows, its last is 0; `held`
 * [row_count + 1] those to held heads. Afterwards both are true for the rows that stay. */
void fold_factor(int count, const struct fold_slots slots[count], struct fold_row row[count],
                 double slot[], double held[]);

/* Rows are numbered so that the k-th taken out is row k. Carries the right sides `y`
 * [row_count + 1], the last being spare, over to the rows that stay; when these hold their
 * solution, finds that of the others. */
void fold_forward(int count, const struct fold_row row[count], double y[]);
void fold_backward(int count, const struct fold_row row[count], double y[]);

#endif
