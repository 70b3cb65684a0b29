/* Fading: what is remembered of a value's past, by exponentials.
 *
 * Each term keeps its share of the value as it was, the longer ago the less of it,
 *     term = fade term + push value,  push = (1 - fade) share
 * so while the value stands still each term stands at share times value. Unsteady friction
 * (solver/surge/unsteady.h) remembers flows so, a creeping wall (solver/surge/creep.h) heads: what
 * they add to a step's law is total times value, less the sum of the terms as they were before the
 * step. */
#ifndef SOLVER_SURGE_FADING_H
#define SOLVER_SURGE_FADING_H

enum { FADING_TERMS = 8 };

struct fading {
    int count; /* terms; 0: nothing is remembered */
    double share[FADING_TERMS];
    double fade[FADING_TERMS]; /* in one step */
    double push[FADING_TERMS];
    double total; /* of the shares */
};

/* One more term, of this share, that fades by e^-decay in a step; at most FADING_TERMS of them.
 * None if the share is 0. */
void fading_add(struct fading *fading, double share, double decay);

/* Terms [count] of a value that has always been so; their sum. */
double fading_start(const struct fading *fading, double value, double term[]);

/* Takes the value at the end of a step; the sum of the terms then. */
double fading_step(const struct fading *fading, double value, double term[]);

#endif
