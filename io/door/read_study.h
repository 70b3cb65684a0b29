/* Section study: what is varied, how the values are combined, what is kept of each variant. */
#ifndef IO_DOOR_READ_STUDY_H
#define IO_DOOR_READ_STUDY_H

#include "io/door/case_path.h"
#include "io/door/draft.h"
#include "io/door/keys.h"
#include "solver/study/study.h"

extern const struct section study_section;

/* A study with what its inputs change in the case. */
struct case_study {
    struct study study;
    struct case_path *paths; /* [input_count] */
};

/* Reads the section of `root`, the tree that `site` was read from. False: told in the reader's
 * faults. */
MUST_CHECK bool read_study(const struct reader *reader, struct tree *root, const struct site *site,
                           struct case_study *study);

/* Where the rest of the case is wrong: tells what is wrong with its section study all the same, but
 * for names that were lost with the rest (io/door/lost.h). `paths` of the inputs that are found
 * have a map, others none; false: there is no such section, or nothing in it can be looked at. */
MUST_CHECK bool check_study(struct draft *draft, struct tree *root, struct case_study *study);

/* What the case itself says of an input, "" when nothing, and as a number in the input's unit (NAN:
 * not said in it). */
const char *study_input_base(const struct case_study *study, int input, double *number);

/* The value that stands in the case in row `row` of the coordinates for one input, in `arena`; NULL
 * when the case is left as it is, or memory ended (told). */
const char *study_input_text(const struct study_input *input, double coordinate,
                             struct arena *arena);

#endif
