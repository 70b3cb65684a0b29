/* Study: what a person wants to know of many variants of one case. Plain data; io/ reads it from
 * the case and does what it says. */
#ifndef SOLVER_STUDY_STUDY_H
#define SOLVER_STUDY_STUDY_H

#include "solver/study/design.h"
#include "solver/study/measures.h"

/* One thing that is varied. */
struct study_input {
    const char *path; /* as the case has it: "delivery.type" */
    struct place place;
    const char *unit; /* of the values, as written; "": none, or text */
    bool is_text;     /* the listed values are words */
    int label_count;
    const char *const *labels; /* [label_count] listed values as they would stand in the case; count
                                  0: not listed */
    const double *numbers;     /* [label_count] listed numbers in `unit`; NULL when is_text */
};

/* What a measure must keep to. */
struct study_limit {
    const char *name; /* "slam head of delivery at most 20 m" */
    int measure;      /* index */
    bool is_upper;    /* at most `value`; false: at least */
    double value;     /* SI */
};

enum { STUDY_COMPARE_MAX = 3 };

enum { STUDY_MEASURE_MAX = 32, STUDY_LIMIT_MAX = 16 };

struct study {
    struct design design;             /* its spreads are the inputs', in their units */
    const struct study_input *inputs; /* [design.input_count] */
    int measure_count;
    const struct measure *measures; /* [measure_count] */
    int limit_count;
    const struct study_limit *limits; /* [limit_count] */
    int compare_count;                /* 1 to STUDY_COMPARE_MAX */
    int compare[STUDY_COMPARE_MAX];   /* measures weighed against one another, by index */
    unsigned runs;                    /* enum study_run, joined: besides the steady flow */
};

/* Whether a value keeps to a limit; NAN does not. */
static inline bool study_limit_is_kept(const struct study_limit *limit, double value)
{
    return limit->is_upper ? value <= limit->value : value >= limit->value;
}

#endif
