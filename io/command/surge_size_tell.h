/* Surge size tell: what a search for the smallest protection found, as text and as a sheet. */
#ifndef IO_COMMAND_SURGE_SIZE_TELL_H
#define IO_COMMAND_SURGE_SIZE_TELL_H

#include "io/command/work.h"
#include "io/door/units.h"
#include "solver/surge/sizing.h"

enum { SIZE_PART_COUNT = 3, SIZE_MEASURE_COUNT = 5 };

/* How a part and its size are told. */
struct size_part {
    const char *name; /* the word of --size */
    const char *what; /* "air vessel" */
    enum quantity quantity;
    const char *unit; /* the trade's */
    double factor;    /* of it in one of SI */
    const char *how;  /* how a case comes to have one */
};

/* How a measure is told. */
struct size_measure {
    const char *name; /* the word of --limit */
    enum quantity quantity;
    const char *otherwise; /* value where none is said; NULL: one must be */
    const char *unit;
    const char *head; /* of its column */
    double factor;
    int decimals;
};

extern const struct size_part size_parts[SIZE_PART_COUNT];          /* by enum sizing_part */
extern const struct size_measure size_measures[SIZE_MEASURE_COUNT]; /* by enum sizing_measure */

struct surge_size {
    bool is_wanted;
    struct sizing_wish wish;
    struct sizing found;
    struct sheet sheet; /* /surge/sizing: the sizes tried */
};

/* Makes `size->sheet`. False: memory ended. */
bool surge_size_fill(const struct work *work, struct surge_size *size);

/* The sizes tried and what came of it, as text. False: memory ended. */
bool surge_size_print(const struct work *work, const struct surge_size *size);

#endif
