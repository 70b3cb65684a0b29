/* Shape: whether fields of a sheet lie along one another as their reader takes for granted. Sheets
 * that this program makes always do; a file that another program made or changed may hold fields of
 * the right names with other lengths. */
#ifndef IO_RESULTS_SHAPE_H
#define IO_RESULTS_SHAPE_H

#include "io/results/sheet.h"
#include "models/failure.h"

/* A field that somebody wants, and along what. */
struct wish {
    const char *name;
    bool is_text;
    bool may_lack;
    const char *along; /* a value for each of this field's, along the same dimension; itself: any */
    const char *across; /* [along][across]; NULL: one dimension */
};

enum shape {
    SHAPE_GOOD,
    SHAPE_LACKS, /* a field is missing, or is text instead of numbers or the like: another thing */
    SHAPE_ODD    /* lengths differ: failure tells, with what a person can do */
};

enum shape shape_of(const struct sheet *sheet, size_t count, const struct wish wishes[count],
                    struct failure *failure);

#endif
