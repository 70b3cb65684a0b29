/* Spread: what values one input of a study may take, and how likely each is. */
#ifndef SOLVER_STUDY_SPREAD_H
#define SOLVER_STUDY_SPREAD_H

enum spread_kind {
    SPREAD_LISTED, /* one of `count` listed ones, all alike; its value is a place in the list */
    SPREAD_EVEN,   /* anything from low to high, all alike */
    SPREAD_NORMAL  /* normal about the mean, cut off at low and high */
};

struct spread {
    enum spread_kind kind;
    int count;        /* listed ones */
    double low;       /* low < high; a normal one may have infinite limits */
    double high;      /* inside the limits there is room for the mean */
    double mean;      /* of the normal one before it is cut off */
    double deviation; /* > 0, likewise */
};

/* The value below which the share `share`, in (0, 1), of the spread lies. */
double spread_value(const struct spread *spread, double share);

/* How many levels a grid has along it: all that are listed, else `asked`, >= 2. */
int spread_level_count(const struct spread *spread, int asked);

/* Level number `level` of `count`: evenly from low to high with both ends; of a normal spread the
 * middles of `count` parts that are equally likely. */
double spread_level(const struct spread *spread, int level, int count);

/* z with the share `share` of the standard normal distribution below it, to round-off. */
double spread_normal_quantile(double share);

#endif
