/* Statistics: what a column of a study's rows says as a whole. */
#ifndef SOLVER_STUDY_STATISTICS_H
#define SOLVER_STUDY_STATISTICS_H

#include "models/failure.h"

/* Of the rows that have a number; NAN where there is none. */
struct summary {
    int count;
    double mean;
    double deviation; /* of the sample, n - 1 */
    double least;
    double low;    /* 5 of 100 lie below */
    double median; /* by straight lines between the sorted values (Hyndman & Fan 1996, type 7) */
    double high;   /* 5 of 100 lie above */
    double greatest;
};

/* Summary of `values` [count]; NANs are passed over. False: memory ended. */
MUST_CHECK bool summary_make(int count, const double values[], struct summary *summary,
                             struct failure *failure);

/* An estimated probability with its 95 % confidence interval. */
struct probability {
    double estimate;
    double low;
    double high;
};

/* `hits` of `count` independent trials (Wilson, J. Am. Stat. Assoc. 22, 1927). Samples that are
 * spread more evenly than chance know a little more than it says. Count 0: 0 to 1. */
struct probability probability_of(int hits, int count);

/* How much of the variance of a result one input explains. */
struct indices {
    double first; /* by itself: Sobol's first-order index, estimator (b) of Saltelli et al. 2010 */
    double total; /* with all it takes part in: total index, estimator of Jansen 1999 */
};

/* Indices of each input [input_count] from `values` [samples * (input_count + 2)], the results of
 * the rows of DESIGN_IMPORTANCE (solver/study/design.h). A base sample of which any row has no
 * number is left out; *used of them (may be NULL) were used. All NAN when nothing varies. */
void indices_find(int input_count, int samples, const double values[], struct indices indices[],
                  int *used);

#endif
